"""What `plan` finds, as plain dataclasses."""

from __future__ import annotations

from dataclasses import dataclass, field

from reedway.layout.model import Layout
from reedway.trains.makeup import Makeup
from reedway.trains.model import Span
from reedway.trains.standing import Place
from reedway.trains.window import Site, Window


@dataclass
class Stand:
    """A train at rest in a place, in mm from its gap; least and most."""

    place: str
    train: str
    nose: Span
    tail: Span
    magnets: list[tuple[str, Span]]
    pick_ups: tuple[Span, Span]  # the first, the last
    nose_short: float  # of the mark
    nose_short_worst: float  # when another pulse had just begun
    tail_clear: float  # of the beginning of the place
    dead_needed: float  # from the first to the last powered pick-up, and the run-on
    dead: float
    set_on: Span  # where to set the nose


@dataclass
class Passing:
    """One magnet of one train at one sensor; mm, ms."""

    sensor: str
    train: str
    vehicle: str
    operating: Span
    source: str
    closed_ms: float  # at top speed
    needed_ms: float
    beyond: Span | None  # how far it stands clear beyond; None: it does not stand here
    short_of: float | None
    tail_clear: float | None
    next_clear: float | None  # how much farther than needed the next spot is
    next_clear_worst: float | None  # when its throw has to wait
    again: str  # why it makes another hit; "" if not


@dataclass
class Problem:
    """Something that will not do."""

    line: int
    text: str


@dataclass
class Plan:
    layout: Layout
    stock: list[Makeup]
    places: dict[str, Place]
    sites: list[Site]
    trains_at: dict[str, list[Makeup]]  # by place and by sensor
    stands: list[Stand] = field(default_factory=list)
    passings: list[Passing] = field(default_factory=list)
    windows: dict[str, Window] = field(default_factory=dict)
    remedies: dict[str, list[str]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def site(self, sensor: str) -> Site:
        return next(site for site in self.sites if site.sensor == sensor)
