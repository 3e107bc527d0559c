"""When has the slowest train surely come? For hits that count only then (due_hits: by running time)."""

from __future__ import annotations

import math
from dataclasses import dataclass

from reedway.layout.model import Layout
from reedway.track.legs import Leg, Legs, Point
from reedway.track.measured import Measured
from reedway.trains.kinematics import Start
from reedway.trains.makeup import Makeup

ROUND_MS = 100  # times of derived timers are whole tenths of a second, rounded up
SWITCHING_MS = 50  # a scan, and a relay that pulls in or lets go (electrics/parts.py: RELAY_RELEASE_MS)
OPERATE_MS = 2  # a reed closes and stops bouncing, and a scan


@dataclass(frozen=True)
class DueTime:
    """The longest time from being sent until the hit, and where the train may still have to start."""

    time_ms: int
    places: tuple[int, ...]
    train: str  # who takes so long
    way_mm: float


class DueTimes:
    """Of every point of a layout's legs."""

    def __init__(self, layout: Layout, legs: Legs, measured: Measured, stock: list[Makeup]) -> None:
        self.layout = layout
        self.legs = legs
        self.track = legs.track
        self.stretches = measured.stretches
        self.stock = stock
        self.throw_ms = throw_ms_max(layout)

    def of(self, point: Point) -> DueTime:
        """Over all ways to the point and all trains."""
        found = []
        for leg in self.legs.all:
            if point in leg.points:
                found += [self._of(leg, point, made) for made in self.stock]
        return max(found, key=lambda due: due.time_ms)

    def _of(self, leg: Leg, point: Point, made: Makeup) -> DueTime:
        left, places = self._still_to_go(leg.start, made, ())
        way = left + self._way(leg, point.sensor, made)
        places = tuple(dict.fromkeys((*places, *leg.passes)))
        slow = made.train.speed[0]
        time_s = way / slow
        if not math.isinf(made.train.acceleration):
            time_s = Start(0.0, made.train.acceleration, slow).time_s(way)
            time_s += (len(places) - 1) * slow / (2 * made.train.acceleration)
        time_s += len(places) * made.train.coasts()[1].time_s(slow)  # it was still coming to a stand
        confirm_ms = self.track.sensor_of[point.sensor].confirm_ms
        time_ms = 1000 * time_s + self.throw_ms + SWITCHING_MS + OPERATE_MS + confirm_ms
        rounded = ROUND_MS * math.ceil(time_ms / ROUND_MS)
        return DueTime(rounded, places, made.name, way)

    def _way(self, leg: Leg, sensor: str, made: Makeup) -> float:
        """From the far end of its start to where the nose is at the hit, at the latest."""
        way = 0.0
        for section in leg.sections:
            at = dict(self.stretches[section].sensors)
            if sensor in at:
                return way + at[sensor] + self._nose(made, latest=True)
            way += self.stretches[section].length
        return way

    @staticmethod
    def _nose(made: Makeup, latest: bool) -> float:
        """How far ahead of a sensor the nose is at the hit."""
        if not made.magnets:
            return 0.0
        first = made.magnets[0]
        return first.from_nose - first.operating[0 if latest else 1] / 2

    def _still_to_go(self, place: int, made: Makeup, seen: tuple[int, ...]) -> tuple[float, tuple[int, ...]]:
        """How far the nose may be from the far end of a place when its train is sent on; where it may stand.

        A place without a sensor of its own sends its train on while that is still on its way.
        """
        stretch = self.stretches[place]
        arrives = [point.sensor for leg in self.legs.into(place) for point in leg.points if point.arrives]
        here = max(0.0, stretch.length - max(made.length, (stretch.gap or 0.0) + made.last_pick_up))
        at = dict(stretch.sensors)
        ways = [stretch.length - at[name] - self._nose(made, latest=False) for name in arrives]
        if arrives or place in seen:
            return max([here, *ways]), (place,)
        before = [
            (sum(self.stretches[i].length for i in leg.sections) + left, (*places, place))
            for leg in self.legs.into(place)
            for left, places in [self._still_to_go(leg.start, made, (*seen, place))]
        ]
        longest = max([left for left, _ in before] + [here])
        all_places = [one for _, places in before for one in places]
        return longest, tuple(dict.fromkeys([*all_places, place]))


def throw_ms_max(layout: Layout) -> int:
    """All turnouts of the layout one after the other, when a pulse has just begun."""
    from reedway.boardfile.plan import ONE_SHOT_REST  # the compiler needs derived rules: only when it runs

    supplies = {supply.name: supply for supply in layout.supplies}
    longest = max((t.pulse_ms + t.relay_operate_ms for t in layout.turnouts), default=0)
    pause_ms = max(layout.coil_pause_ms, ONE_SHOT_REST * longest + layout.late_ms + 1)
    total = rest = 0
    for turnout in layout.turnouts:
        supply = supplies.get(turnout.supply.text) if turnout.supply is not None else None
        lead_ms, trail_ms, recharge_ms = (
            (supply.lead_ms, supply.trail_ms, supply.recharge_ms) if supply is not None else (0, 0, 0)
        )
        contact_ms = turnout.contact_wait_ms if turnout.contact_first or turnout.contact_second else 0
        total += lead_ms + turnout.pulse_ms + turnout.relay_operate_ms + contact_ms
        rest = max(rest, pause_ms, trail_ms, recharge_ms)
    return total + longest + rest * len(layout.turnouts)
