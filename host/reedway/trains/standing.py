"""Where a train comes to stand in a place: exact for one case, and the range over all of its cases.

Distances are in mm from the gap in the direction of running, so below 0 before it; `nose` is the front of the
train, everything else of it lies behind. Rail before the gap is taken to stay live until the train stands.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from reedway.trains.kinematics import Coast
from reedway.trains.makeup import Magnet, Makeup
from reedway.trains.model import Span


@dataclass(frozen=True)
class Place:
    """A place by numbers. `cut_x`: the sensor whose hit makes the end dead; None: it is dead already."""

    name: str
    live: float  # from its beginning to the gap
    dead: float  # from the gap to its far end
    fouling: float  # so far before the far end a nose must stop
    cut_x: float | None = None
    cut_delay_s: Span = (0.0, 0.0)  # from the closing of that sensor to the end being dead

    @property
    def mark(self) -> float:
        """What no nose may pass."""
        return self.dead - self.fouling


@dataclass(frozen=True)
class Case:
    """One run of a train out of all it may make."""

    speed: float
    coast: Coast
    operating: float
    delay_s: float


def cases(made: Makeup, place: Place) -> tuple[Case, Case]:
    """The run that comes least far and the one that comes farthest."""
    short, long = made.train.coasts()
    low, high = made.train.speed
    narrow, wide = made.magnets[0].operating if made.magnets else (0.0, 0.0)
    least, most = place.cut_delay_s
    return Case(low, short, wide, least), Case(high, long, narrow, most)


def cut_nose(made: Makeup, place: Place, case: Case) -> float:
    """Where the nose is when no motor is fed any more; without end when nothing cuts the feed."""
    if place.cut_x is None:
        return made.last_pick_up
    if not made.magnets:
        return math.inf
    hit = place.cut_x - case.operating / 2 + made.magnets[0].from_nose
    return max(made.last_pick_up, hit + case.speed * case.delay_s)


def stand_nose(made: Makeup, place: Place, case: Case) -> float:
    """Where the nose comes to stand."""
    return cut_nose(made, place, case) + case.coast.distance_mm(case.speed)


def noses(made: Makeup, place: Place) -> Span:
    """Least and most far that the nose may come to stand."""
    least, most = cases(made, place)
    return stand_nose(made, place, least), stand_nose(made, place, most)


def beyond(made: Makeup, magnet: Magnet, place: Place, x: float) -> Span:
    """How far the standing magnet has passed clear of a sensor at x, least and most; below 0: over or short.

    At the sensor that cuts the feed, a long operating length makes both the hit and the opening far out.
    """
    found = []
    for case, operating in zip(cases(made, place), reversed(magnet.operating), strict=True):
        nose = stand_nose(made, place, case)
        found.append(nose - magnet.from_nose - x - operating / 2)
    return found[0], found[1]


def short_of(made: Makeup, magnet: Magnet, place: Place, x: float) -> float:
    """How far short of closing a sensor at x the magnet stands at least; below 0: it may close it."""
    return x - magnet.operating[1] / 2 - (noses(made, place)[1] - magnet.from_nose)


def marks(made: Makeup, place: Place, sensors: list[float]) -> Span:
    """Where the nose may be set on: dead, clear behind and ahead, its magnets beyond the sensors given."""
    low = max(made.last_pick_up, made.length - place.live)
    for x in sensors:
        low = max([low, *(x + m.operating[1] / 2 + m.from_nose for m in made.magnets)])
    return low, place.mark
