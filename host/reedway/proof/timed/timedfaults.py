"""Single faults of sensors with the clock: each once in a run, at any tick of it, or never."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from reedlogic import words as w
from reedway.proof.faults import MENDED, LostHit, MagnetLost, NoFault, Phantom, StuckClosed, StuckOpen
from reedway.proof.timed.standing import ALWAYS
from reedway.proof.told import Told

if TYPE_CHECKING:
    from reedway.proof.timed.clockwork import Clockwork
    from reedway.proof.timed.standing import Draft, Row


class TimedFault:
    """A fault of proof/faults.py against the clock; without one nothing goes wrong.

    0: it has not happened. `ticks`: it may come by itself at any tick.
    """

    ticks = False

    def __init__(self, kind: type[NoFault] = NoFault) -> None:
        self.kind = kind()
        self.name = kind.name if kind is not NoFault else ""
        self.happens = kind.happens

    def prepare(self, work: Clockwork) -> None:
        self.work = work

    def hears(self, f: int, j: int, sensor: int) -> bool:
        return f == 0 or self.kind.hears(f, j, sensor)

    def lost_as(self, f: int, j: int, sensor: int) -> int:
        """The fault when this hit is lost; 0: it is not."""
        return self.kind.lost_as(j, sensor) if self.kind.loses and f == 0 else 0

    def runs(self, f: int) -> bool:
        """Does the fault's clock count down?"""
        return False

    def own(self, draft: Draft) -> Iterator[Iterator[Row]]:
        """What becomes of a standing when the fault's clock has run down."""
        return iter(())


class TimedPhantom(TimedFault):
    """A hit without a train, at any tick. Until it is rearmed the sensor makes no other then; one that is
    stuck closed never does.

    A phantom hit that changes nothing in the logic is not followed: all it can do is to make the sensor miss
    the hit of a train that comes before it is rearmed, and that is a lost hit.
    """

    ticks = True

    def prepare(self, work: Clockwork) -> None:
        super().prepare(work)
        self.stays = isinstance(self.kind, StuckClosed)
        call = "shut" if self.stays else "pass"
        inputs = work.spots.numbering.inputs
        on_track = {number for stretch in work.rails.stretches for number, _ in stretch.sensors}
        self.sensors = [
            (item.name, item.index, work.machine.event((call, item.index)))
            for item in inputs
            if item.index in on_track
        ]
        plan = work.machine.plan[w.PLAN_GPIO]
        self.deaf = {
            number: work.clock.ms(plan[number][3], sum(plan[number][1:4])) for _, number, _ in self.sensors
        }

    def hears(self, f: int, j: int, sensor: int) -> bool:
        return f != 1 + sensor

    def lost_as(self, f: int, j: int, sensor: int) -> int:
        return 0

    def runs(self, f: int) -> bool:
        return f == 0 or (f != MENDED and not self.stays)

    def own(self, draft: Draft) -> Iterator[Iterator[Row]]:
        work = self.work
        at = work.fault_at
        if draft.fault:
            draft.fault = MENDED
            draft.clocks[at] = (False, 0, 0, ALWAYS)
            yield work.rows_of(draft, Told("", "the sensor is rearmed"))
            return
        later = draft.copy()
        later.clocks[at] = (False, 1, 1, ALWAYS)
        yield work.rows_of(later, Told("", "time goes by", "tick"))
        for name, number, event in self.sensors:
            after, started, _ = work.reaction.of(draft.logic, event)
            if after == draft.logic and not started and not self.stays:
                continue
            other = draft.copy()
            other.fault = 1 + number
            other.clocks[at] = (False, 0, 0, ALWAYS)
            if not self.stays:
                other.clocks[at] = (False, *self.deaf[number], ALWAYS)
            what = "closes though no train is there, and stays closed" if self.stays else Phantom.words
            yield work.react(
                other,
                event,
                Told("", f"{name} {what}", "shut" if self.stays else Phantom.kind, number, event),
            )


def timed_fault(kind: type[NoFault]) -> TimedFault:
    """The fault with a clock."""
    return TimedPhantom(kind) if issubclass(kind, Phantom) else TimedFault(kind)


TIMED_FAULTS: tuple[type[NoFault], ...] = (LostHit, Phantom, StuckOpen, StuckClosed, MagnetLost)
NO_FAULT = TimedFault()

__all__ = ["NO_FAULT", "TIMED_FAULTS", "TimedFault", "TimedPhantom", "timed_fault"]
