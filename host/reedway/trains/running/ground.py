"""The track in millimetres: sections, sensors, gaps, and what feeds which rail."""

from __future__ import annotations

from dataclasses import dataclass

from reedway.boardfile.numbering import Numbering
from reedway.layout.model import Layout
from reedway.problems import Complaint, LayoutError
from reedway.track.railway import Track
from reedway.trains.model import Length, Spot

NEAR_MM = 1e-6


@dataclass(frozen=True)
class Rail:
    """A stretch of rail without a gap. It is live when every feed of `needs` is on, and, where points feed
    it, one of `ways` lies so; None: its points are power-routing and never feed it."""

    start: float  # from where its section begins
    needs: int
    ways: tuple[tuple[int, int], ...]  # (turnout, position); none: it is fed past the points


@dataclass(frozen=True)
class Section:
    """One section by numbers, in mm from where it begins."""

    name: str
    length: float
    rails: tuple[Rail, ...]
    sensors: tuple[tuple[int, float], ...]  # input, where; in the direction of running
    turnout: int  # -1: none
    place: int  # -1: none
    fouls: float  # a nose beyond this is in the way of the other track; the length where none is


class Ground:
    """The whole track. LayoutError with every length and spot that is missing or cannot be."""

    def __init__(self, layout: Layout, moved: frozenset[str] = frozenset()) -> None:
        """`moved`: sensors that are tried elsewhere; the section they are in follows from their spot."""
        self.layout = layout
        self.moved = moved
        self.track = Track(layout)
        self.lengths = {length.name: length for length in layout.stock.lengths}
        self.spots = {spot.name: spot for spot in layout.stock.spots}
        self.inputs = {item.name: item.index for item in Numbering(layout).inputs}
        self.found: list[Complaint] = []
        self.sensors: dict[str, tuple[int, float]] = {}  # section, mm from where it begins
        self._locate()
        self.sections = [self._section(i) for i in range(len(layout.track))]
        self.joins = [any(self.track.is_trailing(one) for one in targets) for targets in self.track.to]
        if not layout.track:
            self._complain(1, "the track is missing: which section leads where; add track:")
        if not layout.stock.trains:
            self._complain(1, "trains are missing; add vehicles: and trains:, see hardware/trains.md")
        if self.found:
            raise LayoutError(self.found)

    def section_of(self, turnout: int) -> int:
        """The section that a turnout is; -1: it is not in the track."""
        return next((i for i, one in enumerate(self.sections) if one.turnout == turnout), -1)

    def _complain(self, line: int, message: str) -> None:
        self.found.append(Complaint(self.layout.path, line, message))

    # -- sections -----------------------------------------------------------------------------------------

    def _section(self, i: int) -> Section:
        track, section = self.track, self.layout.track[i]
        length = self.lengths.get(section.name)
        if length is None:
            self._complain(
                section.line,
                f"section {section.name} has no length; every section needs one for trains to run; "
                f"add it under lengths: {section.name}: {{length: 1 m}}",
            )
            return Section(section.name, 1.0, (), (), -1, -1, 1.0)
        names = [name for name, (where, _) in self.sensors.items() if where == i]
        at = sorted((self.sensors[name][1], self.inputs[name]) for name in names)
        foul = length.length - length.fouling_point if track.is_trailing(track.to[i][0]) else length.length
        return Section(
            name=section.name,
            length=length.length,
            rails=self._rails(i, length),
            sensors=tuple((number, where) for where, number in at),
            turnout=track.turnout(i),
            place=track.place(i),
            fouls=foul,
        )

    def _rails(self, i: int, length: Length) -> tuple[Rail, ...]:
        """What feeds a section before its gap and beyond it."""
        layout, track = self.layout, self.track
        always = 1 << len(layout.blocks) if layout.track_feed is not None else 0
        block = track.block(i)
        switched = always
        for number, one in enumerate(layout.blocks):
            switched |= (one.name == block) << number
        behind = [
            (track.turnout(b), track.to[b].index(i))
            for b in track.before[i]
            if track.is_facing(b) and layout.turnouts[track.turnout(b)].power_routing
        ]
        ahead: list[tuple[int, int]] = []
        target = track.to[i][0]
        if len(track.to[i]) == 1 and track.is_trailing(target):
            turnout = track.turnout(target)
            if layout.turnouts[turnout].power_routing:
                ahead = [(turnout, track.position_into(i, target))]
        if length.dead_end is None:  # one rail: dead only when both its ends are
            return (Rail(0.0, switched, tuple(behind + ahead) if behind and ahead else ()),)
        if length.live <= 0:
            return (Rail(0.0, switched, tuple(ahead)),)
        return Rail(0.0, always, tuple(behind)), Rail(length.live, switched, tuple(ahead))

    # -- sensors ------------------------------------------------------------------------------------------

    def _locate(self) -> None:
        """Find every sensor of the track from its spot."""
        for i, section in enumerate(self.layout.track):
            for name in self.track.sensors(i):
                spot = self.spots.get(name)
                if spot is None and section.entrance is not None and name == section.entrance.text:
                    self.sensors[name] = (i, 0.0)
                elif spot is None:
                    self._complain(
                        section.line,
                        f"sensor {name} has no spot; one is needed for trains to close it; add it under "
                        f"spots: {name}: {{clear_of: exit, beyond: 1 m}}",
                    )
                else:
                    self._from_spot(i, spot)

    def _from_spot(self, i: int, spot: Spot) -> None:
        found = self._where(spot)
        if found is None:
            self._complain(
                spot.line,
                f"spot {spot.name}: where it is along the track does not follow from it; needed is place, or "
                "clear_of with beyond; add one",
            )
            return
        where, at = found
        if where != i and spot.name not in self.moved:
            self._complain(
                spot.line,
                f"spot {spot.name}: {_from(spot)} is in {self.track.name(where)}, and track: has the sensor "
                f"in {self.track.name(i)}; mend the spot, the lengths, or track:",
            )
        self.sensors[spot.name] = (where, at)

    def _where(self, spot: Spot) -> tuple[int, float] | None:
        """Section and mm from where it begins."""
        if spot.place is not None:
            return self.track.number[spot.place.text], self.lengths[spot.place.text].live + spot.from_gap
        if spot.clear_of is None or spot.beyond is None:
            return None
        i, at = self.track.number.get(spot.clear_of.text, -1), spot.beyond
        for _ in range(len(self.layout.track) + 1):
            if i < 0 or len(self.track.to[i]) != 1:
                return None
            i = self.track.to[i][0]
            length = self.lengths.get(self.track.name(i))
            if length is None or at <= length.length + NEAR_MM:
                return i, at
            at -= length.length
        return None

    # -- distances ----------------------------------------------------------------------------------------

    def way_mm(self, start: tuple[int, float], end: tuple[int, float]) -> float:
        """How far it is along the track from one spot to another ahead; the shorter way at points."""
        best: dict[int, float] = {}
        todo = [(start[0], -start[1])]
        if start[0] == end[0] and end[1] >= start[1]:
            return end[1] - start[1]
        while todo:
            i, so_far = todo.pop()
            so_far += self.sections[i].length
            for target in self.track.to[i]:
                if so_far < best.get(target, float("inf")):
                    best[target] = so_far
                    todo.append((target, so_far))
        return best.get(end[0], float("inf")) + end[1]


def _from(spot: Spot) -> str:
    if spot.place is not None:
        return f"its place {spot.place}"
    return f"{spot.beyond:g} mm behind {spot.clear_of}"
