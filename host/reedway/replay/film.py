"""Shows a session as a film in the terminal, or as a few plain frames where nobody watches."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TextIO

from reedway.replay.picture import WIDTH, Live, Picture
from reedway.sessionlog.header import Header
from reedway.sessionlog.reader import Line

FRAMES_PER_S = 12
PLAIN_FRAMES = 6


@dataclass(frozen=True)
class Screen:
    """Where a film is shown."""

    out: TextIO
    moving: bool  # frames over one another, in time; else one below the other, at once
    colours: bool


def screen_of(out: TextIO) -> Screen:
    """A terminal of 80 columns moves; colours unless NO_COLOR is set (no-color.org)."""
    terminal = out.isatty() and os.environ.get("TERM") != "dumb"
    size = shutil.get_terminal_size()
    moving = terminal and size.columns >= WIDTH and size.lines >= 24
    return Screen(out, moving, terminal and not os.environ.get("NO_COLOR"))


class _Clock:
    """Waits until the next frame is due; a late frame is not made up for."""

    def __init__(self, frame_s: float) -> None:
        self._frame_s = frame_s
        self._next = time.monotonic()

    def wait(self) -> None:
        self._next = max(self._next + self._frame_s, time.monotonic())
        time.sleep(max(0.0, self._next - time.monotonic()))


def show(
    lines: list[Line], header: Header, picture: Picture, live: Live, screen: Screen, film_s: float
) -> None:
    """Show all records of a short session within film_s seconds."""
    if screen.moving:
        _move(lines, header, picture, live, screen.out, film_s)
    else:
        for t in _moments(lines):
            screen.out.write("\n".join(_frame_at(lines, t, header, picture, live)) + "\n\n")


def _frame_at(lines: list[Line], t: int, header: Header, picture: Picture, live: Live) -> list[str]:
    """The frame at board time t; what it takes from `lines` is gone from there."""
    while lines and lines[0].t <= t:
        live.take(lines.pop(0))
    return [line.rstrip() for line in picture.frame(header.clock(t)[:8], t, live)]


def _moments(lines: list[Line]) -> Iterator[int]:
    """Times of the plain frames: evenly spread, and where a magnet comes to rest."""
    first, last = lines[0].t, lines[-1].t
    times = {first + (last - first) * i // (PLAIN_FRAMES - 1) for i in range(PLAIN_FRAMES)}
    times |= {line.t for line in lines if line.kind == "rest"}
    yield from sorted(times)


def _move(
    lines: list[Line], header: Header, picture: Picture, live: Live, out: TextIO, film_s: float
) -> None:
    frames = max(1, round(film_s * FRAMES_PER_S))
    first, last = lines[0].t, lines[-1].t
    clock = _Clock(film_s / frames)
    height = 0
    out.write("\x1b[?25l")  # no cursor
    try:
        for number in range(frames + 1):
            frame = _frame_at(lines, first + (last - first) * number // frames, header, picture, live)
            up = f"\x1b[{height}A" if height else ""
            out.write(up + "".join(f"{line}\x1b[K\n" for line in frame))
            out.flush()
            height = len(frame)
            clock.wait()
    finally:
        out.write("\x1b[?25h\x1b[0m")
        out.flush()
