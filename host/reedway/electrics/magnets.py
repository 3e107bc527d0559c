"""A magnet passes a sensor: where it closes and opens, for how long, how far aside and how high.

The field comes from a magnetics library, in free space. Not in it: the reed's own steel, which draws
field towards itself (a factor of two from case to case), and rails and frames of iron. So a bench
measurement with the owner's own magnet and reed is asked for and taken in (`from_bench`).
The train runs along x, y is sideways, z is up; the magnet's underside passes `height` above the sensor.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from reedway.electrics.magnetdata import Magnet
from reedway.problems import ReedwayError
from reedway.shipped import to_install

if TYPE_CHECKING:
    import numpy

STEP_MM = 0.05
AXES = {"along": 0, "across": 1, "vertical": 2}
BENCH_SPREAD = 0.25  # of one reed to the next of the same part; common practice, no source
LIMITS = (
    "Free-space field: a reed's own steel, rails and iron frames are left out (a factor of two is possible).",
    "No exact rule leads from a reed's ampere-turns to millitesla: measure one on the bench (`measured:`).",
    "NdFeB's recoil permeability of 1.05 is taken as 1.",
)


@dataclass(frozen=True)
class Sensor:
    """Operate and release points in millitesla, lowest and highest, and the direction it feels."""

    kind: str  # "reed": either sign; "hall": one sign only
    direction: str  # along, across or vertical
    operate_mt: tuple[float, float]
    release_mt: tuple[float, float]

    def __post_init__(self) -> None:
        if self.kind not in ("reed", "hall") or self.direction not in AXES:
            raise ValueError("a sensor is a reed or hall, its direction along, across or vertical")
        low_ok = 0 < self.release_mt[0] <= self.operate_mt[0] <= self.operate_mt[1]
        if not low_ok or not self.release_mt[0] <= self.release_mt[1] <= self.operate_mt[1]:
            raise ValueError("a sensor releases at less than it operates, and the lowest comes first")


@dataclass(frozen=True)
class Way:
    """How the magnet is mounted and passes: its direction, height of its underside, distance aside."""

    direction: str
    height_mm: float
    aside_mm: float = 0.0


@dataclass(frozen=True)
class Case:
    """One end of the spread: remanence, operate and release points."""

    remanence: float
    operate_mt: float
    release_mt: float


def least(magnet: Magnet, sensor: Sensor) -> Case:
    """Weakest magnet, dullest sensor."""
    return Case(magnet.weakest_t, sensor.operate_mt[1], sensor.release_mt[1])


def most(magnet: Magnet, sensor: Sensor) -> Case:
    """Strongest magnet, keenest sensor."""
    return Case(magnet.strongest_t, sensor.operate_mt[0], sensor.release_mt[0])


def half_height_mm(magnet: Magnet, direction: str) -> float:
    """From the underside of the mounted magnet to its middle."""
    if direction == "vertical":
        return magnet.length_mm / 2
    return magnet.size_mm[0] / 2 if magnet.shape == "cylinder" else magnet.size_mm[1] / 2


def field_mt(magnet: Magnet, way: Way, remanence: float, x_mm: numpy.ndarray) -> numpy.ndarray:
    """Field (rows of x, y, z in millitesla) at the sensor, the magnet's middle at -x of it."""
    try:
        import magpylib
        import numpy
    except ImportError as missing:
        raise ReedwayError(
            f"the magnetics library is missing ({missing.name}); {to_install('magpylib>=5.1')}"
        ) from missing
    size_m = [side / 1000 for side in magnet.size_mm]
    if magnet.shape == "block" and way.direction == "along":  # sides: a across, b upright
        size_m = [size_m[1], size_m[0], size_m[2]]
    make = magpylib.magnet.Cylinder if magnet.shape == "cylinder" else magpylib.magnet.Cuboid
    source = make(polarization=(0, 0, remanence), dimension=tuple(size_m))
    if way.direction != "vertical":
        angle, axis = (90, "y") if way.direction == "along" else (-90, "x")
        source.rotate_from_angax(angle, axis)
    down = -(way.height_mm + half_height_mm(magnet, way.direction))
    points = numpy.column_stack([x_mm, numpy.full_like(x_mm, way.aside_mm), numpy.full_like(x_mm, down)])
    return numpy.asarray(source.getB(points / 1000)).reshape(-1, 3) * 1000


def felt_mt(magnet: Magnet, way: Way, sensor: Sensor, remanence: float, x_mm: numpy.ndarray) -> numpy.ndarray:
    """What the sensor feels: size for a reed; for a Hall sensor the sign is of the pole that operates it.

    The magnet is taken to be mounted the right way round for a Hall sensor.
    """
    along = field_mt(magnet, way, remanence, x_mm)[:, AXES[sensor.direction]]
    if sensor.kind == "reed":
        return abs(along)
    return along if along[abs(along).argmax()] >= 0 else -along


def closings(
    magnet: Magnet, way: Way, sensor: Sensor, case: Case, step_mm: float = STEP_MM
) -> list[tuple[float, float]]:
    """Where the sensor closes and opens as the magnet passes, in millimetres from abreast."""
    import numpy

    reach = 60 + 4 * (way.height_mm + max(magnet.size_mm))
    x_mm = numpy.arange(-reach, reach + step_mm / 2, step_mm)
    felt = felt_mt(magnet, way, sensor, case.remanence, x_mm)
    # Only where the field crosses a point can anything change: hysteresis over those few places.
    found: list[tuple[float, float]] = []
    above, over = felt >= case.operate_mt, felt >= case.release_mt
    start = 0
    while True:
        rest = numpy.flatnonzero(above[start:])
        if not len(rest):
            return found
        on = start + int(rest[0])
        gone = numpy.flatnonzero(~over[on:])
        off = on + int(gone[0]) if len(gone) else len(x_mm) - 1
        found.append((_between(x_mm, felt, on, case.operate_mt), _between(x_mm, felt, off, case.release_mt)))
        start = off
        if not len(gone):
            return found


def _between(x_mm: numpy.ndarray, felt: numpy.ndarray, index: int, point: float) -> float:
    if index == 0 or felt[index] == felt[index - 1]:
        return float(x_mm[index])
    share = (point - felt[index - 1]) / (felt[index] - felt[index - 1])
    return float(x_mm[index - 1] + min(1.0, max(0.0, share)) * (x_mm[1] - x_mm[0]))


def longest_mm(spans: list[tuple[float, float]]) -> float:
    """Operating length: the longest of the closings; 0: it never closes."""
    return max((off - on for on, off in spans), default=0.0)


def widest_gap_mm(spans: list[tuple[float, float]]) -> float:
    """Longest opening between two closings of one pass."""
    return max((b[0] - a[1] for a, b in zip(spans, spans[1:], strict=False)), default=0.0)


def from_bench(
    magnet: Magnet, way: Way, sensor: Sensor, closes_at_mm: float, opens_at_mm: float, spread: float
) -> Sensor:
    """A sensor whose points were measured: the magnet as mounted was slid along at this height.

    It closed that far before the middle and opened that far beyond. The field worked out there is the
    operate and release point; the reed's steel is so taken in for this way of passing.
    """
    import numpy

    at = felt_mt(magnet, way, sensor, magnet.middle_t, numpy.array([closes_at_mm, opens_at_mm]))
    operate, release = float(abs(at[0])), float(abs(at[1]))
    if not 0 < release <= operate:
        raise ValueError(
            f"on the bench it opened where the field is {release:.2f} mT but closed at {operate:.2f} mT; "
            "a sensor opens at less field than it closes at: measure again"
        )
    low, high = 1 - spread, 1 + spread
    return replace(
        sensor, operate_mt=(operate * low, operate * high), release_mt=(release * low, release * high)
    )
