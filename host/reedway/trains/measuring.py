"""Speed and operating length of one train from a session log in which it ran alone.

Two hits of sensors that follow one another on the track give a speed: the way between them, from the layout
file, over the time between the two closings. It counts only where some pick-up of the train was on live rail
all the way, by the recorded feeds and turnouts, and had been before: else the train may have stood, or was
still getting faster. The opening of the first sensor then gives the operating length of the magnet.
"""

from __future__ import annotations

import os
from collections import Counter
from dataclasses import dataclass, field

from reedway.counting import times
from reedway.problems import ReedwayError
from reedway.sessionlog.reader import Line, LogReader
from reedway.trains.liverails import LiveRails, RailAt, Way, rails_of
from reedway.trains.makeup import Makeup
from reedway.trains.model import Span
from reedway.trains.running.ground import Ground

RUN_UP_MM = 500.0  # so far before the first sensor, and so long before its hit, the rails were live too
RUN_UP_MS = 5000
STRAY_PART_MAX = 0.1  # of the hits
DEAD = "a rail was dead on the way or shortly before, or the log does not say that it was live"
NOT_NEXT = "the second sensor does not follow the first on the track"
TWO_WAYS = "two ways of different length lead from the first sensor to the second"
CUT_OFF = "the track power failed, the board was late or all was stopped between them"
BREAKS = ("late", "power", "mode", "lost")


@dataclass(frozen=True)
class Leg:
    """One passing from sensor to sensor. `closed_ms`: so long the first was closed; None: not seen."""

    first: str
    second: str
    distance_mm: float
    took_ms: int
    closed_ms: int | None

    @property
    def speed_mm_s(self) -> float:
        return self.distance_mm / self.took_ms * 1000

    @property
    def operating_mm(self) -> float | None:
        """How far the magnet kept the first sensor closed."""
        return None if self.closed_ms is None else self.speed_mm_s * self.closed_ms / 1000


@dataclass
class Measured:
    """All that one log says of one train."""

    made: Makeup
    legs: list[Leg] = field(default_factory=list)
    left_out: Counter[str] = field(default_factory=Counter)
    hits: int = 0
    is_other_file: bool = False  # the log was recorded with another version of the layout file

    @property
    def speed_mm_s(self) -> Span:
        """The slowest and the fastest passing."""
        speeds = [leg.speed_mm_s for leg in self.legs]
        return min(speeds), max(speeds)

    @property
    def operating_mm(self) -> Span | None:
        found = [leg.operating_mm for leg in self.legs if leg.operating_mm is not None]
        return (min(found), max(found)) if found else None

    @property
    def exact_to_mm_s(self) -> float:
        """What the 1 ms of a hit is, at the passing where it matters most."""
        return max(leg.speed_mm_s / leg.took_ms for leg in self.legs)


@dataclass(frozen=True)
class _Route:
    """From one sensor to the next. For each pick-up: the rails before the hit, and those on the way."""

    distance_mm: float
    rails: tuple[tuple[set[RailAt], set[RailAt]], ...]


class _Measuring:
    """Reads one log. `closed`: when each sensor that is waited for to open closed."""

    def __init__(self, ground: Ground, made: Makeup) -> None:
        self.ground = ground
        self.found = Measured(made)
        self.live = LiveRails(ground)
        self.routes = {name: self._routes(name) for name in ground.sensors}
        self.by_name = {sensor.name: sensor for sensor in ground.layout.sensors}
        self.starts = {start.name: len(start.trains_at) for start in ground.layout.starts}
        self.last: tuple[str, int] | None = None  # sensor, when it closed
        self.closed_ms: int | None = None  # how long that one was
        self.is_cut = False
        self.part = 0

    def _routes(self, name: str) -> dict[str, list[_Route]]:
        """The sensors that come next, and how."""
        ground = self.ground
        first, at = ground.sensors[name]
        found: dict[str, list[_Route]] = {}
        todo: list[Way] = [((first, 0.0),)]
        while todo:
            way = todo.pop()
            i, begins = way[-1]
            here = [
                (x + begins, other)
                for other, (where, x) in ground.sensors.items()
                if where == i and (len(way) > 1 or x > at)
            ]
            if here:
                x, other = min(here)
                found.setdefault(other, []).append(self._route(way, at, x))
            elif len(way) <= len(ground.sections):
                end = begins + ground.sections[i].length
                todo += [(*way, (target, end)) for target in ground.track.to[i]]
        return found

    def _route(self, way: Way, start: float, end: float) -> _Route:
        made, rails = self.found.made, []
        for pick_up in made.pick_ups:
            ahead = made.magnets[0].from_nose - pick_up
            before = rails_of(self.ground, way, start + ahead - RUN_UP_MM, start + ahead)
            rails.append((before, rails_of(self.ground, way, start + ahead, end + ahead)))
        return _Route(end - start, tuple(rails))

    # -- the log ------------------------------------------------------------------------------------------

    def read(self, line: Line) -> None:
        """One record."""
        if line.part != self.part:
            self.part = line.part
            self.live.forget()
            self.last = None
        if not isinstance(line.value, int) or line.t < 0:
            return
        self.live.record(line.t, line.kind, line.name, line.value)
        if line.kind in BREAKS:
            self.is_cut = True
        elif line.kind == "start" and self.starts.get(line.name, 1) > 1:
            raise ReedwayError(
                f":{line.number}: {self.starts[line.name]} trains were started ({line.name}); a speed is "
                "measured with one train alone on the track; record it with a start of one train"
            )
        elif line.name in self.by_name and line.kind == "hit" and line.name in self.routes:
            self._hit(line.name, line.t - self.by_name[line.name].confirm_ms)
        elif line.kind == "opening":
            self._opening(line.name, line.t)

    def _opening(self, name: str, t: int) -> None:
        """`t`: when it was confirmed."""
        if self.last is not None and self.last[0] == name and self.closed_ms is None:
            self.closed_ms = t - self.by_name[name].opening_ms - self.last[1]

    def _hit(self, name: str, t: int) -> None:
        """`t`: when it closed."""
        if self.last is not None and self.last[0] == name and len(self.found.made.magnets) > 1:
            return  # the next magnet of the train
        self.found.hits += 1
        if self.last is not None:
            why = self._why_not(name, t)
            if why:
                self.found.left_out[why] += 1
        self.last, self.closed_ms, self.is_cut = (name, t), None, False

    def _why_not(self, name: str, t: int) -> str:
        """Take the passing, or say why not."""
        assert self.last is not None
        first, start = self.last
        routes = self.routes[first].get(name)
        if routes is None:
            return NOT_NEXT
        if len({round(route.distance_mm, 3) for route in routes}) > 1:
            return TWO_WAYS
        if self.is_cut:
            return CUT_OFF
        live = self.live
        for route in routes:
            for before, on in route.rails:
                if live.were_live(before, start - RUN_UP_MS) and live.were_live(on, start):
                    leg = Leg(first, name, route.distance_mm, t - start, self.closed_ms)
                    self.found.legs.append(leg)
                    return ""
        return DEAD


def measure(log: str | os.PathLike[str], ground: Ground, made: Makeup) -> Measured:
    """Every passing of one log that counts.

    ReedwayError: more trains than one, a train without a magnet, no passing that counts, a log with faults.
    """
    if not made.magnets:
        raise ReedwayError(f"the {made.name} has no magnet, so no sensor sees it; add magnet: to a vehicle")
    reader = LogReader(log)
    measuring = _Measuring(ground, made)
    try:
        for line in reader:
            measuring.read(line)
    except ReedwayError as why:
        raise ReedwayError(f"{os.fspath(log)}{why}") from None
    finally:
        reader.close()
    reader.findings.raise_serious()
    found = measuring.found
    found.is_other_file = reader.header.layout_sha256 != ground.layout.sha256
    stray = found.left_out[NOT_NEXT]
    if stray > STRAY_PART_MAX * found.hits:
        raise ReedwayError(
            f"{os.fspath(log)}: {stray} of {found.hits} hits are not of the sensor that follows "
            "on the track; was there another train, or does a sensor miss many? Allowed is one in ten; "
            f"let the {made.name} run alone"
        )
    if not found.legs:
        reasons = "; ".join(f"{times(count)} {why}" for why, count in found.left_out.items())
        raise ReedwayError(
            f"{os.fspath(log)}: {found.hits} hits of sensors in the track, and no two of them give a speed"
            f"{': ' + reasons if reasons else ''}; needed are two sensors that follow one another, with the "
            "rails live all the way; let the train run round without a stop"
        )
    return found
