"""Does a pass make one sure hit: closing time over the speed range, sideways tolerance, height window."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from reedway.electrics import magnets
from reedway.electrics.magnetdata import Magnet

ASIDE_MM_MAX = 60.0
HEIGHT_MM_MAX = 80.0
SEARCH_MM = 0.2  # step along the track while searching for an edge
OPERATE_MS = 1.0  # a dry reed closes and stops bouncing within 1 ms (reed relay and reed data sheets)


@dataclass(frozen=True)
class Timing:
    """What the sensor's input asks for, and how fast trains pass."""

    slowest_m_s: float
    fastest_m_s: float
    confirm_ms: float
    opening_ms: float
    rearm_ms: float
    rest_ms: float = 0.0  # 0: never

    def __post_init__(self) -> None:
        if not 0 < self.slowest_m_s <= self.fastest_m_s:
            raise ValueError("the slowest speed is above 0 and not above the fastest")

    @property
    def needed_mm(self) -> float:
        """Operating length that a hit needs at the fastest: confirm time, reed and one scan of 1 ms."""
        return (self.confirm_ms + OPERATE_MS + 1) * self.fastest_m_s


@dataclass(frozen=True)
class Verdict:
    """One pass worked out at both ends of the spread."""

    least: list[tuple[float, float]]
    most: list[tuple[float, float]]
    length_mm: tuple[float, float]
    closed_ms: tuple[float, float]  # shortest at the fastest, longest at the slowest
    gap_ms: float  # longest opening within one pass, at the slowest
    seen: bool  # a sure hit at the fastest speed
    once: bool  # no second hit from the same magnet
    rests: bool  # a slow train would be taken for a magnet at rest


def judge(
    magnet: Magnet, way: magnets.Way, sensor: magnets.Sensor, timing: Timing, step_mm: float = magnets.STEP_MM
) -> Verdict:
    """Work out one magnet passing one sensor one way."""
    dull = magnets.closings(magnet, way, sensor, magnets.least(magnet, sensor), step_mm)
    keen = magnets.closings(magnet, way, sensor, magnets.most(magnet, sensor), step_mm)
    short, long = magnets.longest_mm(dull), magnets.longest_mm(keen)
    gap_ms = max(magnets.widest_gap_mm(dull), magnets.widest_gap_mm(keen)) / timing.slowest_m_s
    whole_ms = (keen[-1][1] - keen[0][0]) / timing.slowest_m_s if keen else 0.0
    return Verdict(
        least=dull,
        most=keen,
        length_mm=(short, long),
        closed_ms=(short / timing.fastest_m_s, long / timing.slowest_m_s),
        gap_ms=gap_ms,
        seen=short >= timing.needed_mm,
        once=gap_ms < timing.opening_ms + timing.rearm_ms,
        rests=bool(timing.rest_ms) and whole_ms >= timing.rest_ms,
    )


def sideways_mm(magnet: Magnet, way: magnets.Way, sensor: magnets.Sensor, timing: Timing) -> float:
    """How far aside the magnet may pass and still make a sure hit; 0 when it does not even in the middle."""
    case = magnets.least(magnet, sensor)

    def good(aside_mm: float) -> bool:
        spans = magnets.closings(magnet, replace(way, aside_mm=aside_mm), sensor, case, SEARCH_MM)
        return magnets.longest_mm(spans) >= timing.needed_mm

    return _edge(good, 0.0, ASIDE_MM_MAX)


def height_window_mm(
    magnet: Magnet, way: magnets.Way, sensor: magnets.Sensor, timing: Timing
) -> tuple[float, float] | None:
    """Heights from lowest to highest that all make one sure hit and never a second; None: no height does."""

    def good(height_mm: float) -> bool:
        verdict = judge(magnet, replace(way, height_mm=height_mm), sensor, timing, SEARCH_MM)
        return verdict.seen and verdict.once

    low = 0.5
    while not good(low):
        low += 1.0
        if low > HEIGHT_MM_MAX:
            return None
    return low, _edge(good, low, HEIGHT_MM_MAX)


def _edge(good: Callable[[float], bool], start: float, stop: float) -> float:
    """Last value of an unbroken run of good ones from start, found in steps of 2 mm, then to 0.1 mm."""
    if not good(start):
        return 0.0
    last = start
    while last + 2 <= stop and good(last + 2):
        last += 2
    low, high = last, last + 2
    while high - low > 0.1:
        middle = (low + high) / 2
        if good(middle):
            low = middle
        else:
            high = middle
    return low


def turned_asides_mm(
    sensor_aside_mm: float, magnet_aside_mm: float, play_mm: float = 0.0
) -> tuple[float, float]:
    """Least and most distance aside: a turned engine carries its magnet on the other side."""
    near = abs(abs(sensor_aside_mm) - abs(magnet_aside_mm))
    return max(0.0, near - play_mm), abs(sensor_aside_mm) + abs(magnet_aside_mm) + play_mm
