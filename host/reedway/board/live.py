"""The layout while it runs: its drawing lit by state in a terminal, or a line for each thing that happens."""

from __future__ import annotations

import sys
import time
from datetime import datetime
from textwrap import wrap
from typing import TextIO

from reedway.board.client import Status
from reedway.boardfile.compile import Compiled
from reedway.boardfile.names import Names
from reedway.replay.film import screen_of
from reedway.replay.picture import TOLD, WIDTH, Live, Picture
from reedway.sessionlog.kinds import MODE_WORDS
from reedway.sessionlog.reader import Line
from reedway.sessionlog.tell import Teller

FRAME_S = 0.1
SAID_LINES = 2
HELP = "space: stop all   a: acknowledge   q: end recording, the board goes on   ?: this line"


def seed(live: Live, status: Status, names: Names) -> None:
    """How things stand when the looking begins."""
    live.mode = MODE_WORDS.get(status.mode, live.mode)
    for i, name in enumerate(names.blocks):
        if name in live.blocks:
            live.blocks[name] = "goes" if status.feeds >> i & 1 else "stops"
    for i, (name, *_) in enumerate(names.turnouts):
        known = "second" if status.position >> i & 1 else "first"
        live.turnouts[name] = known if status.known >> i & 1 else "unknown"
    for i, name in enumerate(names.inputs[:30]):
        if name in live.sensors:
            live.sensors[name] = "closed" if status.raw >> i & 1 else "open"


class LiveShow:
    """take() every record as it comes, look() often; nothing is written by a quiet one."""

    def __init__(
        self, compiled: Compiled, out: TextIO | None = None, is_quiet: bool = False, has_keys: bool = False
    ) -> None:
        self._out = out or sys.stdout
        screen = screen_of(self._out)
        self.moves = screen.moving and not is_quiet
        self._is_quiet = is_quiet
        self._names = compiled.names
        self._live = Live(compiled.layout, Teller(compiled.names))
        self._picture = Picture(compiled.layout, screen.colours)
        self._t, self._at = 0, time.monotonic()  # of the last record: board time, and ours
        self._height = 0
        self._next = 0.0
        self._said = f"keys: {HELP}" if has_keys else ""
        if self.moves:
            self._out.write("\x1b[?25l")  # no cursor

    def begin(self, t: int, status: Status) -> None:
        """What the board says of itself."""
        seed(self._live, status, self._names)
        self._t, self._at = t, time.monotonic()

    def take(self, line: Line) -> None:
        """One record."""
        self._live.take(line)
        self._t, self._at = line.t, time.monotonic()
        if not self.moves and not self._is_quiet and line.kind in TOLD and isinstance(line.value, int):
            told = self._live.teller.tell(line.kind, line.name, line.value)
            self._out.write(f"{datetime.now():%H:%M:%S} {told}\n")
            self._out.flush()

    def say(self, text: str) -> None:
        """Something about the recording, in its own line."""
        self._said = text
        self._next = 0.0
        if not self.moves:
            print(text, file=sys.stderr, flush=True)

    def look(self) -> None:
        """Draw, if it is time for the next picture."""
        now = time.monotonic()
        if not self.moves or now < self._next:
            return
        self._next = now + FRAME_S
        t = self._t + int((now - self._at) * 1000)
        frame = self._picture.frame(f"{datetime.now():%H:%M:%S}", t, self._live)
        frame = [line.rstrip() for line in frame] + ["", *self._lines()]
        up = f"\x1b[{self._height}A" if self._height else ""
        self._out.write(up + "".join(f"{line}\x1b[K\n" for line in frame))
        self._out.flush()
        self._height = len(frame)

    def _lines(self) -> list[str]:
        """What is said, in always as many lines."""
        lines = [f" {line}" for line in wrap(self._said, WIDTH - 2)][:SAID_LINES]
        return lines + [""] * (SAID_LINES - len(lines))

    def close(self) -> None:
        """Leave the terminal as it was."""
        if self.moves:
            self._next = 0.0
            self.look()
            self._out.write("\x1b[?25h\x1b[0m")
            self._out.flush()
