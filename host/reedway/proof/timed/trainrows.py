"""What becomes of a standing when a train comes to its next mark, or its feed changes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from reedway.proof.timed.course import ENTER, GAP, HIT, LEAVE, OFF, Mark, Spot
from reedway.proof.timed.feeds import DEAD, LIVE
from reedway.proof.timed.motion import COAST, RUN
from reedway.proof.timed.standing import Draft, Row, Standing
from reedway.proof.told import Told

if TYPE_CHECKING:
    from reedway.proof.timed.clockwork import Clockwork


class TrainRows:
    """Of all trains of a clockwork."""

    def __init__(self, work: Clockwork) -> None:
        self.work = work
        self.track = work.track
        self.names = work.names
        self.movers = work.movers
        self.feeds = work.feeds

    def comes(self, standing: Standing, j: int) -> Iterator[Row]:
        """Train j has come to its next mark, or has coasted."""
        motion, mover = standing.motions[j], self.movers[j]
        draft = Draft(standing.logic, list(standing.motions), standing.beat, standing.fault)
        if motion.phase == COAST:
            told = Told(self.names[j], f"comes to stand in {self.track.name(motion.spot.head)}")
            yield from self.work.rows_of(draft.moved(j, mover.stands(motion)), told)
            return
        spot, mark = motion.spot, motion.mark
        assert motion.phase == RUN and mark is not None
        if mark.kind == ENTER:
            for target, bad in self.feeds.ahead(spot.head, standing.logic):
                yield from self._enters(draft, j, spot, mark, target, bad)
            return
        there = mover.course.passed(spot, mark)
        if mark.kind == HIT:
            yield from self._hits(draft, j, there, mark)
            return
        told = Told(self.names[j], self._text(mark))
        event = -1
        if mark.kind == LEAVE:
            event = self._detector(mark.section, 0)
        yield from self._goes(draft, j, there, event, told)

    def _text(self, mark: Mark) -> str:
        name = self.track.name(mark.section)
        if mark.kind == LEAVE:
            return f"has left {name} with its last car"
        if mark.kind == GAP:
            return f"comes into the dead end of {name}"
        assert mark.kind == OFF
        return f"takes current beyond {name}"

    def _detector(self, section: int, level: int) -> int:
        detector = self.track.sections[section].detector
        if detector is None:
            return -1
        return self.work.machine.event(("change", self.work.spots.input(detector.text), level))

    def _hits(self, draft: Draft, j: int, there: Spot, mark: Mark) -> Iterator[Row]:
        name = next(item.name for item in self.work.spots.numbering.inputs if item.index == mark.number)
        event = self.work.machine.event(("pass", mark.number))
        told = Told(self.names[j], f"comes to {name}", "hit", mark.number, event)
        for section in self.track.clear_of(name):
            if there.covers >> section & 1:
                where = self.track.name(section)
                why = f"{self.names[j]} is still in {where} when its hit at {name} says that it has left it"
                yield Row(told, None, why)
                return
        if self.work.fault.hears(draft.fault, j, mark.number):
            yield from self._goes(draft, j, there, event, told)
        else:
            unheard = Told(self.names[j], f"comes to {name}, but no hit is seen there", "", mark.number)
            yield from self._goes(draft, j, there, -1, unheard)
        lost = self.work.fault.lost_as(draft.fault, j, mark.number)
        if lost:
            other = draft.copy()
            other.fault = lost
            text = f"comes to {name}, but its hit there is lost"
            yield from self._goes(other, j, there, -1, Told(self.names[j], text, "", mark.number))

    def _enters(self, draft: Draft, j: int, spot: Spot, mark: Mark, target: int, bad: str) -> Iterator[Row]:
        name = self.track.name(target)
        text = f"comes into {name}"
        if self.track.place(spot.head) >= 0:
            text = f"leaves {self.track.name(spot.head)} and {text}"
        told = Told(self.names[j], text)
        if bad:
            yield Row(told, None, f"{self.names[j]} goes {bad}")
            return
        there = self.movers[j].course.enter(spot, mark, target)
        for i, motion in enumerate(draft.motions):
            common = motion.spot.covers & there.covers if i != j else 0
            if common:
                where = self.track.name((common & -common).bit_length() - 1)
                first, second = sorted((i, j))
                why = f"{self.names[first]} and {self.names[second]} are both in {where}"
                yield Row(told, None, why)
                return
        yield from self._goes(draft, j, there, self._detector(target, 1), told)

    def _goes(self, draft: Draft, j: int, there: Spot, event: int, told: Told) -> Iterator[Row]:
        """Train j has passed its mark, and the logic is told of it."""
        mover = self.movers[j]
        told.event = event
        before = draft.logic
        for one in self.work.serve(draft, event):
            fed = self.feeds.of(there, one.logic)
            after: list[Draft] = []
            if fed != DEAD:
                after += [one.moved(j, change) for change in mover.runs(there)]
            if fed != LIVE:
                after += [one.moved(j, change) for change in mover.stops(there)]
            yield from self.work.others(after, before, told, without=j)

    def fed(self, draft: Draft, j: int, before: int) -> list[Draft]:
        """Train j when what it is fed by was `before`."""
        motion, mover = draft.motions[j], self.movers[j]
        now = self.feeds.of(motion.spot, draft.logic)
        if now == before:
            return [draft]
        found = [draft] if now not in (DEAD, LIVE) else []
        if motion.phase == RUN:
            if now == LIVE:
                return [draft]
            return found + [draft.moved(j, change) for change in mover.cut(motion)]
        if now == DEAD:
            return [draft]
        return found + [draft.moved(j, change) for change in mover.resumes(motion)]
