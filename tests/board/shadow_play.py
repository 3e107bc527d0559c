"""Runs on both interpreters: a board file played with random contacts and orders; what its outputs did.

Prints for each seed: all bits ever toggled, words handed to the one-shot, pulses and feeds of the logic,
and a sum over all records.
"""

import sys

from reedboard.board import Board
from reedboard.start import read_plan
from reedboard.terminals import Terminals
from reedlogic import words as w
from reedlogic.boardfile import PIN_TABLE

SCANS = 12000
ALL = (1 << 29) - 1


class Pins:
    """Levels in memory; outputs are only remembered."""

    def __init__(self) -> None:
        self.levels = ALL
        self.panel_levels = ALL
        self.toggled = self.handed = 0

    def inputs(self) -> int:
        return self.levels

    def panel(self) -> int:
        return self.panel_levels

    def moved(self) -> bool:
        return True  # perhaps

    def toggle(self, mask: int) -> None:
        self.toggled |= mask

    def pulse(self, index: int, pulse_ms: int) -> bool:
        self.handed += 1
        return True

    def lamps(self, word: int) -> None:
        pass

    def keep_fault(self, fault: int) -> None:
        pass


def play(path: str, seed: int) -> str:
    """One random show."""
    plan, _ = read_plan(path)
    pins = Pins()
    board = Board(plan, pins, Terminals(plan[PIN_TABLE]), 500)
    number = seed * 7919 + 1
    pulses = feeds = total = 0
    board.begin(0)
    for now in range(1, SCANS):
        number = (number * 1103515245 + 12345) & 0x3FFFFFFF
        dice = number >> 8
        if dice % 20 == 0:
            pins.levels ^= 1 << (dice >> 5) % 29
        if dice % 97 == 0:
            pins.panel_levels ^= 1 << (dice >> 7) % 24
        if dice % 211 == 0 or now % 3000 == 40:
            board.ask((w.O_START, w.O_GO_ON, w.O_ACKNOWLEDGE, w.O_THROW, w.O_GO)[now % 5], (dice >> 9) % 4)
        if now % 2000 == 50:
            board.ask(w.O_ACKNOWLEDGE, 0)
            board.ask(w.O_START, (dice >> 9) % 4)
        board.scan(now)
        journal = board.controller.journal
        for i in range(journal.held()):
            kind = journal.kind(i)
            pulses += kind == w.R_PULSE
            feeds += kind == w.R_FEED
            total = (total * 31 + kind * 7 + journal.which(i) + journal.value(i)) & 0xFFFFFF
        journal.clear()
    return "%d %d %d %d %d" % (pins.toggled, pins.handed, pulses, feeds, total)


def main(path: str, seeds: int) -> None:
    """All seeds of one board file."""
    for seed in range(seeds):
        print(play(path, seed))


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
