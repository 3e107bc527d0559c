"""Where a train can be on the track, and every step it can take from there.

A spot is the sections that the train covers, from its last car to its head, and how many sensors of its
head's section it has passed. Nobody knows how long or how fast trains are: a train covers a section until
a sensor says that the whole train has left it, or its detector falls free; and it may take its next step at
any time, or not yet.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from reedway.boardfile.numbering import Numbering
from reedway.proof.machine import Call
from reedway.proof.packing import Packing
from reedway.track.railway import Track

AGAINST = "through {} that is not known to lie right"


@dataclass(frozen=True)
class Step:
    """One step of a train: possible while `state & mask == value`."""

    mask: int
    value: int
    calls: tuple[Call, ...]  # what the controller gets to see of it
    to: int  # spot
    text: str
    bad: str = ""  # why this must never happen
    waits: bool = False  # not while hits wait: the turnout ahead is thrown in time
    sensor: int = -1  # input that it hits
    into: int = -1  # section that the head enters


@dataclass
class Spot:
    path: tuple[int, ...]  # sections from the last car to the head
    passed: int  # sensors of the head's section behind the head
    covers: int = 0  # bit per section
    steps: list[Step] = field(default_factory=list)


class Spots:
    """Every spot that a train can come to from the places, with its steps."""

    def __init__(self, track: Track, numbering: Numbering, packing: Packing) -> None:
        self.track = track
        self.numbering = numbering
        self.packing = packing
        self.spots: list[Spot] = []
        self.at_place: dict[int, int] = {}  # place -> spot of a train that stands there
        self._numbers: dict[tuple[tuple[int, ...], int], int] = {}
        layout = track.layout
        self.feeds = {block.name: 1 << packing.feed_at + i for i, block in enumerate(layout.blocks)}
        self.track_feed = 1 << packing.feed_at + len(layout.blocks) if layout.track_feed is not None else 0
        for i in range(len(track.sections)):
            if track.place(i) >= 0:
                self.at_place[track.place(i)] = self._spot((i,), len(track.sensors(i)))
        at = 0
        while at < len(self.spots):
            self.spots[at].steps = list(self._steps(self.spots[at]))
            at += 1

    def _spot(self, path: tuple[int, ...], passed: int) -> int:
        key = (path, passed)
        number = self._numbers.get(key)
        if number is None:
            number = self._numbers[key] = len(self.spots)
            self.spots.append(Spot(path, passed, sum(1 << i for i in set(path))))
        return number

    def stands(self, spot: Spot) -> int:
        """Section of the place where the train stands that has come to the end of it, or -1."""
        head = spot.path[-1]
        at_end = spot.passed == len(self.track.sensors(head))
        return head if at_end and self.track.place(head) >= 0 else -1

    def leaves_car(self, number: int) -> tuple[int, int] | None:
        """(section, spot of the rest of the train) if its last car is left behind where a detector is."""
        spot = self.spots[number]
        for n, section in enumerate(spot.path[:-1]):
            if self._detector(section) >= 0:
                return section, self._numbers[spot.path[n + 1 :], spot.passed]
        return None

    # -- steps ----------------------------------------------------------------------------------------

    def _steps(self, spot: Spot) -> Iterator[Step]:
        head = spot.path[-1]
        sensors = self.track.sensors(head)
        yield from self._tail(spot)
        if spot.passed < len(sensors):
            sensor = sensors[spot.passed]
            after = self._after_hit(spot.path, sensor)
            if after is not None:
                number = self.input(sensor)
                to = self._spot(after, spot.passed + 1)
                yield Step(0, 0, (("pass", number),), to, f"comes to {sensor}", sensor=number)
            return
        if self.track.place(head) >= 0 and len(spot.path) > 1:
            yield from self._all_in(spot)
        mask, value = self._let_out(head)
        if self.track.is_facing(head):
            turnout = self.track.turnout(head)
            for position, target in enumerate(self.track.to[head]):
                lies = self._lies(turnout, position)
                yield from self._enter(spot, target, mask | lies, value | lies)
        else:
            yield from self._enter(spot, self.track.to[head][0], mask, value)

    def _lies(self, turnout: int, position: int) -> int:
        """The bit that says that the turnout may lie so."""
        return 1 << (self.packing.second_at if position else self.packing.first_at) + turnout

    def input(self, name: str) -> int:
        """Index of a sensor or detector."""
        found = self.numbering.input_named(name)
        assert found is not None
        return found.index

    def _detector(self, i: int) -> int:
        detector = self.track.sections[i].detector
        return -1 if detector is None else self.input(detector.text)

    def _tail(self, spot: Spot) -> Iterator[Step]:
        """The last car leaves a section whose detector tells."""
        for n, section in enumerate(spot.path[:-1]):
            detector = self._detector(section)
            if detector >= 0:
                to = self._spot(spot.path[n + 1 :], spot.passed)
                text = f"has left {self.track.name(section)} with its last car"
                yield Step(0, 0, (("change", detector, 0),), to, text)
                return

    def _all_in(self, spot: Spot) -> Iterator[Step]:
        """The head has come to the end of a place, which holds the whole train."""
        head = spot.path[-1]
        if all(self._detector(section) < 0 for section in spot.path[:-1]):
            to = self._spot((head,), spot.passed)
            yield Step(0, 0, (), to, f"comes to the end of {self.track.name(head)}")

    def _after_hit(self, path: tuple[int, ...], sensor: str) -> tuple[int, ...] | None:
        """The path after the hit; None while a detector has yet to see the last car leave."""
        n = self.track.cleared(path, sensor)
        if any(self._detector(section) >= 0 for section in path[:n]):
            return None
        return path[n:]

    def _let_out(self, head: int) -> tuple[int, int]:
        """What must be fed for a train to go on from the end of this section."""
        if self.track.place(head) < 0:
            return 0, 0
        block = self.track.block(head)
        bit = self.feeds[block] if block else self.track_feed
        return bit, bit

    def _enter(self, spot: Spot, target: int, mask: int, value: int) -> Iterator[Step]:
        """The head comes into the next section."""
        turnout = self.track.turnout(target)
        if turnout < 0:
            yield from self._into(spot, target, mask, value)
            return
        known = 1 << self.packing.known_at + turnout
        in_time = self.track.sections[target].in_time
        bad = AGAINST.format(self.track.name(target))
        if not self.track.is_trailing(target):
            yield from self._into(spot, target, mask | known, value | known, waits=in_time)
            if not in_time:
                yield from self._into(spot, target, mask | known, value, bad)
            return
        position = self.track.position_into(spot.path[-1], target)
        right = self._lies(turnout, position)
        wrong = self._lies(turnout, 1 - position)
        both = mask | known | right | wrong
        yield from self._into(spot, target, both, value | known | right, waits=in_time)
        powered = self.track.layout.turnouts[turnout].power_routing and self.track.place(spot.path[-1]) >= 0
        if not powered:
            yield from self._into(spot, target, both, value | known | wrong, bad, in_time)
        if not in_time:
            if powered:
                yield from self._into(spot, target, mask | known | right, value | right, bad)
            else:
                yield from self._into(spot, target, mask | known, value, bad)

    def _into(
        self, spot: Spot, target: int, mask: int, value: int, bad: str = "", waits: bool = False
    ) -> Iterator[Step]:
        calls: list[Call] = []
        path = (*spot.path, target)
        passed = 0
        text = f"comes into {self.track.name(target)}"
        if self.track.place(spot.path[-1]) >= 0:
            text = f"leaves {self.track.name(spot.path[-1])} and {text}"
        detector = self._detector(target)
        if detector >= 0:
            calls.append(("change", detector, 1))
        entrance = self.track.sections[target].entrance
        sensor = -1
        if entrance is not None:
            after = self._after_hit(path, entrance.text)
            if after is None:
                return
            sensor = self.input(entrance.text)
            calls.append(("pass", sensor))
            path, passed = after, 1
            text += f", to {entrance}"
        yield Step(mask, value, tuple(calls), self._spot(path, passed), text, bad, waits, sensor, target)
