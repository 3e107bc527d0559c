"""What hands do to trains and switches, and cars that stay behind."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reedlogic import words as w
from reedway.proof.fault import MENDED, NoFault
from reedway.proof.told import Told

if TYPE_CHECKING:
    from reedway.proof.world import World


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
