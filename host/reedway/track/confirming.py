"""Running-time confirmation: a hit that is due counts only when the slowest train would have come.

So a hit that no train has made does no harm within the declared speeds: it is only noted until the train
has surely come. A hit that is missed still stops the trains behind. The price is waiting: a fast train is
taken to have come no sooner than the slowest.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from reedway.layout.model import Layout, Timer
from reedway.problems import Complaint
from reedway.track.duetimes import DueTimes
from reedway.track.legs import Legs, Point
from reedway.track.measured import Measured

if TYPE_CHECKING:
    from reedway.track.derive import Deriver


def due_times(layout: Layout, legs: Legs) -> tuple[DueTimes | None, list[Complaint]]:
    """The times, or what they need and is not written."""
    from reedway.trains.commands import worked_out  # it needs a layout that is read
    from reedway.trains.makeup import make_up

    measured = Measured(layout)
    if measured.missing:
        line = layout.track[0].line
        text = (
            f"due_hits: by running time needs what is not written yet: {', '.join(measured.missing)}; "
            "hardware/trains.md says how to measure it"
        )
        return None, [Complaint(layout.path, line, text)]
    known = worked_out(layout)
    stock = [make_up(layout.stock, train, known) for train in layout.stock.trains]
    return DueTimes(layout, legs, measured, stock), []


class Confirming:
    """The rules of the points of one layout. `timers` are added to the layout."""

    def __init__(self, deriver: Deriver, times: DueTimes) -> None:
        self.deriver = deriver
        self.times = times
        self.track = deriver.track
        self.timers: list[Timer] = []
        self._names: dict[Point, str] = {}

    def timer(self, point: Point) -> str:
        """The timer that runs while the slowest train may not have come; made the first time."""
        if point not in self._names:
            name = self.deriver.unique(f"{self.deriver.due(point)} time")
            self._names[point] = name
            self.timers.append(Timer(name, self.deriver.line, self.times.of(point).time_ms))
        return self._names[point]

    def rules(self, point: Point, acts: list[str], why: str) -> None:
        """What a hit at this point does."""
        rule = self.deriver.rule
        due, timer = self.deriver.due(point), self.timer(point)
        came = self.deriver.relay(("came", point), f"{point.sensor} came")
        of = self.times.of(point)
        slowest = f"the {of.train}, the slowest, takes {of.time_ms / 1000:g} s for {of.way_mm / 1000:.2f} m"
        held = [self.track.name(i) for i in of.places if self.track.block(i)]
        free = [f"{place} not held" for place in held]
        rule(
            f"{point.sensor} hit",
            [f"{due} in", f"{timer} running"],
            [f"pull in {came}"],
            f"a train is due here; it counts only when the slowest would have come ({slowest})",
        )
        rule(f"{point.sensor} hit", [f"{due} in", f"{timer} not running"], acts, why)
        rule(f"{timer} runs out", [f"{due} in", f"{came} in", *free], [*acts, f"drop out {came}"], why)
        again = [f"restart {timer}"]
        for place in held:
            reason = f"held in {place}, the train has not set out yet"
            rule(f"{timer} runs out", [f"{due} in", f"{place} held"], again, reason)
            rule(f"{place} let go", [f"{due} in"], again, f"a train that was held in {place} sets out now")
        for event in ("go on", "acknowledge"):
            rule(event, [f"{due} in"], again, "while everything was at stop the train did not come")
