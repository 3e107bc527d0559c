"""The window of a go sensor by running times: inequalities from paper, worked out for one layout.

x is how far the sensor is beyond the points, in mm. For a train: L its length, f from its nose to its first
magnet, z how far that keeps the sensor closed, v its speed. The sensor closes with the nose at x + f - z/2.
hardware/trains.md has the same inequalities in words. They take each train at that end of its spans which is
the worst for them, so what they allow holds for all of them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from reedway.boardfile.compile import Compiled
from reedway.boardfile.throwtimes import throw_time
from reedway.layout.model import Layout
from reedway.trains import standing
from reedway.trains.makeup import Makeup
from reedway.trains.running.ground import Ground
from reedway.trains.runningtimes import run_s
from reedway.trains.standing import Place
from reedway.trains.times import SCAN_MS, times_of

NEAR, FAR = "too near", "too far"
TAIL = "the tail is still on the points at the hit"
EARLY = "the train is let go before it is there, and nobody lets it go again"
DUE = "the train comes to the sensor after its time has run out"
INTO = "the next train runs into the one that was held"
THROUGH = "the next train is not stopped"


@dataclass(frozen=True)
class Bound:
    """x must be at least (too near) or at most (too far) `mm`, or this goes wrong."""

    side: str
    kind: str
    train: str
    mm: float


@dataclass(frozen=True)
class Parts:
    """What hangs on a go sensor, by name."""

    sensor: str
    let_out: str  # timer: from the hit until the held train is let go
    place: str  # where it is held
    clears: str  # sensor that shows it has left
    open: str  # timer: so long it may leave; "" for none
    due: str  # timer: the train must have come; "" for none


def find(layout: Layout) -> Parts | None:
    """The first sensor whose hit starts a timer at whose end a place goes."""
    at = [(_words(rule.at.text), [_words(act.text) for act in rule.acts]) for rule in layout.rules if rule.at]
    blocks = {place.block.text.casefold(): place.name for place in layout.places if place.block}
    for sensor in layout.sensors:
        acts = [act for when, done in at if when == f"{sensor.name.casefold()} hit" for act in done]
        for timer in layout.timers:
            name = timer.name.casefold()
            if f"start {name}" not in acts:
                continue
            ends = [act for when, done in at if when == f"{name} runs out" for act in done]
            block = next((b for b in blocks if f"{b} goes" in ends), None)
            if block is None:
                continue
            named = {one.name.casefold(): one.name for one in layout.timers}
            opened = [named[act[8:]] for act in ends if act.startswith("restart ")]
            due = [named[act[7:]] for act in acts if act.startswith("cancel ")]
            clears = next(
                (
                    s.name
                    for s in layout.sensors
                    if any(f"{block} stops" in d for w, d in at if w == f"{s.name.casefold()} hit")
                ),
                "",
            )
            return Parts(
                sensor.name, timer.name, blocks[block], clears, (opened or [""])[0], (due or [""])[0]
            )
    return None


def _words(text: str) -> str:
    return " ".join(text.casefold().split())


class GoWindow:
    """All bounds of one go sensor. `stock` are the trains that run; every one may be any of the three.

    `switching_s`: so long after its feed is wanted a standing train may begin to move, for scan and relay. In
    `simulate` it is 0; the proof has it (Course.start_s).
    """

    def __init__(
        self,
        compiled: Compiled,
        ground: Ground,
        stock: list[Makeup],
        parts: Parts,
        switching_s: float = 0.0,
    ) -> None:
        layout = compiled.layout
        self.compiled, self.ground, self.stock, self.parts = compiled, ground, stock, parts
        self.switching_s = switching_s
        timers = {timer.name: timer.time_ms / 1000 for timer in layout.timers}
        self.let_out = timers[parts.let_out]
        self.open = timers.get(parts.open, 0.0)
        self.due = timers.get(parts.due, math.inf)
        sensors = {sensor.name: sensor for sensor in layout.sensors}
        self.times = {name: times_of(layout, compiled, sensors[name]) for name in sensors}
        spot = ground.spots[parts.sensor]
        assert spot.clear_of is not None
        points = ground.track.number[spot.clear_of.text]
        self.points = points
        self.origin = (points, ground.sections[points].length)  # where x is 0
        self.siding = [i for i in ground.track.before[points] if ground.track.place(i) >= 0]
        held = ground.lengths[parts.place]
        self.held = Place(held.name, held.live, held.dead_end or 0.0, held.fouling_point)
        begin = ground.way_mm(self.origin, (ground.track.number[parts.place], 0.0))
        self.gap = begin + held.live  # of the place, from where x is 0
        self.end = begin + held.length

    def bounds(self) -> list[Bound]:
        """Every inequality; the largest of the near ones and the smallest of the far ones hold."""
        found = [Bound(NEAR, TAIL, made.name, self._tail(made)) for made in self.stock]
        found += [Bound(FAR, DUE, made.name, self._late(made)) for made in self.stock]
        for made in self.stock:
            for held in self.stock:
                if held is made:
                    continue
                found += [
                    Bound(FAR, INTO, made.name, self._into(made, held)),
                    Bound(FAR, THROUGH, made.name, self._through(made, held)),
                ]
                for third in self.stock:
                    if third not in (made, held):
                        found.append(Bound(NEAR, EARLY, made.name, self._early(made, held, third)))
        return [bound for bound in found if math.isfinite(bound.mm)]

    def limits(self) -> tuple[Bound, Bound]:
        """The two that hold: at least, at most."""
        bounds = self.bounds()
        near = max((b for b in bounds if b.side == NEAR), key=lambda b: b.mm)
        return near, min((b for b in bounds if b.side == FAR), key=lambda b: b.mm)

    # -- one inequality each --------------------------------------------------------------------------------

    def _tail(self, made: Makeup) -> float:
        """x >= L - f + z/2."""
        first = made.magnets[0]
        return made.length - first.from_nose + first.operating[1] / 2

    def _stand(self, made: Makeup, which: int) -> float:
        """A nose that stands in the siding, from where x is 0 (so below 0): the rearmost, the foremost."""
        found = []
        for i in self.siding:
            length = self.ground.lengths[self.ground.track.name(i)]
            cut = self.ground.spots.get(length.cut_by.text) if length.cut_by else None
            delay = self.times[cut.name].delay_s if cut else (0.0, 0.0)
            x = cut.from_gap if cut else None
            place = Place(length.name, length.live, length.dead_end or 0.0, length.fouling_point, x, delay)
            here = [s.from_gap for s in self.ground.spots.values() if s.place and s.place.text == length.name]
            noses = [*standing.noses(made, place), *standing.marks(made, place, here)]
            back = self.ground.way_mm((i, length.live), self.origin)
            found += [nose - back for nose in noses]
        return min(found) if which == 0 else max(found)

    def _late(self, made: Makeup) -> float:
        """Thrown, run from the rearmost stand, confirmed: in `due`. x <= what is run then - f + z/2."""
        turnouts = list(range(len(self.compiled.layout.turnouts)))
        thrown_s = throw_time(self.compiled.plan, turnouts, False).total_ms / 1000
        left_s = self.due - thrown_s - self.times[self.parts.sensor].hit_s - self.switching_s
        first = made.magnets[0]
        ran = _ran_mm(made, left_s)
        return self._stand(made, 0) + ran - first.from_nose + first.operating[0] / 2

    def _held_nose(self, made: Makeup, which: int) -> float:
        noses = [*standing.noses(made, self.held), standing.marks(made, self.held, [])[which]]
        return self.gap + (min(noses) if which == 0 else max(noses))

    def _let_go_s(self) -> float:
        """From the closing to the held train moving."""
        return self.times[self.parts.sensor].hit_s + self.let_out + self.switching_s

    def _clear_s(self, held: Makeup) -> float:
        """From the closing to the place being dead again behind the held train."""
        there = self.ground.way_mm(self.origin, self.ground.sensors[self.parts.clears])
        first = held.magnets[0]
        way = there + first.from_nose - first.operating[0] / 2 - self._held_nose(held, 0)
        ran_s = run_s(held, way, from_stand=True)[1]
        return self._let_go_s() + min(ran_s + self.times[self.parts.clears].hit_s, self.open + SCAN_MS / 1000)

    def _into(self, made: Makeup, held: Makeup) -> float:
        """Its nose stays behind the tail of the held train: when that starts, and until it stands itself."""
        first, v = made.magnets[0], made.train.speed[1]
        ahead = first.from_nose - first.operating[0] / 2
        tail = self._held_nose(held, 0) - held.length
        let_go_s, w = self._let_go_s(), held.train.speed[0]
        found = tail - ahead - v * let_go_s
        if v > w:
            run_on = made.train.coasts()[1].distance_mm(v)
            stop = self.gap + made.last_pick_up  # its nose when its last pick-up is beyond the gap
            # tail + w ((stop - x - ahead) / v - let_go_s) >= stop + run_on
            found = min(found, stop - ahead - v * (let_go_s + (stop + run_on - tail) / w))
        return found

    def _through(self, made: Makeup, held: Makeup) -> float:
        """Its first pick-up is still in the dead end when that has gone dead."""
        first, v = made.magnets[0], made.train.speed[1]
        ahead = first.from_nose - first.operating[0] / 2
        run_on = made.train.coasts()[1].distance_mm(v)
        return self.end + made.first_pick_up - run_on - ahead - v * self._clear_s(held)

    def _early(self, made: Makeup, held: Makeup, third: Makeup) -> float:
        """It is at the gap before the place that was opened for it is dead again."""
        first = made.magnets[0]
        to_gap = self.gap + made.last_pick_up - first.from_nose + first.operating[1] / 2
        v, u = made.train.speed[0], third.train.speed[1]
        home = self._home_mm(held)
        next_first = third.magnets[0]
        out = next_first.from_nose - next_first.operating[1] / 2 - self._stand(third, 1)
        open_s = 2 * self.let_out + self.open + run_s(held, home)[0] + out / u
        return (to_gap / v - open_s) / (1 / v + 1 / u)

    def _home_mm(self, held: Makeup) -> float:
        """From where it was held to its hit in the siding, at least."""
        place = (self.ground.track.number[self.parts.place], self.held.live)
        first = held.magnets[0]
        ways = []
        for i in self.siding:
            for name in self.ground.track.sensors(i):
                ways.append(self.ground.way_mm(place, self.ground.sensors[name]))
        nose = self._held_nose(held, 1) - self.gap
        return min(ways) + first.from_nose - first.operating[1] / 2 - nose


def _ran_mm(made: Makeup, seconds: float) -> float:
    """How far a train comes from rest at its slowest."""
    low, rate = made.train.speed[0], made.train.acceleration
    if seconds <= 0 or math.isinf(seconds):
        return seconds * low
    rise_s = 0.0 if math.isinf(rate) else low / rate
    if seconds <= rise_s:
        return rate * seconds * seconds / 2
    return low * (seconds - rise_s / 2)
