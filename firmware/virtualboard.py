"""The same board without a chip: on MicroPython for a computer, pins and clock in the hands of its parent.

    micropython virtualboard.py BOARD_FILE LINE_FD CHIP

Standard input brings one command a line, standard output answers each with one line:

    g TIME LEVELS PANEL     go on to TIME; the last scan sees these levels of the pins
    l TIME LEVELS PANEL     the same, but nothing is scanned until then: a late scan
    o ORDER VALUE           an order for the next scan
    busy 0 or 1             the one-shot says that it is idle, or that it is not
    w                       work on the line only, while time stands

    TIME OUT LAMPS MODE DUE RECORDS [TIME COIL MS]...     the outputs, and the pulses handed over since
"""

import select
import sys

from reedboard.board import Board
from reedboard.link import Link
from reedboard.marks import MAINTENANCE
from reedboard.start import RECORDS, read_plan, texts
from reedboard.terminals import Terminals
from reedlogic.boardfile import PIN_TABLE
from reedlogic.ring import HALF, MASK

LINK_STEPS = 4000  # between two scans; on a chip it is what fits into the millisecond
ONE_SHOT_REST = 8  # pulses


class VirtualPins:
    """The calls of chippins.ChipPins; the one-shot is busy for as long as the real one."""

    def __init__(self, line_fd: int) -> None:
        self.line = open(line_fd, "r+b", buffering=0) if line_fd >= 0 else None  # noqa: SIM115
        self.poll = select.poll()
        if self.line:
            self.poll.register(self.line, select.POLLIN | select.POLLOUT)
        self.byte = bytearray(1)
        self.levels = self.panel_levels = (1 << 29) - 1
        self.out = 0
        self.lamp_word = 0
        self.time = 0
        self.busy_until = 0
        self.is_stuck = False
        self.pulses: list = []
        self.kept_fault = 0

    def inputs(self) -> int:
        return self.levels

    def panel(self) -> int:
        return self.panel_levels

    def moved(self) -> bool:
        return True  # perhaps

    def toggle(self, mask: int) -> None:
        self.out ^= mask

    def lamps(self, word: int) -> None:
        self.lamp_word = word

    def pulse(self, index: int, pulse_ms: int) -> bool:
        if self.is_stuck or (self.busy_until - self.time) & MASK < HALF:
            return False
        self.pulses.append((self.time, index, pulse_ms))
        self.busy_until = self.time + pulse_ms * (1 + ONE_SHOT_REST) & MASK
        return True

    def keep_fault(self, fault: int) -> None:
        self.kept_fault = fault

    def _events(self) -> int:
        for _file, events in self.poll.ipoll(0):
            return events
        return 0

    def read_byte(self) -> int:
        if self.line and self._events() & select.POLLIN and self.line.readinto(self.byte):
            return self.byte[0]
        return -1

    def write_byte(self, byte: int) -> bool:
        if not self.line or not self._events() & select.POLLOUT:
            return False
        self.byte[0] = byte
        return self.line.write(self.byte) == 1


class VirtualBoard:
    """One board after another: a reset that was asked for begins a new one."""

    def __init__(self, path: str, line_fd: int, chip: bytes) -> None:
        self.chip = chip  # that the layout is for
        self.plan, self.layout = read_plan(path)
        self.pins = VirtualPins(line_fd)
        self.begin(0)

    def begin(self, cause: int) -> None:
        terminals = Terminals(self.plan[PIN_TABLE])
        self.first_coil = terminals.coil_first
        self.pins.out = 0
        self.board = Board(self.plan, self.pins, terminals, RECORDS)
        self.board.reset_cause = cause
        self.board.kept_fault = self.pins.kept_fault
        self.link = Link(self.board, self.pins, (texts(b"")[0], self.chip, self.layout))
        self.is_begun = False

    def scan(self, now: int) -> None:
        self.pins.time = now
        self.board.scan(now)

    def go(self, now: int, levels: int, panel: int, late: bool) -> None:
        pins = self.pins
        if not self.is_begun:
            pins.levels = levels
            pins.panel_levels = panel
            pins.time = now
            self.board.begin(now)
            self.is_begun = True
            return
        if not late:
            self._idle(now)
            self.board.last = now - 1 & MASK  # what lies between is idle: a scan each millisecond saw nothing
        pins.levels = levels
        pins.panel_levels = panel
        self.scan(now)

    def _idle(self, now: int) -> None:
        """Scan at every deadline before `now`, with the levels as they are."""
        board = self.board
        if board.order_count and board.last + 1 & MASK != now:
            self.scan(board.last + 1 & MASK)
        while True:
            due = self._next(now)
            wait = (due - board.last) & MASK
            if not 0 < wait < (now - board.last) & MASK or wait >= HALF:
                return
            self.board.last = due - 1 & MASK
            self.scan(due)

    def _next(self, now: int) -> int:
        """The next deadline: the logic's, or before `now` that of maintenance, put off by the line."""
        board = self.board
        due = board.controller.due
        if not board.logic.maintenance or not board.is_watched:
            return due
        until = board.watched_until
        if (until - due) & MASK < HALF or (until - now) & MASK < HALF:
            return due
        self.pins.time = until - 1 & MASK
        self._talk()  # what has come on the line meanwhile puts it off
        until = board.watched_until
        return due if (until - due) & MASK < HALF else until

    def _talk(self) -> None:
        for _ in range(LINK_STEPS):
            if not self.link.step(self.pins.time):
                break

    def work(self) -> None:
        """What the board does between two scans."""
        while self.board.tally.step():
            pass
        self._talk()
        if self.board.reset_to:
            self.begin(4 if self.board.reset_to == MAINTENANCE else 3)

    def answer(self) -> str:
        pins = self.pins
        controller = self.board.controller
        feed = self.board.journal_feed
        numbers = [pins.time, pins.out, pins.lamp_word, controller.logic.mode, controller.due, feed.end()]
        for time, index, pulse_ms in pins.pulses:
            numbers.extend((time, index + self.first_coil, pulse_ms))
        pins.pulses.clear()
        return " ".join([str(number) for number in numbers])


def main(path: str, line_fd: int, chip: bytes) -> None:
    """Serve commands until the parent is gone."""
    board = VirtualBoard(path, line_fd, chip)
    while True:
        words = sys.stdin.readline().split()
        if not words:
            return
        numbers = [int(word) for word in words[1:]]
        if words[0] == "g" or words[0] == "l":
            board.go(numbers[0], numbers[1], numbers[2], words[0] == "l")
            board.work()
        elif words[0] == "w":
            board.work()
        elif words[0] == "o":
            board.board.ask(numbers[0], numbers[1])
        elif words[0] == "busy":
            board.pins.is_stuck = bool(numbers[0])
        print(board.answer())


main(sys.argv[1], int(sys.argv[2]), sys.argv[3].encode())
