"""How a train moves: constant acceleration, braking, what it does after its feed is cut, scale speeds.

Millimetres, seconds, mm/s and mm/s2, as floats; nothing is rounded but by `whole_us`, which rounds up. An
acceleration of math.inf is "at once".
"""

from __future__ import annotations

import math
from dataclasses import dataclass

AT_ONCE = "stops at once"
SO_FAR = "runs on so far"
SO_LONG = "runs on so long"
NEVER = "never stops"
REVERSER = "steps its reverser"
AFTER_CUT = (AT_ONCE, SO_FAR, SO_LONG, NEVER, REVERSER)

US_PER_S = 1_000_000
KM_H_PER_M_S = 3.6


def whole_us(time_s: float) -> int:
    """A time as whole microseconds, rounded up: what is said to be over is over. Less than 1 ns is none."""
    return math.ceil(time_s * US_PER_S - 1e-3)


def stop_distance_mm(speed: float, braking: float, reaction_s: float = 0.0) -> float:
    """v²/2a, and what is run through before braking begins."""
    return speed * reaction_s + (0.0 if math.isinf(braking) else speed * speed / (2 * braking))


def stop_time_s(speed: float, braking: float, reaction_s: float = 0.0) -> float:
    """v/a, and what passes before braking begins."""
    return reaction_s + (0.0 if math.isinf(braking) else speed / braking)


@dataclass(frozen=True)
class Start:
    """Speeding up evenly from `speed` at `acceleration` until `top`, and on at that speed."""

    speed: float
    acceleration: float
    top: float

    def __post_init__(self) -> None:
        if not (0 <= self.speed <= self.top and self.top > 0 and self.acceleration > 0):
            raise ValueError("speed from 0 up to a top above 0, with an acceleration above 0")

    @property
    def rise_s(self) -> float:
        """Time until top speed."""
        return 0.0 if math.isinf(self.acceleration) else (self.top - self.speed) / self.acceleration

    @property
    def rise_mm(self) -> float:
        """Distance until top speed."""
        return (self.speed + self.top) / 2 * self.rise_s

    def speed_at(self, time_s: float) -> float:
        if time_s >= self.rise_s:
            return self.top
        return self.speed + self.acceleration * time_s

    def distance_mm(self, time_s: float) -> float:
        if time_s >= self.rise_s:
            return self.rise_mm + self.top * (time_s - self.rise_s)
        return (self.speed + self.acceleration * time_s / 2) * time_s

    def time_s(self, distance_mm: float) -> float:
        """When so much has been covered."""
        if distance_mm >= self.rise_mm:
            return self.rise_s + (distance_mm - self.rise_mm) / self.top
        root = math.sqrt(self.speed * self.speed + 2 * self.acceleration * distance_mm)
        return 2 * distance_mm / (self.speed + root) if distance_mm else 0.0


@dataclass(frozen=True)
class Coast:
    """What a train does when its feed is cut; `run_on_mm` or `run_on_s` as far as its kind needs it.

    Of both kinds of run-on it slows down evenly until it stands.
    """

    kind: str
    run_on_mm: float = 0.0
    run_on_s: float = 0.0

    def distance_mm(self, speed: float) -> float:
        """How far it runs on; without end for one that never stops."""
        if self.kind == NEVER:
            return math.inf
        if self.kind == SO_LONG:
            return speed * self.run_on_s / 2
        return self.run_on_mm if speed > 0 and self.kind != AT_ONCE else 0.0

    def time_s(self, speed: float) -> float:
        """How long it runs on."""
        if self.kind == NEVER:
            return math.inf
        if self.kind == SO_LONG:
            return self.run_on_s if speed > 0 else 0.0
        return 2 * self.distance_mm(speed) / speed if speed > 0 else 0.0

    def passed_mm(self, speed: float, time_s: float) -> float:
        """How far it has come so long after the cut."""
        whole_s = self.time_s(speed)
        if math.isinf(whole_s):
            return speed * time_s
        if time_s >= whole_s:
            return self.distance_mm(speed)
        return speed * time_s - speed / whole_s * time_s * time_s / 2


def dwell_s(zone_mm: float, speed: float) -> float:
    """How long a zone is passed at constant speed."""
    return zone_mm / speed


def scale_mm_s(prototype_km_h: float, scale: float) -> float:
    """Speed of the model in 1:scale."""
    return prototype_km_h / KM_H_PER_M_S / scale * 1000


def scale_km_h(model_mm_s: float, scale: float) -> float:
    """Speed that a model in 1:scale shows."""
    return model_mm_s * KM_H_PER_M_S * scale / 1000


def fouling_mm(apart_mm: float, frog: float) -> tuple[float, float, float]:
    """Where two straight tracks that cross at 1:frog are `apart_mm` apart, from where they cross.

    1:frog is measured on the middle line: apart by 1 after `frog` of it. Returned are the distance along
    the middle line, along each track, and the length of a line square to one track there which meets the
    other at the same distance from the crossing's sides: apart / cos(half the angle).
    """
    along = apart_mm * frog
    return along, math.hypot(along, apart_mm / 2), apart_mm * math.hypot(1.0, 1 / (2 * frog))
