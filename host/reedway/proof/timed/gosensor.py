"""The go sensor by running times, on paper: from where to where it may stand (text: hardware/trains.md).

Everything here is lengths over speeds, written without the search and its marks, so that the window that
`prove --timed` finds can be compared with it. With a clock each leg is rounded outward as the proof does it,
then both are equal; without one it is the window in real times.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import permutations

from reedlogic import words as w
from reedway.boardfile.compile import Compiled
from reedway.problems import ReedwayError
from reedway.proof.timed.clock import NEAR, Clock
from reedway.proof.timed.rails import Rails, trains_of
from reedway.trains.makeup import Makeup
from reedway.trains.times import RELAY_RELEASE_MS, SCAN_MS

Pass = tuple[float, float, float, float]  # nose from, to; late from, to (s)
TAIL = "the last car is still in {} when the hit says that it has left it"
TOO_NEAR = "the next train comes into {} before the last car of the one ahead has left it"
TOO_FAR = "the train comes to {} before the last car of the held one has left it"
TOO_LATE = "the train comes to the go sensor after the timer {} has run out, and all stop"


@dataclass(frozen=True)
class Roles:
    """What is what in a layout with a go sensor, by name. `way`: its sections from behind the siding on."""

    sensor: str
    way: tuple[str, ...]  # exit, line, valley, Mill Halt, home, entry
    track: str  # a track of the siding
    held: str  # the place before which nobody may be when the next one comes
    stretch: str  # the section that the next train must find empty
    let_out: str
    watch: str


@dataclass(frozen=True)
class Bound:
    """The sensor may be no nearer, or no farther, than `at_mm` beyond the first section of the way."""

    at_mm: float
    why: str
    trains: tuple[str, ...]  # ahead, held, next


class GoSensor:
    """The inequalities of one layout."""

    def __init__(self, compiled: Compiled, roles: Roles, clock: Clock | None) -> None:
        self.roles = roles
        self.clock = clock
        rails = Rails(compiled, clock or Clock(1))
        self.stretch = {one.name: one for one in rails.stretches}
        self.inputs = {item.name: item.index for item in compiled.numbering.inputs}
        self.late_s = rails.delay_s[self.inputs[roles.sensor]]
        self.made = trains_of(compiled.layout)
        sensor = next(one for one in compiled.layout.sensors if one.name == roles.sensor)
        self.clear_of = [text.text for text in sensor.tail_clear_of if text.text in roles.way]
        if any(not math.isinf(made.train.acceleration) for made in self.made):
            raise ReedwayError("the inequalities are for trains that are at their speed at once")
        times = {timer.name: timer.time_ms / 1000 for timer in compiled.layout.timers}
        self.let_out_s, self.watch_s = times[roles.let_out], times[roles.watch]
        pulse_ms = [row[2] for row in compiled.plan[w.PLAN_TURNOUTS]]
        recharge_ms = [compiled.plan[w.PLAN_SUPPLIES][row[3]][0] for row in compiled.plan[w.PLAN_TURNOUTS]]
        self.throws_s = [pulse_ms[0] / 1000, recharge_ms[0] / 1000, pulse_ms[1] / 1000]
        # Where each section of the way begins, in mm from the far end of the siding.
        self.begins: dict[str, float] = {}
        at = 0.0
        for name in (*roles.way, roles.track):
            self.begins[name] = at
            at += self.stretch[name].length

    # -- times ------------------------------------------------------------------------------------------

    def _low(self, time_s: float) -> float:
        if self.clock is None:
            return max(0.0, time_s)
        tick = self.clock.tick_ms / 1000
        return max(0, math.floor(time_s / tick + NEAR)) * tick

    def _high(self, time_s: float) -> float:
        if self.clock is None:
            return max(0.0, time_s)
        tick = self.clock.tick_ms / 1000
        return max(0, math.ceil(time_s / tick - NEAR)) * tick

    def _passes(self, made: Makeup, spot_mm: float) -> list[Pass]:
        """All that happens to a train on its way, by where its nose is."""
        found: list[Pass] = []
        for name, begins in self.begins.items():
            one = self.stretch[name]
            end = begins + one.length
            found += [(at, at, 0.0, 0.0) for at in (begins, begins + made.length)]
            if one.gap is not None:
                gap, off = begins + one.gap + made.last_pick_up, end + made.first_pick_up
                found += [(at, at, 0.0, 0.0) for at in (gap, off)]
            for number, at in one.sensors:
                if number != self.inputs[self.roles.sensor]:
                    found.append(self._hit(made, begins + at))
        # The siding behind: its tail and its pick-ups leave it.
        found += [(at, at, 0.0, 0.0) for at in (made.first_pick_up, made.length)]
        found.append(self._hit(made, self.begins[self.roles.way[1]] + spot_mm))
        return sorted(set(found))

    def _hit(self, made: Makeup, at: float) -> Pass:
        magnet = made.magnets[0]
        narrow, wide = magnet.operating
        ahead = at + magnet.from_nose
        return (ahead - wide / 2, ahead - narrow / 2, *self.late_s)

    def _run(self, made: Makeup, start: Pass, end: Pass, spot_mm: float, slowest: bool) -> float:
        """The shortest, or the longest, time from one to the other, leg by leg."""
        between = [one for one in self._passes(made, spot_mm) if start[1] < one[0] and one[1] < end[0]]
        slow, fast = made.train.speed
        total, last = 0.0, start
        for one in [*between, end]:
            if slowest:
                total += self._high(
                    (one[1] - last[0]) / slow + one[3] - last[2] + self._starting(last, start)
                )
            else:
                total += self._low((one[0] - last[1]) / fast + one[2] - last[3])
            last = one
        return total

    @staticmethod
    def _starting(last: Pass, start: Pass) -> float:
        stands = start[2] == start[3] == 0.0 and last is start
        return (SCAN_MS + RELAY_RELEASE_MS) / 1000 if stands else 0.0

    def _set_on(self, made: Makeup, place: str, end: float) -> Pass:
        """Where the nose of a train may be that is set on, its place ending at `end`."""
        one = self.stretch[place]
        assert one.gap is not None
        clear = made.magnets[0].from_nose + made.magnets[0].operating[1] / 2
        low = max([one.gap + made.last_pick_up, made.length, *(at + clear for _, at in one.sensors)])
        return (end - one.length + low, end - one.length + one.mark, 0.0, 0.0)

    # -- the inequalities ---------------------------------------------------------------------------------

    def holds_tail(self, spot_mm: float, made: Makeup) -> bool:
        """The whole train has left what its hit says it has left, when the sensor closes already.

        One train's own, so no tick rounds it; and it may stand before the hit is confirmed.
        """
        closes = self._hit(made, self.begins[self.roles.way[1]] + spot_mm)[0]
        ends = [self.begins[name] + self.stretch[name].length for name in self.clear_of]
        return closes - max(ends, default=-math.inf) - made.length >= 0

    def holds_near(self, spot_mm: float, ahead: Makeup, held: Makeup, following: Makeup) -> bool:
        """The one ahead is out of the stretch before the next one comes into it.

        Both count from the hit of the one ahead: the held one is let out, runs home and sends the next one.
        """
        roles = self.roles
        stretch = self.begins[roles.stretch]
        out = stretch + self.stretch[roles.stretch].length + ahead.length
        hit = self._hit(ahead, self.begins[roles.way[1]] + spot_mm)
        leaves_s = self._run(ahead, hit, (out, out, 0.0, 0.0), spot_mm, slowest=True)
        place = self.stretch[roles.held]
        stands = self._set_on(held, roles.held, self.begins[roles.held] + place.length)
        home = self._hit(held, self.begins[roles.track] + self.stretch[roles.track].sensors[0][1])
        comes_s = self._low(self.let_out_s) + self._run(held, stands, home, spot_mm, slowest=False)
        waits = self._set_on(following, roles.track, 0.0)
        comes_s += self._run(following, waits, (stretch, stretch, 0.0, 0.0), spot_mm, slowest=False)
        return leaves_s < comes_s - NEAR

    def holds_far(self, spot_mm: float, ahead: Makeup, held: Makeup) -> bool:
        """The held one is out of its place before the one that let it out comes there."""
        place = self.begins[self.roles.held]
        end = place + self.stretch[self.roles.held].length
        stands, out = self._set_on(held, self.roles.held, end), end + held.length
        leaves_s = self._high(self.let_out_s) + self._run(held, stands, (out, out, 0.0, 0.0), spot_mm, True)
        hit = self._hit(ahead, self.begins[self.roles.way[1]] + spot_mm)
        comes_s = self._run(ahead, hit, (place, place, 0.0, 0.0), spot_mm, slowest=False)
        return leaves_s < comes_s - NEAR

    def holds_watch(self, spot_mm: float, ahead: Makeup) -> bool:
        """From the start order the train is at the go sensor before the watch runs out."""
        hit = self._hit(ahead, self.begins[self.roles.way[1]] + spot_mm)
        exit_s, rest_s, entry_s = self.throws_s
        sets_out_s = self._high(exit_s + rest_s) + self._high(entry_s)
        comes_s = sets_out_s + self._run(
            ahead, self._set_on(ahead, self.roles.track, 0.0), hit, spot_mm, slowest=True
        )
        return comes_s < self._low(self.watch_s) - NEAR

    def window(self, from_mm: int, to_mm: int) -> tuple[Bound, Bound]:
        """The least and the greatest whole mm in this range at which everything holds, and what sets them."""
        orders = list(permutations(self.made, 3))
        roles = self.roles
        near_why, far_why = TOO_NEAR.format(roles.stretch), TOO_FAR.format(roles.held)
        watch_why = TOO_LATE.format(roles.watch)
        near = self._bound(((near_why, o, o) for o in orders), self.holds_near, from_mm, to_mm, 1)
        tail_why = TAIL.format(" and ".join(self.clear_of))
        tail = self._bound(((tail_why, o[:1], o) for o in orders), self.holds_tail, from_mm, to_mm, 1)
        far = self._bound(((far_why, o[:2], o) for o in orders), self.holds_far, to_mm, from_mm, -1)
        watch = self._bound(((watch_why, o[:1], o) for o in orders), self.holds_watch, to_mm, from_mm, -1)
        near = max(near, tail, key=lambda bound: bound.at_mm)
        return near, min(far, watch, key=lambda bound: bound.at_mm)

    @staticmethod
    def _bound(
        cases: Iterable[tuple[str, tuple[Makeup, ...], tuple[Makeup, ...]]],
        holds: Callable[..., bool],
        first: int,
        last: int,
        step: int,
    ) -> Bound:
        """From `first` on the first mm at which an inequality holds for all, and for whom it holds last."""
        found: Bound | None = None
        for why, args, order in cases:
            low, high = first, last  # fails at low, holds at high
            if holds(low, *args):
                high = low
            while abs(high - low) > 1:
                middle = (low + high) // 2
                low, high = (low, middle) if holds(middle, *args) else (middle, high)
            if found is None or (high - found.at_mm) * step > 0:
                found = Bound(high, why, tuple(made.name for made in order))
        assert found is not None
        return found
