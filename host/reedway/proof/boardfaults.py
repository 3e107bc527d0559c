"""Single faults of points and of the board."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reedlogic import words as w
from reedway.proof.fault import MENDED, NoFault
from reedway.proof.told import Told

if TYPE_CHECKING:
    from reedway.proof.spots import Step
    from reedway.proof.world import World

POINTS = 1 << 14  # after a reset: and the positions of 14 turnouts
COASTED_AT = 15  # after a reset: a bit for each train that has run on into one more section
STUCK = 1 << 6  # + turnout: with a contact, its throw never comes to an end


class Unmoved(NoFault):
    name = "a turnout that does not move"
    happens = "a turnout gets its pulse and its points do not move"

    def prepare(self, world: World) -> None:
        super().prepare(world)
        turnouts = world.machine.plan[w.PLAN_TURNOUTS]
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
                self.say(told, f"the points of {name} do not move, and its contact does not agree", t, "jam")


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
