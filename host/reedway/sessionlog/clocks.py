"""The two times of a log: seconds that go on over resets, and the clock on the wall as far as it is known.

A recording writes lines of its own, texts named `computer` (a remark in words) or `clock` (board time in ms
and the clock time of the same moment, ISO 8601): at each begin of a part, and when the clock was found to
have been set or the computer to have slept. A reader that does not know them passes over them as texts.
"""

from __future__ import annotations

import contextlib
from datetime import datetime, timedelta

from reedway.sessionlog.header import Header
from reedway.sessionlog.kinds import TEXT
from reedway.sessionlog.reader import Line

COMPUTER, CLOCK = "computer", "clock"


def clock_text(t: int, moment: datetime) -> str:
    """The value of a `clock` line: this board time was this clock time."""
    return f"{t} {moment.isoformat(timespec='milliseconds')}"


def read_clock_text(text: str) -> tuple[int, datetime] | None:
    """Board time and clock time of a `clock` line; None where it is none."""
    t, _, moment = text.partition(" ")
    if not (t.isascii() and t.isdecimal() and len(t) <= 12):
        return None
    try:
        return int(t), datetime.fromisoformat(moment)
    except ValueError:
        return None


class Clocks:
    """Take every line in order; then `running_ms` and `moment()` are those of the last record."""

    def __init__(self, header: Header) -> None:
        self.running_ms = -1  # since the board's t was 0; after a reset it goes on where it stopped
        self.resets = 0
        self._offset = 0
        self._anchor_ms = 0  # running time at which the clock showed ...
        self._anchor: datetime | None = None
        with contextlib.suppress(ValueError):
            self._anchor = datetime.fromisoformat(header.started)

    def take(self, line: Line) -> None:
        """One line of the log."""
        if line.kind == TEXT:
            if line.name == CLOCK and isinstance(line.value, str):
                self._set(line.value)
            return
        t = line.t + self._offset
        if t < self.running_ms:
            self.resets += 1
            self._offset += self.running_ms - t
            t = self.running_ms
        self.running_ms = t

    def _set(self, text: str) -> None:
        found = read_clock_text(text)
        if found is not None:
            self._anchor_ms, self._anchor = found[0] + self._offset, found[1]

    def moment(self) -> datetime | None:
        """Clock time of the last record; None where none is known."""
        if self._anchor is None:
            return None
        try:
            return self._anchor + timedelta(milliseconds=self.running_ms - self._anchor_ms)
        except OverflowError:
            return None
