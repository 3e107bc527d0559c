"""Single faults: what goes wrong once, at any moment of any run, and what the world is like after it.

A fault has a field in the state: 0 while it has not happened. It happens at most once in a run.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from reedlogic import words as w
from reedway.proof.told import Told

if TYPE_CHECKING:
    from reedway.proof.spots import Step
    from reedway.proof.world import World

MENDED = (1 << 15) - 1  # it has happened and leaves no trace
POINTS = 1 << 14  # after a reset: and the positions of 14 turnouts
COASTED_AT = 15  # after a reset: a bit for each train that has run on into one more section
STUCK = 1 << 6  # + turnout: with a contact, its throw never comes to an end


class NoFault:
    """Nothing goes wrong; and what all faults have in common."""

    name = "none"
    happens = ""  # in a sentence: "a hit is lost"
    loses = False  # the fault happens at a hit, which is not seen

    def prepare(self, world: World) -> None:
        self.world = world

    def is_possible(self) -> bool:
        """False when this layout has nothing that could fail so."""
        return True

    def one(self, f: int) -> int:
        """What is added to a state without fault."""
        return f << self.world.fault_at

    def lost_as(self, j: int, sensor: int) -> int:
        return 1

    def hears(self, f: int, j: int, sensor: int) -> bool:
        """Does the controller see train j hit this sensor?"""
        return True

    def coasts(self, f: int, j: int, step: Step) -> int:
        """What a step of train j adds to the state; -1: its rails are dead and it has run out."""
        return 0

    def view(self, view: int, f: int) -> int:
        return view

    def covers(self, f: int) -> int:
        """Sections that something stands in that is no train any more."""
        return 0

    def thrown(self, state: int, f: int, view: int, t: int) -> tuple[list[int], bool]:
        """The states after a pulse of turnout t, and whether its points moved."""
        return [self.world.machine.step(state, self.world.throws[t])], True

    def more(
        self, state: int, f: int, view: int, taken: int, out: list[int], told: list[Told] | None
    ) -> None:
        """Steps of the fault itself."""

    def say(
        self, told: list[Told] | None, text: str, number: int = -1, kind: str = "fault", event: int = -1
    ) -> None:
        if told is not None:
            told.append(Told("", text, kind, number, event))


class LostHit(NoFault):
    name = "a hit lost"
    happens = "one hit of a train is not seen"
    loses = True


class StuckOpen(NoFault):
    name = "a sensor stuck open"
    happens = "one sensor makes no hit any more"
    loses = True

    def lost_as(self, j: int, sensor: int) -> int:
        return 1 + sensor

    def hears(self, f: int, j: int, sensor: int) -> bool:
        return sensor != f - 1


class MagnetLost(NoFault):
    name = "a magnet lost for good"
    happens = "one train loses its magnet: no sensor sees it any more"
    loses = True

    def lost_as(self, j: int, sensor: int) -> int:
        return 1 + j

    def hears(self, f: int, j: int, sensor: int) -> bool:
        return j != f - 1


class Phantom(NoFault):
    name = "a phantom hit"
    happens = "one sensor makes a hit and no train is there"

    def prepare(self, world: World) -> None:
        super().prepare(world)
        track = world.spots.track
        names = [name for i in range(len(track.sections)) for name in track.sensors(i)]
        self.sensors = [(name, world.spots.input(name)) for name in names]
        self.events = [world.machine.event(self.call(number)) for _, number in self.sensors]

    def call(self, number: int) -> tuple[str, int]:
        return ("pass", number)

    def after(self, number: int) -> int:
        return 1

    def more(
        self, state: int, f: int, view: int, taken: int, out: list[int], told: list[Told] | None
    ) -> None:
        if f:
            return
        for (name, number), event in zip(self.sensors, self.events, strict=True):
            after = self.world.fire(state, event)
            if after >= 0:
                out.append(after + self.one(self.after(number)))
                served = -1 if self.world.lagging else event
                self.say(told, f"{name} {self.words}", number, self.kind, served)

    words = "makes a hit though no train is there"
    kind = "phantom"  # for the session log


class StuckClosed(Phantom):
    name = "a sensor stuck closed"
    happens = "one sensor closes and never opens again"
    words = "closes though no train is there, and stays closed"
    kind = "shut"

    def call(self, number: int) -> tuple[str, int]:
        return ("shut", number)

    def after(self, number: int) -> int:
        return 1 + number

    def hears(self, f: int, j: int, sensor: int) -> bool:
        return sensor != f - 1


class CarLeft(NoFault):
    name = "a car left behind"
    happens = "a train loses its last car in a section that has a detector"

    def is_possible(self) -> bool:
        return any(section.detector is not None for section in self.world.spots.track.sections)

    def covers(self, f: int) -> int:
        return 1 << f - 1

    def more(
        self, state: int, f: int, view: int, taken: int, out: list[int], told: list[Told] | None
    ) -> None:
        if f:
            return
        world = self.world
        for j, (at, mask) in enumerate(world.fields):
            number = state >> at & mask
            if number == world.gone:
                continue
            left = world.spots.leaves_car(number)
            if left is not None:
                section, to = left
                out.append(state + (to - number << at) + self.one(1 + section))
                where = world.spots.track.name(section)
                self.say(told, f"{world.trains[j]} loses its last car in {where}")


class Unmoved(NoFault):
    name = "a turnout that does not move"
    happens = "a turnout gets its pulse and its points do not move"

    def prepare(self, world: World) -> None:
        super().prepare(world)
        turnouts = world.machine.plan[7]
        self.has_contact = [t[8] != w.NONE or t[9] != w.NONE for t in turnouts]

    def is_possible(self) -> bool:
        return bool(self.has_contact)

    def view(self, view: int, f: int) -> int:
        if f == MENDED or f >= STUCK:
            return view
        t, lies = f - 1 >> 1, f - 1 & 1
        packing = self.world.packing
        first, second = 1 << packing.first_at + t, 1 << packing.second_at + t
        return view & ~(first | second) | (second if lies else first)

    def wanted(self, state: int, t: int) -> int:
        """Position in which turnout t is wanted."""
        return self.world.lies(self.world.machine.step(state, self.world.throws[t]), t)

    def thrown(self, state: int, f: int, view: int, t: int) -> tuple[list[int], bool]:
        if f == STUCK + t:
            return [], False
        after, _ = super().thrown(state, f, view, t)
        if self.has_contact[t]:
            return after, True
        wanted = self.wanted(state, t)
        if f == 0 and self.world.lies(view, t) != wanted:
            return [*after, after[0] + self.one(1 + 2 * t + 1 - wanted)], True
        if f and f < STUCK and f - 1 >> 1 == t:
            mended = after[0] + self.one(MENDED - f)
            if f - 1 & 1 == wanted:
                return [mended], False
            return [mended, after[0]], True
        return after, True

    def more(
        self, state: int, f: int, view: int, taken: int, out: list[int], told: list[Told] | None
    ) -> None:
        if f:
            return
        for t, has_contact in enumerate(self.has_contact):
            if has_contact and not view >> self.world.packing.known_at + t & 1:
                out.append(state + self.one(STUCK + t))
                name = self.world.spots.track.layout.turnouts[t].name
                self.say(told, f"the points of {name} do not move, and its contact does not agree", t)


class Reset(NoFault):
    name = "the board reset"
    happens = "the board is reset at any moment"

    def prepare(self, world: World) -> None:
        super().prepare(world)
        self.event = world.machine.event(("reset", 0))
        self.turnouts = world.packing.all_turnouts
        self.has_track_feed = world.spots.track_feed != 0

    def coasts(self, f: int, j: int, step: Step) -> int:
        """With a track feed the rails are dead: a train runs on into one more section at most."""
        if step.into < 0 or not self.has_track_feed:
            return 0
        used = 1 << COASTED_AT + j
        return -1 if f & used else self.one(used)

    def view(self, view: int, f: int) -> int:
        points = f & POINTS - 1
        packing = self.world.packing
        view &= ~(self.turnouts << packing.first_at | self.turnouts << packing.second_at)
        view |= (self.turnouts & ~points) << packing.first_at | points << packing.second_at
        return view | self.turnouts << packing.known_at  # they were when the trains were sent

    def more(
        self, state: int, f: int, view: int, taken: int, out: list[int], told: list[Told] | None
    ) -> None:
        if f:
            return
        packing = self.world.packing
        points = view >> packing.second_at & ~(view >> packing.first_at) & self.turnouts
        waiting = state >> self.world.queue_at << self.world.queue_at
        out.append(self.world.machine.step(state - waiting, self.event) + self.one(POINTS + points))
        self.say(told, "the board is reset", kind="reset")


class SwitchTurned(NoFault):
    name = "a switch turned"
    happens = "one switch is turned, and turned again, at any moment"

    def prepare(self, world: World) -> None:
        super().prepare(world)
        self.switches = [item for item in world.spots.numbering.inputs if item.kind == "switch"]

    def is_possible(self) -> bool:
        return bool(self.switches)

    def more(
        self, state: int, f: int, view: int, taken: int, out: list[int], told: list[Told] | None
    ) -> None:
        saved = self.world.packing.unpack(state & self.world.machine.all)
        for item in self.switches:
            if f and f != 1 + item.index:
                continue
            level = saved[item.word] & item.bit != 0
            event = self.world.machine.event(("change", item.index, 0 if level else 1))
            after = self.world.machine.step(state, event)
            out.append(after + (0 if f else self.one(1 + item.index)))
            text = f"{item.name} is turned to {item.words[1 if level else 0]}"
            self.say(told, text, item.index, "switch", event)


class LiftedOff(NoFault):
    name = "a train lifted off"
    happens = (
        "a train that stands at a place is lifted off and perhaps set on again, with the orders for that"
    )

    def more(
        self, state: int, f: int, view: int, taken: int, out: list[int], told: list[Told] | None
    ) -> None:
        world = self.world
        if state >> world.queue_at:
            return  # a hand is slower than the controller: by then it has seen every hit
        if f:
            if f != MENDED:
                self._set_on(state, f, out, told)
            return
        for j, (at, mask) in enumerate(world.fields):
            number = state >> at & mask
            spot = world.spots.spots[number]
            head = world.spots.stands(spot)
            if head < 0 or len(spot.path) > 1:
                continue
            place = world.spots.track.place(head)
            event = world.machine.event(("order", w.O_LIFT_OFF, place))
            out.append(world.machine.step(state, event) + (world.gone - number << at) + self.one(1 + j))
            text = f"{world.trains[j]} is lifted off {world.spots.track.name(head)}"
            self.say(told, text, place, "lift", event)

    def _set_on(self, state: int, f: int, out: list[int], told: list[Told] | None) -> None:
        """It is set on where the rules take it: where the order changes something."""
        world = self.world
        at = world.fields[f - 1][0]
        for place, number in world.spots.at_place.items():
            event = world.machine.event(("order", w.O_SET_ON, place))
            after = world.machine.step(state, event)
            if after != state:
                out.append(after + (number - world.gone << at) + self.one(MENDED - f))
                name = world.spots.track.layout.places[place].name
                self.say(told, f"{world.trains[f - 1]} is set on at {name}", place, "set on", event)


FAULTS: tuple[type[NoFault], ...] = (
    LostHit,
    Phantom,
    StuckOpen,
    StuckClosed,
    MagnetLost,
    CarLeft,
    Unmoved,
    Reset,
    SwitchTurned,
    LiftedOff,
)
