"""A layout with faults in its wiring, and an owner who walks round it and says what can be seen.

The virtual board is as its layout file says; the faults lie between its terminals and the railway, here.
"""

from __future__ import annotations

import io
import re
import time
from dataclasses import dataclass, field

from reedway.board.playing import Pacer
from reedway.board.virtual import VirtualBoard
from reedway.boardfile.compile import Compiled, compile_layout
from reedway.layout.load import load_bytes

LAYOUT = b"""\
reedway: 1
layout: Walk
board: pico
defaults: {rearm: 100 ms, pulse: 20 ms}
sensors:
  N1: {terminal: sensor 1}
  N2: {terminal: sensor 2}
  N3: {terminal: sensor 3}
  N4: {terminal: sensor 4}
buttons:
  halt: {terminal: panel 1, order: stop}
switches:
  service: {terminal: panel 2, on: in service, off: out of service}
turnouts:
  exit: {positions: [A, B], coils: [coil 1, coil 2]}
  entry: {positions: [A, B], coils: [coil 3, coil 4]}
blocks:
  Hold: {terminal: feed 1}
  Mill: {terminal: feed 2}
  Bridge: {terminal: feed 3}
track_feed: {terminal: track feed}
lamps:
  running lamp: {terminal: lamp 1, shows: running}
  Hold lamp: {terminal: lamp 2, shows: caution}
starts:
  one train: {turnouts: [exit to A, entry to A]}
vehicles:
  engine: {length: 120 mm, motor: true, pick_ups: 15 mm to 105 mm, magnet: 30 mm}
trains:
  railcar: {vehicles: [engine], speed: 300 mm/s, when_cut: runs on so far, run_on: 40 mm}
"""


def line_of(text: str) -> int:
    """Line of the layout file that begins so."""
    return next(i for i, line in enumerate(LAYOUT.decode().split("\n"), 1) if line.strip().startswith(text))


def compiled() -> Compiled:
    return compile_layout(load_bytes("walk.yaml", LAYOUT))


SCANS_MS = 5


@dataclass
class Wiring:
    """What is at the far end of each terminal; as the file says unless a test changes it."""

    reeds: dict[str, int | None] = field(default_factory=lambda: {"N1": 0, "N2": 1, "N3": 2, "N4": 3})
    coils: dict[int, tuple[str, str]] = field(
        default_factory=lambda: {0: ("exit", "A"), 1: ("exit", "B"), 2: ("entry", "A"), 3: ("entry", "B")}
    )
    rails: list[str] = field(default_factory=lambda: ["Hold", "Mill", "Bridge", "track feed"])
    lamps: list[str] = field(default_factory=lambda: ["running lamp", "Hold lamp"])
    blind: frozenset[str] = frozenset()  # sensors that the train's magnet does not reach


class Hand(io.StringIO):
    """Standard input of a walk: reads the question, does what it says, answers what is to be seen."""

    def __init__(self, out: io.StringIO, board: VirtualBoard, pacer: Pacer, wiring: Wiring) -> None:
        super().__init__()
        self.out = out
        self.board = board
        self.pacer = pacer
        self.wiring = wiring
        self.read_to = 0
        self.points = {"exit": "A", "entry": "A"}
        self.pulses: list[str] = []

    def isatty(self) -> bool:
        return False

    def readline(self, size: int | None = -1, /) -> str:
        asked = self.out.getvalue()[self.read_to :]
        self.read_to = len(self.out.getvalue())
        for _ in range(2):
            self._pass(SCANS_MS)
        for pulse in self.board.take_pulses():
            turnout, position = self.wiring.coils[pulse.coil]
            self.points[turnout] = position
            self.pulses.append(f"{turnout} to {position}")
        for action in (self._inputs, self._outputs):
            answer = action(asked)
            if answer is not None:
                return answer + "\n"
        return "\n"

    def _pass(self, ms: int) -> None:
        """Let the board's own time go on, however slow this machine is."""
        end = self.board.out.t + ms
        while self.board.out.t < end and self.pacer.error is None:
            time.sleep(0.002)

    def _inputs(self, asked: str) -> str | None:
        names = compiled().names.inputs
        found = re.search(r"wave a magnet over sensor (\w+)", asked)
        if found:
            index = self.wiring.reeds[found[1]]
            if index is not None:
                self.pacer.hit(index)
            return ""
        found = re.search(r"(?:press button|turn switch) (\w+)", asked)
        if found:
            self.pacer.hit(names.index(found[1]))
            return ""
        if "It reads: service" in asked:
            return "yes" if "out of service" in asked else "no"
        if "done: the lap is" in asked:
            for name, index in self.wiring.reeds.items():
                if index is not None and name not in self.wiring.blind:
                    self.pacer.hit(index)
            return ""
        return "done" if "of 4 sensors)" in asked and "has not seen" not in asked else None

    def _outputs(self, asked: str) -> str | None:
        found = re.search(r"points of (\w+) lie now", asked)
        if found:
            return self.points[found[1]]
        if "Which do you see?" in asked:
            lit = [name for i, name in enumerate(self.wiring.lamps) if self.board.out.lamps >> i & 1]
            return lit[0] if len(lit) == 1 else "none"
        if "Which rail is live" in asked or "a rail live that" in asked or "Is it dead now" in asked:
            on = [rail for rail, fed in zip(self.wiring.rails, self.board.feeds(), strict=True) if fed]
            blocks = [rail for rail in on if rail != "track feed"]
            if "Which rail" in asked:
                return blocks[0] if len(blocks) == 1 and "track feed" in on else "none"
            return "yes" if ("track feed" in on) == ("a rail live" in asked) or not blocks else "no"
        return "yes" if "has not seen" in asked else None
