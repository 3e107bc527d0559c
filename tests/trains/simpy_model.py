"""The layout `three-trains-interlocked` once more, as SimPy processes: a model to hold `simulate` against.

Written without the product's functions: the railway is one ring of which a lap begins where the siding tracks
begin, a train is a distance run since then, and each train and the board is a process. Lengths, spots and
trains are read from the layout file; how the track hangs together is written down here. Only the controller
is the same. Every time from the beginning of a motion is rounded up to whole microseconds; less than a
nanosecond is none.
"""

from __future__ import annotations

import math
from collections.abc import Generator
from pathlib import Path
from typing import Any

import simpy
import yaml

from reedlogic.controller import Controller

MASK = (1 << 29) - 1
HIT, ORDER_START, BY_SWITCHES = 4, 0, 63
RING = ("track A", "exit", "M1", "Mill Halt", "Bridge Halt", "M2", "entry")
SENSORS = ("N1", "N2", "N3", "N4", "N5", "N6")
EXIT, ENTRY = 0, 1
FEEDS = {"track A": 0, "Mill Halt": 1, "Bridge Halt": 2}  # of each dead end; 3 is the track feed
IN_SIDING = {"N5": 0, "N6": 1}  # sensors that are in one of the two tracks only


def mm(text: str) -> float:
    number, unit = str(text).split()
    return float(number) * {"mm": 1.0, "m": 1000.0, "mm/s": 1.0}[unit]


def middle(text: str) -> float:
    ends = [mm(part) for part in str(text).split(" to ")]
    return sum(ends) / len(ends)


class Ring:
    """Where everything is on the ring, in mm."""

    def __init__(self, file: dict[str, Any]) -> None:
        lengths, spots = file["lengths"], file["spots"]
        assert lengths["track A"] == lengths["track B"]
        self.begin: dict[str, float] = {}
        at = 0.0
        for name in RING:
            self.begin[name] = at
            at += mm(lengths[name]["length"])
        self.length = at
        self.begin["track B"] = self.begin["track A"]
        self.dead: list[tuple[float, float, int]] = []  # from, to, feed
        gaps = {}
        for name, feed in FEEDS.items():
            end = self.begin[name] + mm(lengths[name]["length"])
            gaps[name] = end - mm(lengths[name]["dead_end"])
            self.dead.append((gaps[name], end, feed))
        gaps["track B"] = gaps["track A"]
        self.sensors: dict[str, float] = {}
        for name in SENSORS:
            spot = spots[name]
            if "place" in spot:
                back = mm(spot["set_back"]) if "set_back" in spot else -mm(spot["beyond_gap"])
                self.sensors[name] = gaps[spot["place"]] - back
            else:
                behind = spot["clear_of"]
                self.sensors[name] = self.begin[behind] + mm(lengths[behind]["length"]) + mm(spot["beyond"])


class Train:
    """A process: stands until it is fed, runs from one thing to the next until its feed is cut, runs on."""

    def __init__(self, show: Show, name: str, file: dict[str, Any], nose: float, track: int) -> None:
        self.show, self.name = show, name
        entry = file["trains"][name]
        self.v, self.run_on = mm(entry["speed"]), mm(entry["run_on"])
        self.marks: list[tuple[float, str, int, float]] = []  # where in a lap, what, sensor, pick-up
        self.pick_ups: list[float] = []
        at = 0.0
        for word in entry["vehicles"]:
            car = file["vehicles"][word]
            if "pick_ups" in car:
                self.pick_ups += [at + mm(part) for part in car["pick_ups"].split(" to ")]
            if "magnet" in car:
                half = middle(car["operates_over"]) / 2
                for number, sensor in enumerate(SENSORS):
                    over = show.ring.sensors[sensor] + at + mm(car["magnet"])
                    self.marks += [(over - half, "closes", number, 0.0), (over + half, "opens", number, 0.0)]
            at += mm(car["length"])
        for low, high, _ in show.ring.dead:
            self.marks += [(end + p, "rail", 0, p) for end in (low, high) for p in self.pick_ups]
        self.marks.append((show.ring.length, "points", 0, 0.0))
        ring = show.ring.length
        self.marks = sorted((where % ring if where != ring else ring, *rest) for where, *rest in self.marks)
        self.lap = 0
        self.tracks = {0: track}
        self.x = nose
        self.next = sum(where <= nose for where, *_ in self.marks)
        self.process = show.env.process(self.run())
        self.waits = False

    def is_fed(self) -> bool:
        return any(self.show.is_live(self.x - p, self.tracks) for p in self.pick_ups)

    def look(self) -> None:
        """The feeds have changed."""
        if self.waits:
            self.process.interrupt()

    def sleep(self, until: int) -> Generator[simpy.Event, None, bool]:
        """True when nobody woke it before."""
        self.waits = True
        try:
            yield self.show.env.timeout(until - self.show.env.now)
            return True
        except simpy.Interrupt:
            return False
        finally:
            self.waits = False

    def run(self) -> Generator[simpy.Event, None, None]:
        while True:
            while not self.is_fed():
                yield from self.sleep(1 << 60)
            yield from self.move(self.v, 0.0, math.inf)
            whole_s = 2 * self.run_on / self.v
            yield from self.move(self.v, -self.v / whole_s, self.x + self.run_on)

    def move(self, v: float, a: float, end: float) -> Generator[simpy.Event, None, None]:
        """Until it is fed no more, or while it runs on until it stands or is fed again."""
        env, begun, x0 = self.show.env, self.show.env.now, self.x

        def time_us(where: float) -> int:
            way = where - x0
            seconds = way / v if not a else (math.sqrt(max(0.0, v * v + 2 * a * way)) - v) / a
            return begun + math.ceil(max(0.0, seconds) * 1e6 - 1e-3)

        while True:
            where, what, number, p = self.marks[self.next]
            where += self.lap * self.show.ring.length
            goal = min(where, end)
            if (yield from self.sleep(time_us(goal))):
                self.x = goal
                if goal == end and where > end:
                    return
                self.pass_mark(what, number)
            else:
                seconds = (env.now - begun) / 1e6
                self.x = x0 + (v + a * seconds / 2) * seconds
            if self.is_fed() != (a == 0):
                return

    def pass_mark(self, what: str, number: int) -> None:
        self.next += 1
        if what == "points":
            self.lap += 1
            self.next = 0
            self.tracks[self.lap] = self.show.lies[ENTRY]
            self.tracks.pop(self.lap - 2, None)
        elif what in ("closes", "opens"):
            of = IN_SIDING.get(SENSORS[number], self.tracks[self.lap])
            if of == self.tracks[self.lap]:
                self.show.contact(number, what == "closes")


class Show:
    """The whole: trains, points, contacts and the board."""

    def __init__(self, path: Path, plan: tuple, trains: list[tuple[str, str, float]]) -> None:
        file = yaml.safe_load(path.read_text(encoding="utf-8"))
        self.env = simpy.Environment()
        self.ring = Ring(file)
        self.controller = Controller(plan)
        self.coils = {coil: (i, p) for i, row in enumerate(plan[7]) for p, coil in enumerate(row[:2])}
        self.lies = [0, 0]
        self.feeds = self.raw = self.panel = 0
        self.hits: list[tuple[int, str]] = []
        self.sleeps = False
        self.trains = [
            Train(self, name, file, self.ring.begin[place] + nose, int(place == "track B"))
            for name, place, nose in trains
        ]
        self.board = self.env.process(self.control())

    def is_live(self, p: float, tracks: dict[int, int]) -> bool:
        """Is there current at a spot of the ring?"""
        if not self.feeds >> 3 & 1:
            return False
        lap, at = divmod(p + 1e-9, self.ring.length)
        for low, high, feed in self.ring.dead:
            if low <= at < high:
                lies = feed != 0 or self.lies[EXIT] == tracks[int(lap)]
                return bool(self.feeds >> feed & 1) and lies
        return True

    def contact(self, number: int, closed: bool) -> None:
        self.raw = self.raw | 1 << number if closed else self.raw & ~(1 << number)
        if self.sleeps:
            self.sleeps = False
            self.board.interrupt()

    def control(self) -> Generator[simpy.Event, None, None]:
        """The board: looks at whole milliseconds, when a contact has changed or the controller wants to."""
        c, env, started = self.controller, self.env, False
        c.begin(0, 0, 0)
        c.settle(0)
        while True:
            now = env.now // 1000
            wait = (c.due - now) & MASK
            due = now + (wait if 0 < wait < 1 << 28 else 1)
            goal = due * 1000
            if not started:
                goal = min(goal, 500_000 if env.now < 500_000 else 2_000_000)
            if self.raw != c.raw or self.panel != c.panel:
                goal = min(goal, -(-env.now // 1000) * 1000)
            self.sleeps = True
            try:
                yield env.timeout(goal - env.now)
            except simpy.Interrupt:
                continue
            self.sleeps = False
            for _ in range(3):  # whatever else happens in this microsecond comes first
                yield env.timeout(0)
            now = env.now // 1000
            self.panel = 3 if now >= 500 else 0
            c.scan(now & MASK, self.raw, self.panel)
            if now == 2000 and not started:
                started = True
                c.order(now & MASK, ORDER_START, BY_SWITCHES)
                c.settle(now & MASK)
            self.read(now)

    def read(self, now: int) -> None:
        """What the controller has recorded, and its outputs."""
        c, journal = self.controller, self.controller.journal
        for i in range(journal.held()):
            if journal.kind(i) == HIT:
                back = (now - journal.time(i)) & MASK
                self.hits.append((now - back, SENSORS[journal.which(i)]))
        journal.clear()
        if c.keeper.pulse_coil >= 0:
            self.env.process(self.throw(*self.coils[c.keeper.pulse_coil], c.keeper.pulse_ms))
            c.keeper.pulse_coil = -1
        if c.logic.feeds != self.feeds:
            self.feeds = c.logic.feeds
            self.look()

    def throw(self, turnout: int, position: int, ms: int) -> Generator[simpy.Event, None, None]:
        yield self.env.timeout(1000 * ms)
        self.lies[turnout] = position
        self.look()

    def look(self) -> None:
        for train in self.trains:
            train.look()

    def run(self, hours: float) -> list[tuple[int, str]]:
        """The hits after so many hours from the start order."""
        self.env.run(until=2_000_000 + round(hours * 3_600_000_000))
        return self.hits
