"""What becomes of a standing when the coil keeper begins, or has ended, a pulse or a pause."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from reedway.proof.timed.keeping import BUSY, IDLE, Beat, Keeping
from reedway.proof.timed.standing import ALWAYS, Draft, Row
from reedway.proof.told import Told

if TYPE_CHECKING:
    from reedway.proof.timed.clockwork import Clockwork


class KeeperRows:
    """Of one clockwork."""

    def __init__(self, work: Clockwork) -> None:
        self.work = work
        self.track = work.track
        self.packing = work.packing
        self.keeping = Keeping(work.track.layout, work.machine.plan, work.clock)
        self.throws = [work.machine.event(("in_position", t)) for t in range(len(self.keeping.pulse))]

    def keep(self, draft: Draft) -> list[Draft | str]:
        """The keeper begins what it can; or why it must not."""
        if draft.beat.doing != IDLE:
            return [draft]
        possible = draft.logic >> self.packing.throw_at & self.packing.all_turnouts
        found: list[Draft | str] = []
        for t in self.keeping.next_turnouts(possible):
            under = self._under(draft, t)
            if under:
                return [under]
            low, high = self.keeping.pulse[t]
            for ticks in range(low, high + 1):
                other = draft.copy()
                other.beat = Beat(t, draft.beat.refresh, ticks)
                other.clocks[self.work.keeper_at] = (False, ticks, ticks, ALWAYS)
                found.append(other)
        if found:
            return found
        idle = draft.copy()
        idle.beat = Beat(IDLE)
        idle.clocks[self.work.keeper_at] = (False, 0, 0, ALWAYS)
        if not draft.beat.refresh:
            return [idle]
        refreshes = draft.copy()
        refreshes.beat = Beat(BUSY)
        refreshes.clocks[self.work.keeper_at] = (False, *self.keeping.refresh, ALWAYS)
        return [idle, refreshes]

    def _under(self, draft: Draft, t: int) -> str:
        name = self.track.layout.turnouts[t].name
        bit = 1 << self.track.number[name]
        for motion, train in zip(draft.motions, self.work.names, strict=True):
            if motion.spot.covers & bit:
                return f"{name} is thrown under {train}"
        return ""

    def ends(self, draft: Draft) -> Iterator[Row]:
        """A pulse, or the rest after it, is over."""
        t = draft.beat.doing
        if t == BUSY:
            draft.beat = Beat(IDLE, draft.beat.refresh)
            draft.clocks[self.work.keeper_at] = (False, 0, 0, ALWAYS)
            yield from self.work.others([draft], draft.logic, Told("", "coils and supply are ready again"))
            return
        turnout = self.track.layout.turnouts[t]
        under = self._under(draft, t)
        after = self.work.reaction.of(draft.logic, self.throws[t])[0]
        lies_second = after >> self.packing.second_at + t & 1
        told = Told("", f"{turnout.name} is thrown to {turnout.second if lies_second else turnout.first}")
        told.kind, told.number, told.event = "throw", t, self.throws[t]
        if under:
            yield Row(told, None, under)
            return
        rest = self.keeping.rest(t, draft.beat.pulsed)
        draft.beat = Beat(BUSY, draft.beat.refresh)
        draft.clocks[self.work.keeper_at] = (False, *rest, ALWAYS)
        yield from self.work.react(draft, self.throws[t], told)
