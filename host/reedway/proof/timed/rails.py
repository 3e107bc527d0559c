"""The track in millimetres for a proof against the clock, and the delay between a closing and its hit."""

from __future__ import annotations

from dataclasses import dataclass

from reedway.boardfile.compile import Compiled
from reedway.layout.model import Layout
from reedway.problems import ReedwayError
from reedway.proof.timed.clock import Clock
from reedway.track.measured import Measured
from reedway.trains.commands import worked_out
from reedway.trains.kinematics import NEVER
from reedway.trains.makeup import Makeup, make_up
from reedway.trains.times import SCAN_MS, times_of


@dataclass(frozen=True)
class Stretch:
    """One section by numbers, in mm from where it begins."""

    name: str
    length: float
    sensors: tuple[tuple[int, float], ...]  # input, where
    gap: float | None  # of a place: where its dead end begins
    mark: float  # of a place: what no nose may pass when a train is set on


class Rails:
    """Every section by numbers, in the order of track:. ReedwayError where something is not written.

    `moved`: sensors that are tried so many mm farther on than the file says, into the next section perhaps.
    """

    def __init__(self, compiled: Compiled, clock: Clock, moved: dict[str, float] | None = None) -> None:
        layout = compiled.layout
        self.clock = clock
        measured = Measured(layout)
        if measured.missing:
            raise ReedwayError(
                f"{layout.path}: for a proof against the clock these are not written yet: "
                f"{', '.join(measured.missing)}; hardware/trains.md says how to measure them"
            )
        inputs = {item.name: item.index for item in compiled.numbering.inputs}
        self.delay_s = {}  # of each sensor by input: from closing to hit, least and most
        for sensor in layout.sensors:
            times = times_of(layout, compiled, sensor)
            self.delay_s[inputs[sensor.name]] = (times.confirm_s, times.hit_s)
        sensors = measured.moved(moved or {})
        self.stretches = []
        for one, there in zip(measured.stretches, sensors, strict=True):
            found = tuple((inputs[name], at) for name, at in there)
            self.stretches.append(Stretch(one.name, one.length, found, one.gap, one.mark))


def trains_of(layout: Layout) -> list[Makeup]:
    """The declared trains by numbers; ReedwayError for one that cannot be proved against the clock."""
    known = worked_out(layout)
    for train in layout.stock.trains:
        if train.when_cut == NEVER:
            raise ReedwayError(
                f"{layout.path}:{train.line}: train {train.name} never stops when its feed is cut; "
                "no block can hold it, so there is nothing to prove"
            )
    return [make_up(layout.stock, train, known) for train in layout.stock.trains]


__all__ = ["SCAN_MS", "Rails", "Stretch", "trains_of"]
