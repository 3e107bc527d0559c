"""Runs on MicroPython: a show with hits, records on the line and commands, while the heap is locked.

Prints the number of records and of bytes sent; an allocation raises MemoryError.
"""

import sys

import micropython

from reedboard.board import Board
from reedboard.link import Link
from reedboard.start import loop, read_plan, texts
from reedboard.terminals import Terminals
from reedlogic.boardfile import PIN_TABLE


class Pins:
    """Registers, clock and line; nothing here allocates either."""

    def __init__(self, terminals, line) -> None:
        self.levels = self.seen = (1 << 29) - 1
        self.time = 2000
        self.out = 0
        self.line = line
        self.at = 0
        self.sent = 0
        self.pulsed = 0
        self.board = None
        self.sensor = 0
        for gpio in range(29):
            if terminals.input_bit[gpio] == 1:
                self.sensor = 1 << gpio

    def clock(self) -> int:
        self.time += 1
        now = self.time // 2
        if now % 3000 == 0:
            self.levels &= ~self.sensor
        elif now % 3000 == 100:
            self.levels |= self.sensor
        if now == 30000:
            micropython.heap_unlock()
            self.board.reset_to = 1
            self.board.is_busy = True
        return now

    def quiet(self, now: int) -> bool:
        return self.levels == self.seen

    def stamp(self, now: int) -> None:
        self.out ^= 0

    def inputs(self) -> int:
        self.seen = self.levels
        return self.levels

    def panel(self) -> int:
        return (1 << 24) - 3  # the second panel input is closed: in service

    def moved(self) -> bool:
        return True  # perhaps

    def toggle(self, mask: int) -> None:
        self.out ^= mask

    def lamps(self, word: int) -> None:
        self.out ^= 0

    def pulse(self, index: int, pulse_ms: int) -> bool:
        self.pulsed += 1
        return True

    def keep_fault(self, fault: int) -> None:
        self.out ^= 0

    def read_byte(self) -> int:
        if self.at < len(self.line) and self.time > 3000:
            self.at += 1
            return self.line[self.at - 1]
        return -1

    def write_byte(self, byte: int) -> bool:
        self.sent += 1
        return True

    def feed(self) -> None:
        self.out ^= 0

    def start_dog(self):
        feed = self.feed
        micropython.heap_lock()
        return feed

    def reset(self, mark: int) -> None:
        self.sent += 0


def line_of(body: bytes) -> bytes:
    from reedboard.crc import TABLE, checks

    data = bytearray(body)
    return body + b"*%06X\n" % checks(data, 0, len(data), 63, TABLE)


def main(path: str) -> None:
    plan, layout = read_plan(path)
    terminals = Terminals(plan[PIN_TABLE])
    bodies = [b"#h 01 1", b"#o 02 0 63", b"garbage \xff\x00", b"#q 03", b"#t 04", b"#o 05 99 1", b"#k 00 0"]
    pins = Pins(terminals, b"".join([line_of(body) for body in bodies]))
    board = pins.board = Board(plan, pins, terminals, 2000)
    link = Link(board, pins, texts(layout))
    loop(board, link, pins)
    print(board.journal_feed.end(), pins.sent)


main(sys.argv[1])
