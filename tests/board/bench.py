"""A board on the bench: firmware around the ring, with pins in memory and a layout of two turnouts."""

from __future__ import annotations

from functools import cache

from board import pioasm
from board.fakes import ALL_HIGH, FakePins
from reedway.boardfile.compile import Compiled, compile_layout
from reedway.layout.load import load_bytes

pioasm.install()

from reedboard.board import Board  # noqa: E402
from reedboard.link import Link  # noqa: E402
from reedboard.start import texts  # noqa: E402
from reedboard.terminals import Terminals  # noqa: E402
from reedlogic import words as w  # noqa: E402
from reedlogic.boardfile import PIN_TABLE  # noqa: E402
from reedlogic.ring import MASK  # noqa: E402

LAYOUT = b"""\
reedway: 1
layout: Bench
board: pico
sensors:
  N1: {terminal: sensor 1}
  N2: {terminal: sensor 2}
  N3: {terminal: sensor 3}
switches:
  service: {terminal: panel 2, on: in service, off: out of service}
buttons:
  halt: {terminal: panel 1, order: stop}
turnouts:
  exit: {positions: [A, B], coils: [coil 1, coil 2], pulse: 80 ms}
  entry: {positions: [A, B], coils: [coil 3, coil 4], pulse: 50 ms}
blocks:
  Hold: {terminal: feed 1}
track_feed: {terminal: track feed}
places:
  H: {block: Hold}
relays:
  CALL: {}
timers:
  let out: 4 s
lamps:
  hold lamp: {terminal: lamp 2, shows: H goes}
rules:
  - at: N1 hit
    do: [throw exit to B, pull in CALL]
  - at: N2 hit
    do: [Hold stops, drop out CALL]
  - at: N3 hit
    do: [Hold goes, throw exit to A]
starts:
  one train: {trains: [H], switches: [service in service], turnouts: [exit to A, entry to A], go: [Hold]}
"""
EXIT_A, EXIT_B, ENTRY_A, ENTRY_B = 0, 1, 2, 3
START_MS = 2000  # after which both turnouts are known


@cache
def compiled() -> Compiled:
    """The layout, compiled."""
    return compile_layout(load_bytes("bench.yaml", LAYOUT))


class Bench:
    """A board whose clock the test moves, a millisecond at a time."""

    def __init__(self, now: int = 1000, records: int = 2000, pins: FakePins | None = None) -> None:
        self.pins = pins or FakePins()
        self.now = now
        plan = compiled().plan
        self.board = Board(plan, self.pins, Terminals(plan[PIN_TABLE]), records)
        self.link = Link(self.board, self.pins, texts(b"ab" * 32))
        self.close("service")
        if pins is None:  # else the loop begins it
            self.board.begin(now)

    def gpio(self, name: str) -> int:
        """GPIO, or place on the register, of a thing of the layout."""
        return next(row.where for row in compiled().pins if name in row.what.split(" ", 1)[-1:] + [row.what])

    def is_on_panel(self, name: str) -> bool:
        return name in ("service", "halt")

    def close(self, name: str) -> None:
        """A contact closes: its pin is pulled to ground."""
        if self.is_on_panel(name):
            self.pins.panel_levels &= ~(1 << self.gpio(name))
        else:
            self.pins.levels &= ~(1 << self.gpio(name))

    def open(self, name: str) -> None:
        if self.is_on_panel(name):
            self.pins.panel_levels |= 1 << self.gpio(name)
        else:
            self.pins.levels |= 1 << self.gpio(name)

    def run(self, ms: int) -> None:
        """So many scans, each on time."""
        for _ in range(ms):
            self.now = self.now + 1 & MASK
            self.board.scan(self.now)

    def start(self) -> None:
        """Start the show and wait until the turnouts are known."""
        self.run(30)
        assert self.board.ask(w.O_START, w.NONE)
        self.run(START_MS)

    def is_high(self, name: str) -> bool:
        return bool(self.pins.out >> self.gpio(name) & 1)

    def talk(self, steps: int = 5000) -> bytes:
        """Let the link work; what it sent."""
        for _ in range(steps):
            if not self.link.step(self.now):
                break
        sent = bytes(self.pins.from_board)
        self.pins.from_board.clear()
        return sent

    def records(self) -> list[tuple[int, int, int, int]]:
        journal = self.board.controller.journal
        return [
            (journal.time(i), journal.kind(i), journal.which(i), journal.value(i))
            for i in range(journal.held())
        ]


__all__ = ["ALL_HIGH", "Bench", "FakePins", "compiled", "w"]
