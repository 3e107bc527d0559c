"""A state without its clocks, and a row of what can become of it."""

from __future__ import annotations

from dataclasses import dataclass, field

from reedway.proof.timed.keeping import Beat
from reedway.proof.timed.motion import Change, Motion
from reedway.proof.told import Told

ALWAYS = 32_767  # a clock may show anything
TICKS_MAX = 32_000


@dataclass(frozen=True)
class Standing:
    """A state without its clocks."""

    logic: int
    motions: tuple[Motion, ...]
    beat: Beat
    fault: int = 0


@dataclass(frozen=True)
class Row:
    """`bad`, or the standing `to`; of each clock whether it goes on, what is added, and up to what it may
    have shown."""

    told: Told
    to: Standing | None
    bad: str = ""
    keeps: tuple[int, ...] = ()
    adds: tuple[int, ...] = ()
    shows_max: tuple[int, ...] = ()


@dataclass
class Draft:
    """A standing while it is being worked out, with what becomes of each clock."""

    logic: int
    motions: list[Motion]
    beat: Beat
    fault: int
    clocks: dict[int, tuple[bool, int, int, int]] = field(default_factory=dict)  # keeps, low, high, shows_max

    def copy(self) -> Draft:
        return Draft(self.logic, list(self.motions), self.beat, self.fault, dict(self.clocks))

    def moved(self, j: int, change: Change) -> Draft:
        """With this change of train j."""
        other = self.copy()
        other.motions[j] = change.motion
        most = ALWAYS if change.shows_max < 0 else change.shows_max
        other.clocks[j] = (change.keeps, *change.ticks, most)
        return other
