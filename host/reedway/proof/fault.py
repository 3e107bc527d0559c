"""What all single faults have in common: each comes once in a run, at any moment, or never.

A fault has a field in the state: 0 while it has not happened.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from reedway.proof.told import Told

if TYPE_CHECKING:
    from reedway.proof.spots import Step
    from reedway.proof.world import World

MENDED = (1 << 15) - 1  # it has happened and leaves no trace


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
            told.append(Told("", text, kind, number, event, is_fault=True))
