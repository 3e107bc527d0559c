"""Sections that are always taken together and freed together share one relay."""

from __future__ import annotations

from dataclasses import dataclass

from reedway.track.legs import Legs, Point


@dataclass(frozen=True)
class Group:
    """Sections kept for one train at a time."""

    sections: tuple[int, ...]
    name: str  # of its place, or of its turnout, or of its first section


def groups_of(legs: Legs) -> dict[int, Group]:
    """The group of each section."""
    track = legs.track
    marks: dict[tuple[frozenset[int], frozenset[Point]], list[int]] = {}
    for i in range(len(track.sections)):
        taken = frozenset(n for n, leg in enumerate(legs.all) if i in leg.sections)
        freed = frozenset(point for leg in legs.all for point in leg.points if i in point.frees)
        marks.setdefault((taken, freed), []).append(i)
    found = {}
    for sections in marks.values():
        places = [i for i in sections if track.place(i) >= 0]
        turnouts = [i for i in sections if track.turnout(i) >= 0]
        group = Group(tuple(sections), track.name((places + turnouts + sections)[0]))
        found.update(dict.fromkeys(sections, group))
    return found
