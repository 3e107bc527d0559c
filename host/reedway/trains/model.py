"""Vehicles, trains, lengths and spots of a layout file as plain dataclasses; millimetres, mm/s, mm/s2."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from reedway.trains.kinematics import Coast

if TYPE_CHECKING:
    from reedway.layout.model import Text

Span = tuple[float, float]  # least and most

# Nothing published says how long a magnet under a train keeps a sensor closed: an assumption, until it is
# measured or worked out by `magnets`.
OPERATING_MM_ASSUMED: Span = (10.0, 30.0)


@dataclass
class Vehicle:
    """One vehicle; distances are from its front."""

    name: str
    line: int
    lines: dict[str, int]  # of the keys that are written
    length: float
    couplers: tuple[Text, Text]  # front, rear
    motor: bool
    pick_ups: Span | None  # first and last powered pick-up
    wired_through: bool  # its pick-ups feed the next vehicle behind as well
    magnet: float | None  # middle of its magnet
    magnet_fits: Span | None
    magnet_kind: Text | None  # of electrics
    magnet_side: str
    operating_length: Span | None


@dataclass
class Train:
    name: str
    line: int
    lines: dict[str, int]
    vehicles: list[Text]  # in order from the front
    speed: Span
    acceleration: float  # inf: at once
    run_on: Span | None
    run_on_time_ms: int | None
    when_cut: str

    def coasts(self) -> tuple[Coast, Coast]:
        """The shortest run-on and the longest."""
        low, high = self.run_on or (0.0, 0.0)
        time_s = (self.run_on_time_ms or 0) / 1000
        return Coast(self.when_cut, low, time_s), Coast(self.when_cut, high, time_s)


@dataclass
class Length:
    """A place, turnout or other section. Its dead end is its last part, which begins at the gap."""

    name: str
    line: int
    lines: dict[str, int]
    length: float
    dead_end: float | None
    fouling_point: float  # so far before its far end
    cut_by: Text | None  # sensor whose hit makes the end dead; None: it is dead when a train comes
    trains: list[Text]  # that stand here; none: all

    @property
    def live(self) -> float:
        """From its beginning to the gap."""
        return self.length - (self.dead_end or 0.0)


@dataclass
class Spot:
    """Where a sensor is: from the gap of the place it stands in, and from what it shows to be clear."""

    name: str  # of the sensor
    line: int
    lines: dict[str, int]
    place: Text | None
    set_back: float | None  # before the gap
    beyond_gap: float | None
    clear_of: Text | None  # the whole train has left this when the sensor is hit
    beyond: float | None  # distance from its fouling point to the sensor
    next_spot: float | None  # distance to the next sensor or points
    side: str

    @property
    def from_gap(self) -> float:
        """Beyond the gap; before it, below 0."""
        return self.beyond_gap if self.beyond_gap is not None else -(self.set_back or 0.0)


@dataclass
class Stock:
    """All that a layout file says about trains and lengths."""

    vehicles: list[Vehicle] = field(default_factory=list)
    trains: list[Train] = field(default_factory=list)
    lengths: list[Length] = field(default_factory=list)
    spots: list[Spot] = field(default_factory=list)
