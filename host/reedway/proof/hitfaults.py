"""Single faults of sensors and magnets."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reedway.proof.fault import NoFault
from reedway.proof.told import Told

if TYPE_CHECKING:
    from reedway.proof.world import World


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
