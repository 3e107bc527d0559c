"""Ways from place to place, and on each the points where a sensor shows what the train has left."""

from __future__ import annotations

from dataclasses import dataclass, field

from reedway.track.railway import Track


@dataclass(frozen=True)
class Point:
    """A sensor whose hit acts: the train has left `frees` with its last car, or has come to its place."""

    sensor: str  # of a pair the second
    frees: tuple[int, ...]
    arrives: bool


@dataclass
class Leg:
    """From the end of one place to the end of the next."""

    start: int
    sections: tuple[int, ...]  # after the start; the last is the place where it ends
    throws: list[tuple[int, int]]  # turnout section, position
    points: list[Point] = field(default_factory=list)

    passes: tuple[int, ...] = ()  # places out of service that it runs through

    @property
    def end(self) -> int:
        return self.sections[-1]


class Legs:
    """All legs of a track, with what a train still covers behind each place (`behind`)."""

    def __init__(self, track: Track) -> None:
        self.track = track
        self.places = [i for i in range(len(track.sections)) if track.place(i) >= 0]
        self.legs = [leg for place in self.places for leg in self._from(place)]
        self.through = [way for leg in self.legs for way in self._through(leg)]
        self.first_of_pair = {
            sensor.pair_with.text: sensor.name
            for sensor in track.layout.sensors
            if sensor.pair_with is not None
        }
        self.behind: dict[int, tuple[int, ...]] = dict.fromkeys(self.places, ())
        self.unlike: list[tuple[Leg, tuple[int, ...]]] = []  # legs that leave something else behind
        for _ in range(len(self.places) + 1):
            if not self._walk():
                break

    @property
    def all(self) -> list[Leg]:
        """Legs from place to place, and those through places that are out of service."""
        return self.legs + self.through

    def only_way(self, place: int) -> bool:
        """True when every train that is sent anywhere from the place before comes to this one."""
        return all(len(self.out_of(leg.start)) == 1 for leg in self.into(place))

    def into(self, place: int) -> list[Leg]:
        return [leg for leg in self.legs if leg.end == place]

    def out_of(self, place: int) -> list[Leg]:
        return [leg for leg in self.legs if leg.start == place]

    def siblings(self, place: int) -> list[int]:
        """Places from which one comes to the same places as from this one, itself included."""
        ends = {leg.end for leg in self.out_of(place)}
        return [other for other in self.places if ends & {leg.end for leg in self.out_of(other)}]

    def _from(self, place: int) -> list[Leg]:
        track = self.track
        found = []
        todo: list[tuple[tuple[int, ...], list[tuple[int, int]]]] = [((place,), [])]
        while todo:
            path, throws = todo.pop(0)
            head = path[-1]
            for position, target in enumerate(track.to[head]):
                new = list(throws)
                if track.is_facing(head):
                    new.append((head, position))
                if track.is_trailing(target):
                    new.append((target, track.position_into(head, target)))
                if track.place(target) >= 0:
                    found.append(Leg(place, (*path[1:], target), new))
                else:
                    todo.append(((*path, target), new))
        return found

    def _through(self, leg: Leg) -> list[Leg]:
        """The ways on from the end of a leg, where that is a place that can be out of service."""
        place = leg.end
        if self.track.sections[place].used_while is None or not self.only_way(place):
            return []
        found = []
        for more in self.out_of(place):
            turnouts = {section for section, _ in leg.throws} & {section for section, _ in more.throws}
            if turnouts or leg.start in more.sections or set(leg.sections) & set(more.sections):
                continue
            way = Leg(
                leg.start, leg.sections + more.sections, leg.throws + more.throws, passes=(*leg.passes, place)
            )
            found += [way, *self._through(way)]
        return found

    def _walk(self) -> bool:
        """Points of every leg from what lies behind its start; True when `behind` has changed."""
        behind: dict[int, tuple[int, ...]] = {}
        self.unlike = []
        for leg in self.all:
            left = self._points(leg)
            if behind.setdefault(leg.end, left) != left:
                self.unlike.append((leg, left))
        changed = behind != self.behind
        self.behind = behind
        return changed

    def _points(self, leg: Leg) -> tuple[int, ...]:
        """Set the points of a leg; returns what the train still covers behind the place where it ends."""
        track = self.track
        path: tuple[int, ...] = (*self.behind[leg.start], leg.start)
        leg.points = []
        is_there = False
        for section in leg.sections:
            path = (*path, section)
            for sensor in track.sensors(section):
                if sensor in self.first_of_pair:
                    continue
                n = track.cleared(path, sensor)
                arrives = section == leg.end and not is_there
                if n or arrives:
                    leg.points.append(Point(sensor, path[:n], arrives))
                is_there = is_there or arrives
                path = path[n:]
        return path[:-1]
