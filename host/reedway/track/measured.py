"""The track in millimetres: how long each section is, where its sensors are, where its dead end begins."""

from __future__ import annotations

from dataclasses import dataclass

from reedway.layout.model import Layout
from reedway.problems import ReedwayError
from reedway.trains.model import Spot


@dataclass(frozen=True)
class Stretch:
    """One section by numbers, in mm from where it begins."""

    name: str
    length: float
    sensors: tuple[tuple[str, float], ...]  # in order: name, where
    gap: float | None  # of a place: where its dead end begins
    mark: float  # of a place: what no nose may pass when a train is set on


class Measured:
    """Every section by numbers, in the order of track:. `missing`: what is not written, in words.

    ReedwayError for a sensor that is off its section.
    """

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.lengths = {length.name: length for length in layout.stock.lengths}
        self.spots = {spot.name: spot for spot in layout.stock.spots}
        # Of a section with two ways in the last one counts: what is behind both is measured from neither.
        self.before = {target.text: section.name for section in layout.track for target in section.to}
        self.missing: list[str] = []
        self.stretches = [self._stretch(section.name) for section in layout.track]
        if not layout.stock.trains:
            self.missing.append("the trains (trains:)")
        self.missing = list(dict.fromkeys(self.missing))

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
            found.append((text.text, at))
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

    def moved(self, by: dict[str, float]) -> list[list[tuple[str, float]]]:
        """The sensors of each section when some are so many mm farther on, on the way that trains take.

        ReedwayError for one that would come to where ways part or join.
        """
        found: list[list[tuple[str, float]]] = [[] for _ in self.stretches]
        for i, stretch in enumerate(self.stretches):
            for name, at in stretch.sensors:
                here, x = i, at + by.get(name, 0.0)
                while not 0 <= x <= self.stretches[here].length:
                    here, x = self._beside(here, x, name)
                found[here].append((name, x))
        return found

    def _beside(self, here: int, x: float, name: str) -> tuple[int, float]:
        """The section before or behind the one that `x` is off, and where `x` is in that."""
        section = self.layout.track[here]
        is_on = x > 0
        if is_on:
            beside = [text.text for text in section.to]
            x -= self.stretches[here].length
        else:
            beside = [one.name for one in self.layout.track if section.name in (t.text for t in one.to)]
        if len(beside) != 1:
            raise ReedwayError(f"{name} cannot be tried beyond {section.name}: there the ways part or join")
        there = next(i for i, one in enumerate(self.layout.track) if one.name == beside[0])
        return there, x if is_on else x + self.stretches[there].length
