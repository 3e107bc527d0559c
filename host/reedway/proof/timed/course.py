"""How one train goes: what happens to it next, and between which ticks.

All distances are of its nose, in mm from where the section that the nose is in begins. What is ahead of a
train are marks: a sensor that its magnet will close, the gap at which its last powered pick-up comes into a
dead end, the far end of that, the end of a section that its tail will leave, the end of the section ahead.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from reedway.proof.timed.clock import NEAR, Clock, Ticks
from reedway.proof.timed.rails import SCAN_MS, Rails
from reedway.trains.kinematics import Start
from reedway.trains.makeup import Makeup
from reedway.trains.times import RELAY_RELEASE_MS

HIT, GAP, OFF, LEAVE, ENTER = "hit", "gap", "off", "leave", "enter"
ORDER = (LEAVE, GAP, OFF, HIT, ENTER)


@dataclass(frozen=True)
class Mark:
    """Something that happens when the nose is between `low` and `high`, and `late_s` after that."""

    low: float
    high: float
    kind: str
    section: int
    number: int = -1  # sensor
    late_s: tuple[float, float] = (0.0, 0.0)
    hashed: int = field(init=False, repr=False, compare=False)  # worked out once: these are keys of tables

    def __post_init__(self) -> None:
        object.__setattr__(self, "hashed", hash((self.low, self.high, self.kind, self.section, self.number)))

    def __hash__(self) -> int:
        return self.hashed

    def shifted(self, by: float) -> Mark:
        return replace(self, low=_mm(self.low + by), high=_mm(self.high + by))


@dataclass(frozen=True)
class Spot:
    """Where a train is: the last mark it has passed and those that are ahead."""

    head: int  # section that its nose is in
    last: Mark
    ahead: tuple[Mark, ...]
    hashed: int = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "hashed", hash((self.head, self.last, self.ahead)))

    def __hash__(self) -> int:
        return self.hashed

    @property
    def covers(self) -> int:
        """Sections it stands in, a bit each."""
        return sum(1 << mark.section for mark in self.ahead if mark.kind == LEAVE)

    @property
    def dead_end(self) -> int:
        """The place in whose dead end all its pick-ups are, or -1."""
        gaps = {mark.section for mark in self.ahead if mark.kind == GAP}
        ends = [mark.section for mark in self.ahead if mark.kind == OFF and mark.section not in gaps]
        return ends[0] if ends else -1


def _mm(value: float) -> float:
    return round(value, 4)


class Course:
    """The spots of one train."""

    def __init__(self, rails: Rails, made: Makeup) -> None:
        self.rails = rails
        self.made = made
        self.clock: Clock = rails.clock
        self.slow, self.fast = made.train.speed
        short, long = made.train.coasts()
        switching_s = (SCAN_MS + RELAY_RELEASE_MS) / 1000  # until a feed is dead, or live
        self.run_on = (
            min(short.distance_mm(self.slow), short.distance_mm(self.fast)),
            max(long.distance_mm(self.slow), long.distance_mm(self.fast)) + self.fast * switching_s,
        )
        coast_s = max(long.time_s(self.slow), long.time_s(self.fast)) + switching_s
        self.coast: Ticks = self.clock.ticks(0.0, coast_s)
        self.start_s = switching_s
        self.magnet = made.magnets[0] if made.magnets else None
        self.is_even = self.slow == self.fast and math.isinf(made.train.acceleration)

    # -- marks ------------------------------------------------------------------------------------------

    def _marks(self, section: int) -> list[Mark]:
        """What a train has ahead that comes into a section, its nose at 0."""
        stretch = self.rails.stretches[section]
        length = stretch.length
        found = [Mark(length, length, ENTER, section)]
        tail = _mm(length + self.made.length)
        found.append(Mark(tail, tail, LEAVE, section))
        if stretch.gap is not None:
            gap, off = _mm(stretch.gap + self.made.last_pick_up), _mm(length + self.made.first_pick_up)
            found += [Mark(gap, gap, GAP, section), Mark(off, off, OFF, section)]
        if self.magnet is not None:
            narrow, wide = self.magnet.operating
            for number, at in stretch.sensors:
                low = _mm(at + self.magnet.from_nose - wide / 2)
                high = _mm(at + self.magnet.from_nose - narrow / 2)
                found.append(Mark(low, high, HIT, section, number, self.rails.delay_s[number]))
        return found

    @staticmethod
    def _sorted(marks: list[Mark]) -> tuple[Mark, ...]:
        return tuple(sorted(marks, key=lambda m: (m.low, m.high, ORDER.index(m.kind), m.section, m.number)))

    def standing(self, section: int) -> Spot:
        """A train set on in a place, where `plan` says that it may be."""
        stretch = self.rails.stretches[section]
        assert stretch.gap is not None
        low = max(stretch.gap + self.made.last_pick_up, self.made.length)
        high = max(low, stretch.mark)
        marks = [mark for mark in self._marks(section) if mark.kind != GAP]
        clear = self.magnet.operating[1] / 2 + self.magnet.from_nose if self.magnet else 0.0
        low = max([low, *(at + clear for _, at in stretch.sensors if at + clear <= high)])
        marks = [mark for mark in marks if mark.kind != HIT or mark.low >= high]
        return Spot(section, Mark(_mm(low), _mm(high), GAP, section), self._sorted(marks))

    def enter(self, spot: Spot, mark: Mark, target: int) -> Spot:
        """The nose comes into the next section."""
        by = -self.rails.stretches[spot.head].length
        ahead = [other.shifted(by) for other in spot.ahead if other is not mark]
        return Spot(target, mark.shifted(by), self._sorted(ahead + self._marks(target)))

    @staticmethod
    def passed(spot: Spot, mark: Mark) -> Spot:
        """Any other mark is behind it."""
        return Spot(spot.head, mark, tuple(other for other in spot.ahead if other is not mark))

    @staticmethod
    def stopped(spot: Spot, low: float, high: float) -> Spot:
        """It has come to stand with its nose between these."""
        return Spot(spot.head, Mark(_mm(low), _mm(high), "stand", spot.head), spot.ahead)

    # -- times ------------------------------------------------------------------------------------------

    def next_marks(self, spot: Spot) -> list[Mark]:
        """Those of the marks ahead that may come first: no other certainly comes before."""
        found = []
        for mark in spot.ahead:
            if not any(self._comes_before(other, mark) for other in spot.ahead if other is not mark):
                found.append(mark)
        return found

    def _comes_before(self, one: Mark, other: Mark) -> bool:
        """Is `one` over before `other` can be? Of two at one spot the order is theirs in the list.

        What begins after `other` is never certainly before it, however late that counts: the train may slow
        down or stand in between.
        """
        if one.low == one.high == other.low == other.high and one.late_s == other.late_s:
            return ORDER.index(one.kind) < ORDER.index(other.kind)
        way = other.low - one.high
        if way < 0 or (one.low, one.high) == (other.low, other.high):
            return False
        return way / self.fast + other.late_s[0] - one.late_s[1] >= -NEAR

    def ticks(self, spot: Spot, mark: Mark, starts: bool = False, rolled: float = 0.0) -> Ticks:
        """From the last mark to this one. `starts`: from a stand, from which it may have `rolled` so far."""
        low, high = self.seconds(spot, mark, starts, rolled)
        return self.clock.ticks(low, high)

    def seconds(
        self, spot: Spot, mark: Mark, starts: bool = False, rolled: float = 0.0
    ) -> tuple[float, float]:
        """The same in seconds: least and most."""
        last = spot.last
        near, far = mark.low - last.high - rolled, mark.high - last.low
        low = self._time_s(max(0.0, near), self.fast, 0.0 if starts else math.inf)
        high = self._time_s(max(0.0, far), self.slow, 0.0 if starts else self._since_stand(spot))
        low += mark.late_s[0] - last.late_s[1]
        high += mark.late_s[1] - last.late_s[0]
        if starts:
            high += self.start_s
        return max(0.0, low), max(0.0, high)

    def _time_s(self, way: float, top: float, since: float) -> float:
        """How long it takes for `way`, having come `since` from a stand."""
        if math.isinf(since) or math.isinf(self.made.train.acceleration):
            return way / top
        run = Start(0.0, self.made.train.acceleration, top)
        return run.time_s(since + way) - run.time_s(since)

    def _since_stand(self, spot: Spot) -> float:
        """How far it has come at least since it may have stood: 0 in a dead end, else from its far end on."""
        if spot.dead_end >= 0:
            return 0.0
        ends = [
            mark.low - self.made.length + self.made.first_pick_up
            for mark in spot.ahead
            if mark.kind == LEAVE and self.rails.stretches[mark.section].gap is not None
        ]
        behind = [spot.last.low - end for end in ends if end <= spot.last.low]
        return min(behind, default=self.made.length)

    def coasts_to(self, spot: Spot, mark: Mark) -> bool:
        """Can it come to this mark after its feed is cut at the last one?"""
        return mark.low - spot.last.high <= self.run_on[1]

    def slide(self) -> Ticks:
        """Ticks that running on takes off the way that is left, least and most. For an even train only."""
        low, _ = self.clock.ticks(self.run_on[0] / self.fast, 0.0)
        _, high = self.clock.ticks(0.0, self.run_on[1] / self.slow)
        return low, high
