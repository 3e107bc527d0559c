"""Can a story be told of a changed layout too, with the same end? Found out quickly, as changes are many."""

from __future__ import annotations

from reedway.proof.judge import Verdict
from reedway.proof.machine import Event, Machine
from reedway.proof.scene import Scene
from reedway.proof.told import Told
from reedway.proof.world import MEETS, World

Needs = tuple[int, int]  # bits of the logic's state to look at, and what they must be


class Path:
    """The steps of one story without fault: what each needs, and what the controller gets to see of it."""

    def __init__(self, scene: Scene, verdict: Verdict) -> None:
        self.world: World = scene.world(verdict.lagging)[0]
        self.machine = scene.machine
        self.way = verdict.way
        self.steps = [self._step(told, n) for n, told in enumerate(verdict.steps)]
        last = verdict.way[-1]
        self.world.expand_any(last)
        self.meets = self.world.accident[0] == MEETS
        # what must hold for the end to be as bad, or, where nobody can move, must not
        self.is_jam = not self.world.bad
        self.end = [] if self.meets else self._steps_of(last, only_bad=not self.is_jam)

    def leads_there(self, machine: Machine, first: int) -> bool:
        """With the rules of this machine, which differ from step `first` on, is the end the same?"""
        if first > 1:
            state = self.way[first - 1] & machine.all
            machine.explored.restore(machine.packing.unpack(state))
        else:
            first = 1
            state = machine.state()
        for (mask, value), calls in self.steps[first - 1 :]:
            if state & mask != value:
                return False
            if calls:
                state = machine.run(calls)
        if self.meets:
            return True
        can = any(state & mask == value for mask, value in self.end)
        return not can if self.is_jam else can

    def _step(self, told: Told, n: int) -> tuple[Needs, Event]:
        """What step n needs, and the calls that the controller serves in it."""
        calls = self.machine.events[told.event] if told.event >= 0 else ()
        packing = self.world.packing
        if told.kind == "throw":
            bit = 1 << packing.throw_at + told.number
            return (bit, bit), calls
        if told.kind == "timer":
            bit = 1 << packing.timer_at + told.number
            return (bit, bit), calls
        if not told.who:
            return (0, 0), calls
        j = self.world.trains.index(told.who)
        before, after = self.way[n], self.way[n + 1]
        moved = self.world.spot_of(after, j)
        for mask, value, _, _, step in self.world.tables[j][self.world.spot_of(before, j)]:
            if before & mask == value and step.to == moved and step.text == told.text and not step.bad:
                return (mask, value), calls
        raise AssertionError("a step of a story is no step of the track")

    def _steps_of(self, state: int, only_bad: bool) -> list[Needs]:
        """Every step that there may be from where the trains stand in a state, or every bad one."""
        found: list[Needs] = []
        taken = 0
        for j in range(len(self.world.trains)):
            spot = self.world.spot_of(state, j)
            taken |= self.world.covers[spot]
            found += [(row[0], row[1]) for row in self.world.tables[j][spot] if row[4].bad or not only_bad]
        packing = self.world.packing
        for t, covers in enumerate(self.world.turnout_covers):
            bit = 1 << packing.throw_at + t
            if not only_bad or covers & taken:
                found.append((bit, bit))
        if not only_bad:
            timers = range(len(self.world.timers))
            found += [(1 << packing.timer_at + k, 1 << packing.timer_at + k) for k in timers]
        return found
