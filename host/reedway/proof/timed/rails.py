"""The track in millimetres: how long each section is, where its sensors are, where its dead end begins."""

from __future__ import annotations

from dataclasses import dataclass

from reedway.boardfile.compile import Compiled
from reedway.layout.model import Layout
from reedway.problems import ReedwayError
from reedway.proof.timed.clock import Clock
from reedway.trains.commands import worked_out
from reedway.trains.kinematics import NEVER
from reedway.trains.makeup import Makeup, make_up
from reedway.trains.model import Spot
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
    """Every section by numbers, and the delay between a closing and its hit. ReedwayError where a length
    or spot that is needed is not written."""

    def __init__(self, compiled: Compiled, clock: Clock) -> None:
        layout = compiled.layout
        self.layout = layout
        self.clock = clock
        self.lengths = {length.name: length for length in layout.stock.lengths}
        self.spots = {spot.name: spot for spot in layout.stock.spots}
        self.before = {
            target.text: section.name for section in layout.track for target in section.to
        }  # the last one that leads there
        self.missing: list[str] = []
        self.inputs = {item.name: item.index for item in compiled.numbering.inputs}
        self.delay_s = {}  # of each sensor by input: from closing to hit
        for sensor in layout.sensors:
            times = times_of(layout, compiled, sensor)
            self.delay_s[self.inputs[sensor.name]] = (times.confirm_s, times.hit_s)
        self.stretches = [self._stretch(section.name) for section in layout.track]
        if not layout.stock.trains:
            self.missing.append("the trains (trains:)")
        if self.missing:
            raise ReedwayError(
                f"{layout.path}: for a proof against the clock these are not written yet: "
                f"{', '.join(dict.fromkeys(self.missing))}; hardware/trains.md says how to measure them"
            )

    def _stretch(self, name: str) -> Stretch:
        layout, length = self.layout, self.lengths.get(name)
        if length is None:
            self.missing.append(f"the length of {name} (lengths:)")
            return Stretch(name, 1.0, (), None, 1.0)
        is_place = any(place.name == name for place in layout.places)
        if is_place and length.dead_end is None:
            self.missing.append(f"the dead end of {name} (dead_end: under lengths)")
        section = next(one for one in layout.track if one.name == name)
        found = []
        names = [section.entrance] if section.entrance is not None else []
        for text in [*names, *section.sensors]:
            at = self._where(name, text.text, text is section.entrance)
            if not 0 <= at <= length.length:
                raise ReedwayError(
                    f"{layout.path}:{self.spots[text.text].line}: spot {text}: {at:g} mm from where {name} "
                    f"begins is not in it; allowed are 0 mm to {length.length:g} mm; mend spots or lengths"
                )
            found.append((self.inputs[text.text], at))
        gap = length.live if is_place and length.dead_end is not None else None
        return Stretch(name, length.length, tuple(found), gap, length.length - length.fouling_point)

    def _where(self, section: str, sensor: str, at_entrance: bool) -> float:
        """Where a sensor is in its section."""
        spot = self.spots.get(sensor)
        if spot is not None:
            if spot.place is not None and spot.place.text == section:
                return self.lengths[section].live + spot.from_gap
            at = self._behind(section, spot)
            if at is not None:
                return at
        if not at_entrance:
            self.missing.append(f"where {sensor} is in {section} (spots:)")
        return 0.0

    def _behind(self, section: str, spot: Spot) -> float | None:
        """From the beginning of the section, for a spot that is measured from what trains have left."""
        if spot.clear_of is None or spot.beyond is None:
            return None
        at = spot.beyond
        before = self.before.get(section)
        for _ in self.layout.track:
            if before is None or before == spot.clear_of.text:
                return at if before else None
            length = self.lengths.get(before)
            at -= length.length if length else 0.0
            before = self.before.get(before)
        return None


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
