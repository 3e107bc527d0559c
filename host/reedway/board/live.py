"""The layout while it runs: its drawing lit by state in a terminal, or a line for each thing that happens."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from datetime import datetime
from textwrap import wrap
from typing import TextIO

from reedway.board.client import Status
from reedway.boardfile.compile import Compiled
from reedway.boardfile.names import Names
from reedway.replay.film import screen_of
from reedway.replay.picture import TOLD, WIDTH, Live, Picture
from reedway.sessionlog.kinds import KIND_WORDS, MODE_WORDS, w
from reedway.sessionlog.reader import Line
from reedway.sessionlog.tell import Teller

FRAME_S = 0.1
SAID_LINES = 2
SAID_S = 20.0  # long enough to read, also for somebody who has just looked at the trains
MODES = 2  # the change that an order makes, and the one that makes it old
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
        self,
        compiled: Compiled,
        out: TextIO | None = None,
        is_quiet: bool = False,
        has_keys: bool = False,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._out = out or sys.stdout
        screen = screen_of(self._out)
        self.moves = screen.moving and not is_quiet
        self._is_quiet = is_quiet
        self._names = compiled.names
        self._live = Live(compiled.layout, Teller(compiled.names))
        self._picture = Picture(compiled.layout, screen.colours)
        self._clock = clock
        self._t, self._at = 0, clock()  # of the last record: board time, and ours
        self._height = 0
        self._next = 0.0
        self._rest = ""  # what stands there when nothing else is said
        self._hint = "; ? tells the keys" if has_keys else ""
        self._said = ""
        self._said_until = 0.0
        self._modes_left = 0  # changes of the mode until it is old
        if self.moves:
            self._out.write("\x1b[?25l")  # no cursor

    def begin(self, t: int, status: Status) -> None:
        """What the board says of itself."""
        seed(self._live, status, self._names)
        self._t, self._at = t, self._clock()

    def take(self, line: Line) -> None:
        """One record."""
        self._live.take(line)
        self._modes_left -= line.kind == KIND_WORDS[w.R_MODE]
        self._t, self._at = line.t, self._clock()
        if not self.moves and not self._is_quiet and line.kind in TOLD and isinstance(line.value, int):
            told = self._live.teller.tell(line.kind, line.name, line.value)
            self._out.write(f"{datetime.now():%H:%M:%S} {told}\n")
            self._out.flush()

    def rest(self, text: str) -> None:
        """What stands below the drawing for as long as nothing else is said."""
        self._rest = text + self._hint
        self._next = 0.0

    def say(self, text: str) -> None:
        """Something about the recording, in its own line: for a while, or until it is old."""
        self._said = text
        self._said_until = self._clock() + SAID_S
        self._modes_left = MODES
        self._next = 0.0
        if not self.moves:
            print(text, file=sys.stderr, flush=True)

    def look(self) -> None:
        """Draw, if it is time for the next picture."""
        now = self._clock()
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
        is_old = self._clock() >= self._said_until or self._modes_left <= 0
        said = self._rest if is_old else self._said
        lines = [f" {line}" for line in wrap(said, WIDTH - 2)][:SAID_LINES]
        return lines + [""] * (SAID_LINES - len(lines))

    def close(self) -> None:
        """Leave the terminal as it was."""
        if self.moves:
            self._next = 0.0
            self.look()
            self._out.write("\x1b[?25h\x1b[0m")
            self._out.flush()
