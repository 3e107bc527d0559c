"""The track by numbers: what leads where, over which turnout, past which sensors."""

from __future__ import annotations

from reedway.layout.model import Layout


class Track:
    """Sections by number. Only for a track without complaints."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.sections = layout.track
        self.number = {section.name: i for i, section in enumerate(self.sections)}
        self.turnout_of = {turnout.name: i for i, turnout in enumerate(layout.turnouts)}
        self.place_of = {place.name: i for i, place in enumerate(layout.places)}
        self.sensor_of = {sensor.name: sensor for sensor in layout.sensors}
        self.to = [[self.number[text.text] for text in section.to] for section in self.sections]
        self.trailing = [[self.number[t.text] for t in section.come_from] for section in self.sections]
        self.before: list[list[int]] = [[] for _ in self.sections]
        for i, targets in enumerate(self.to):
            for target in targets:
                self.before[target].append(i)

    def name(self, i: int) -> str:
        return self.sections[i].name

    def turnout(self, i: int) -> int:
        """Number of the turnout that section i is, or -1."""
        return self.turnout_of.get(self.sections[i].name, -1)

    def place(self, i: int) -> int:
        """Number of the place that section i is, or -1."""
        return self.place_of.get(self.sections[i].name, -1)

    def is_facing(self, i: int) -> bool:
        """True for a turnout with two ways out."""
        return len(self.to[i]) == 2

    def is_trailing(self, i: int) -> bool:
        """True for a turnout with two ways in."""
        return bool(self.trailing[i])

    def position_into(self, before: int, i: int) -> int:
        """Position that trailing turnout i must have for a train from section `before`."""
        return self.trailing[i].index(before)

    def block(self, i: int) -> str:
        """Name of the block that lets a train out of section i; "" where there is none."""
        place = self.place(i)
        block = self.layout.places[place].block if place >= 0 else None
        return block.text if block else ""

    def positions(self, i: int) -> tuple[str, str]:
        """The owner's names of the two positions of turnout section i."""
        turnout = self.layout.turnouts[self.turnout(i)]
        return turnout.first, turnout.second

    def sensors(self, i: int) -> list[str]:
        """Names of the sensors of section i in order, the one at its entrance first."""
        section = self.sections[i]
        first = [section.entrance.text] if section.entrance else []
        return first + [text.text for text in section.sensors]

    def clear_of(self, sensor: str) -> list[int]:
        """Sections the owner says the whole train has left when this sensor is hit."""
        return [self.number[text.text] for text in self.sensor_of[sensor].tail_clear_of]

    def cleared(self, path: tuple[int, ...], sensor: str) -> int:
        """How many sections at the rear of `path` the whole train has left when it hits `sensor`.

        What lies behind a section that the train has left, it has left too.
        """
        clear = set(self.clear_of(sensor))
        return max((i + 1 for i, section in enumerate(path[:-1]) if section in clear), default=0)

    def names(self, sections: list[int] | tuple[int, ...]) -> str:
        """`exit and track A`"""
        names = [self.name(i) for i in sections]
        return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)
