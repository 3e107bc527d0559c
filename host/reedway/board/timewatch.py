"""Notices that the computer slept, or that somebody set its clock, while the board's milliseconds went on."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator

from reedway.sessionlog.spans import span

JUMP_S = 2.0
SLEEP_S = 20.0  # nobody looked for so long: the computer slept


def awake_clock() -> float:
    """Seconds that also go on while the computer sleeps, where the system has such a clock."""
    if sys.platform == "linux":
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    return time.monotonic()


class TimeWatch:
    """look() often; it tells in words what happened to the computer's time since the last look."""

    def __init__(
        self, wall: Callable[[], float] = time.time, steady: Callable[[], float] = awake_clock
    ) -> None:
        self._wall, self._steady = wall, steady
        self._last = steady()
        self._apart = wall() - self._last

    def look(self) -> Iterator[str]:
        """A line for a sleep, a line for a clock that was set; mostly nothing."""
        now = self._steady()
        apart = self._wall() - now
        slept, jumped = now - self._last, apart - self._apart
        self._last = now
        if slept > SLEEP_S:
            yield f"the computer slept, or was held up, for {span(int(slept * 1000))}"
        if abs(jumped) > JUMP_S:
            self._apart = apart
            way = "forward" if jumped > 0 else "back"
            by = span(int(abs(jumped) * 1000))
            yield f"the computer's clock went {way} by {by}; the board's time went on"
