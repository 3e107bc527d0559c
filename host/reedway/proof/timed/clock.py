"""Times as whole ticks of one clock, rounded outward: a range of times never gets narrower.

A run in which things happen at any times becomes a run in ticks when each time is rounded down to its tick:
what comes later does not come earlier then, and two times that are t apart are between floor(t) and ceil(t)
ticks apart. So with every range rounded outward, and every order tried of what falls into one tick, the runs
in ticks have among them all runs that there are (digitisation: Henzinger, Manna, Pnueli, "What good are
digital clocks?", ICALP 1992).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

NEAR = 1e-9  # of a tick: what floats make of a whole number

Ticks = tuple[int, int]  # least and most


@dataclass(frozen=True)
class Clock:
    """A clock that counts ticks of `tick_ms`."""

    tick_ms: int

    def ticks(self, low_s: float, high_s: float) -> Ticks:
        """A range of times in ticks; below 0 is 0."""
        scale = 1000 / self.tick_ms
        low = max(0, math.floor(low_s * scale + NEAR))
        return low, max(low, math.ceil(high_s * scale - NEAR))

    def ms(self, low_ms: float, high_ms: float) -> Ticks:
        return self.ticks(low_ms / 1000, high_ms / 1000)

    def seconds(self, ticks: int) -> float:
        return ticks * self.tick_ms / 1000
