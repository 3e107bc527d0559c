"""Miniature fuses: what their time-current gates promise, and whether one would save a coil.

A gate says between which two times a fuse blows at a multiple of its rating. Between gates nothing is
promised but order: more current is not slower. So the time that is *proven* at a current is the gate's
longest time at the next lower multiple; the time it surely *holds* is the shortest at the next higher.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from reedway.electrics import coils

# (multiple of the rating, shortest s, longest s); infinite where nothing is promised.
Gate = tuple[float, float, float]


@dataclass(frozen=True)
class Kind:
    """One sheet of gates for a range of ratings."""

    letter: str
    least_a: float
    most_a: float
    gates: tuple[Gate, ...]
    source: str


KINDS = (
    Kind(
        "F",
        0.125,
        10.0,
        ((1.5, 3600, math.inf), (2.1, 0, 1800), (2.75, 0.05, 2), (4, 0.01, 0.3), (10, 0, 0.02)),
        "IEC 60127-2 quick acting",
    ),
    Kind(
        "T",
        0.125,
        6.3,
        ((1.5, 3600, math.inf), (2.1, 0, 120), (2.75, 0.6, 10), (4, 0.15, 3), (10, 0.02, 0.3)),
        "IEC 60127-2 sheet 3, time lag, low breaking capacity",
    ),
    Kind(
        "T",
        0.05,
        0.124,
        ((1.5, 3600, math.inf), (2.1, 0, 120), (2.75, 0.2, 10), (4, 0.04, 3), (10, 0.01, 0.3)),
        "IEC 60127-2 sheet 3, time lag, low breaking capacity",
    ),
    Kind(
        "TH",
        1.0,
        3.99,
        ((1.5, 3600, math.inf), (2.1, 0, 1800), (2.75, 0.75, 80), (4, 0.095, 5), (10, 0.01, 0.15)),
        "IEC 60127-2 sheet 5, time lag, high breaking capacity",
    ),
    Kind(
        "TH",
        4.0,
        6.3,
        ((1.5, 3600, math.inf), (2.1, 0, 1800), (2.75, 0.75, 80), (4, 0.15, 5), (10, 0.02, 0.15)),
        "IEC 60127-2 sheet 5, time lag, high breaking capacity",
    ),
    Kind("UL", 0.05, 10.0, ((1.0, math.inf, math.inf), (1.35, 0, 3600), (2.0, 0, 120)), "UL 248-14"),
)


@dataclass(frozen=True)
class Fuse:
    """A fuse by letter (F, T, TH: time lag of high breaking capacity, UL) and rating."""

    letter: str
    rating_a: float

    def kind(self) -> Kind:
        """Its sheet of gates; ValueError when no sheet has such a fuse."""
        for kind in KINDS:
            if kind.letter == self.letter and kind.least_a <= self.rating_a <= kind.most_a:
                return kind
        raise ValueError(f"no sheet of gates for a fuse {self.letter} {self.rating_a:g} A")

    def blows_by_s(self, current_a: float) -> float:
        """Longest time it may take at this current; infinite when it may never blow."""
        multiple = current_a / self.rating_a
        return min((gate[2] for gate in self.kind().gates if gate[0] <= multiple), default=math.inf)

    def holds_for_s(self, current_a: float) -> float:
        """Time it surely carries this current; 0 above the highest gate, infinite below the rating."""
        multiple = current_a / self.rating_a
        if multiple <= 1:
            return math.inf
        return max((gate[1] for gate in self.kind().gates if gate[0] >= multiple), default=0.0)


@dataclass(frozen=True)
class Rescue:
    """Whether a fuse saves a coil that is stuck on, with the figures it rests on."""

    proven: bool
    coil_s: float  # the coil reaches its limit
    fuse_s: float  # the fuse is sure to have blown
    first_multiple: float  # of the rating, coil cold
    last_multiple: float  # ... coil at its limit


def saves_coil(fuse: Fuse, coil: coils.Coil, drive: coils.Drive, from_c: float) -> Rescue:
    """Is the fuse sure to blow before the coil reaches its limit? The current falls as copper warms."""
    coil_s = coils.seconds_between(coil, drive, from_c, coil.limit_c)
    first = coils.current_a(coil, drive, from_c)
    last = coils.current_a(coil, drive, coil.limit_c)
    proven_s = _proven_s(fuse, coil, drive, from_c)
    return Rescue(proven_s < coil_s, coil_s, proven_s, first / fuse.rating_a, last / fuse.rating_a)


def _proven_s(fuse: Fuse, coil: coils.Coil, drive: coils.Drive, from_c: float) -> float:
    """First time by which the current, fallen to what it is then, would have blown the fuse all along."""
    for step in range(1, 101):
        hot_c = from_c + (coil.limit_c - from_c) * step / 100
        passed_s = coils.seconds_between(coil, drive, from_c, hot_c)
        blows = fuse.blows_by_s(coils.current_a(coil, drive, hot_c))
        if blows <= passed_s:
            return blows
    return fuse.blows_by_s(coils.current_a(coil, drive, coil.limit_c))
