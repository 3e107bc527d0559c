"""One train on the track: its motion in closed form, and the marks that it will come to.

Positions are of the nose, in mm from where the section that the nose is in begins; times are whole
microseconds. A motion is one of constant acceleration: it holds from its own beginning, nothing is summed up
in steps. Every time of a mark or an end is rounded up to the next whole microsecond (kinematics.whole_us),
counted from the beginning of the motion; what begins there begins at the exact spot.
"""

from __future__ import annotations

import math
from bisect import insort

from reedway.trains.kinematics import NEVER, Coast, whole_us
from reedway.trains.makeup import Makeup
from reedway.trains.running.ground import Ground, Rail

STAND, RISE, RUN, COAST = "stands", "speeds up", "runs", "runs on"
NEVER_US = 1 << 62

# Marks, in the order in which they are served at one spot.
OPENS, PICK_UP, LEAVE, CLOSES, FOUL, ENTER = range(6)
Mark = tuple[float, int, int, int]  # where the nose is, kind, which (sensor, pick-up, section), second number


class Running:
    """A train that moves. `speed`, `coast` and `zones` are those of this run of it."""

    def __init__(self, number: int, made: Makeup, ground: Ground) -> None:
        self.number = number
        self.made = made
        self.name = made.name
        self.length = made.length
        self.ground = ground
        self.zones = [sum(magnet.operating) / 2 for magnet in made.magnets]
        self.speed = sum(made.train.speed) / 2
        short, long = made.train.coasts()
        self.coast = Coast(short.kind, (short.run_on_mm + long.run_on_mm) / 2, short.run_on_s)
        self.acceleration = made.train.acceleration
        self.path: list[tuple[int, float]] = []  # sections it covers and where they begin, the nose's last
        self.marks: list[Mark] = []
        self.rails: list[tuple[int, Rail]] = []  # under each pick-up: section, rail
        self.fed = False
        self.phase = STAND
        self.t0 = 0
        self.s0 = self.v0 = self.a = 0.0
        self.end_us = NEVER_US  # of the motion
        self.s_end = self.v_end = 0.0
        self.next_us = NEVER_US  # the next mark or the end of the motion
        self._of_section: dict[int, list[Mark]] = {}

    # -- where it is --------------------------------------------------------------------------------------

    @property
    def section(self) -> int:
        """That its nose is in."""
        return self.path[-1][0]

    def covers(self, section: int) -> bool:
        return any(one == section for one, _ in self.path)

    def at(self, t: int) -> float:
        """Where its nose is."""
        dt = (t - self.t0) / 1e6
        return self.s0 + (self.v0 + self.a * dt / 2) * dt

    def speed_at(self, t: int) -> float:
        return max(0.0, self.v0 + self.a * (t - self.t0) / 1e6)

    def put(self, section: int, nose: float, t: int) -> list[int]:
        """Set it down at rest; the sensors that its magnets close."""
        self.path = [(section, 0.0)]
        behind, at = section, 0.0
        while at > nose - self.length + 1e-9:
            behind = self.ground.track.before[behind][0]
            at -= self.ground.sections[behind].length
            self.path.insert(0, (behind, at))
        self.marks = []
        self.rails = [(section, self.ground.sections[section].rails[0])] * len(self.made.pick_ups)
        closed: list[int] = []
        for one, origin in self.path:
            self._ahead_of(one, origin, nose, closed)
        self.marks.sort()
        self.fed = False
        self._rest(t, nose)
        return closed

    def _ahead_of(self, section: int, origin: float, nose: float, closed: list[int]) -> None:
        for where, kind, which, other in self._marks_of(section):
            where += origin
            if where > nose or (kind == ENTER and where == nose):
                self.marks.append((where, kind, which, other))
            elif kind == CLOSES:
                closed.append(which)
            elif kind == OPENS:
                closed.remove(which)
            elif kind == PICK_UP:
                self.rails[which] = (section, self.ground.sections[section].rails[other])

    def _marks_of(self, section: int) -> list[Mark]:
        """All marks of a section that the nose comes to at 0."""
        found = self._of_section.get(section)
        if found is not None:
            return found
        one = self.ground.sections[section]
        found = [(one.length, ENTER, section, 0), (one.length + self.length, LEAVE, section, 0)]
        if one.fouls < one.length:
            found.append((one.fouls, FOUL, section, 0))
        for number, rail in enumerate(one.rails):
            found += [(rail.start + at, PICK_UP, i, number) for i, at in enumerate(self.made.pick_ups)]
        for sensor, x in one.sensors:
            for magnet, zone in zip(self.made.magnets, self.zones, strict=True):
                found.append((x - zone / 2 + magnet.from_nose, CLOSES, sensor, 0))
                found.append((x + zone / 2 + magnet.from_nose, OPENS, sensor, 0))
        self._of_section[section] = sorted(found)
        return self._of_section[section]

    def enter(self, section: int) -> None:
        """The nose has come to the end of its section and is in the next one."""
        by = self.ground.sections[self.section].length
        self.path = [(one, origin - by) for one, origin in self.path]
        self.path.append((section, 0.0))
        marks = [(where - by, kind, which, other) for where, kind, which, other in self.marks]
        for mark in self._marks_of(section):
            insort(marks, mark)
        self.marks = marks
        self.s0 -= by
        self.s_end -= by

    def leave(self, section: int) -> None:
        """The tail has left its last section."""
        assert self.path[0][0] == section
        self.path.pop(0)

    # -- motion -------------------------------------------------------------------------------------------

    def _rest(self, t: int, nose: float) -> None:
        self.phase = STAND
        self.t0, self.s0, self.v0, self.a = t, nose, 0.0, 0.0
        self.end_us = self.next_us = NEVER_US

    def drive(self, t: int, nose: float) -> None:
        """It is fed: it speeds up, or runs."""
        v = self.speed_at(t)
        self.t0, self.s0 = t, nose
        if v >= self.speed or math.isinf(self.acceleration):
            self.phase, self.v0, self.a, self.end_us = RUN, self.speed, 0.0, NEVER_US
        else:
            rise_s = (self.speed - v) / self.acceleration
            self.phase, self.v0, self.a = RISE, v, self.acceleration
            self.s_end, self.v_end = nose + (v + self.speed) / 2 * rise_s, self.speed
            self.end_us = t + whole_us(rise_s)
        self.look_ahead()

    def cut(self, t: int, nose: float) -> None:
        """Its feed is gone: it runs on, slowing evenly, or stands at once."""
        v = self.speed_at(t)
        if self.coast.kind == NEVER:
            return
        whole_s = self.coast.time_s(v)
        if whole_s <= 0 or v <= 0:
            self._rest(t, nose)
            return
        self.phase = COAST
        self.t0, self.s0, self.v0, self.a = t, nose, v, -v / whole_s
        self.s_end, self.v_end = nose + self.coast.distance_mm(v), 0.0
        self.end_us = t + whole_us(whole_s)
        self.look_ahead()

    def end(self) -> None:
        """The motion has come to its end: top speed, or rest."""
        if self.phase == COAST:
            self._rest(self.end_us, self.s_end)
        else:
            self.t0, self.s0, self.v0, self.a = self.end_us, self.s_end, self.v_end, 0.0
            self.phase, self.end_us = RUN, NEVER_US
            self.look_ahead()

    def look_ahead(self) -> None:
        """When the next thing happens to it."""
        if self.phase == STAND:
            self.next_us = NEVER_US
            return
        where = self.marks[0][0]
        if self.end_us < NEVER_US and where > self.s_end:
            self.next_us = self.end_us
            return
        self.next_us = min(self.end_us, self.t0 + whole_us(self.seconds_to(where)))

    def seconds_to(self, where: float) -> float:
        """How long after the beginning of the motion the nose is there."""
        way = where - self.s0
        if way <= 0:
            return 0.0
        if not self.a:
            return way / self.v0
        return 2 * way / (self.v0 + math.sqrt(max(0.0, self.v0 * self.v0 + 2 * self.a * way)))
