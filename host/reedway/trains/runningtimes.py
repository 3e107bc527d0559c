"""How long trains take from spot to spot, at their slowest and at their fastest."""

from __future__ import annotations

import math

from reedway.trains.kinematics import Start
from reedway.trains.makeup import Makeup
from reedway.trains.model import Span


def run_s(made: Makeup, distance_mm: float, from_stand: bool = False) -> Span:
    """Least and most seconds that a train takes for a distance, at its top speed and at its slowest.

    `from_stand`: it begins at rest and speeds up evenly. Formula: uniform acceleration until speed is
    reached, then uniform motion (kinematics.Start). A distance below 0 counts as none.
    """
    low, high = made.train.speed
    way = max(0.0, distance_mm)
    if not from_stand or math.isinf(made.train.acceleration):
        return way / high, way / low
    rate = made.train.acceleration
    return Start(0.0, rate, high).time_s(way), Start(0.0, rate, low).time_s(way)


def closes_mm(made: Makeup) -> Span:
    """How far the nose is past a sensor when the first magnet closes it, least and most."""
    first = made.magnets[0]
    return first.from_nose - first.operating[1] / 2, first.from_nose - first.operating[0] / 2
