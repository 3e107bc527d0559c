"""Trains with clocks: each runs towards a mark, coasts, stands, or was cut off on its way.

Nobody here knows the logic; `feeds.py` says whether a train is fed, `clockwork.py` puts both together.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from reedway.proof.timed.clock import Ticks
from reedway.proof.timed.course import Course, Mark, Spot

RUN, COAST, STAND, CUT = "run", "coast", "stand", "cut"
STILL = frozenset((STAND, CUT))  # its clock does not go


@dataclass(frozen=True)
class Motion:
    """How a train is moving; its clock shows what is left until the mark, or until it stands."""

    phase: str
    spot: Spot
    mark: Mark | None = None  # RUN, CUT: what comes next
    hashed: int = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "hashed", hash((self.phase, self.spot, self.mark)))

    def __hash__(self) -> int:
        return self.hashed


@dataclass(frozen=True)
class Change:
    """A train's next motion, and its clock: what it shows now, if `keeps`, and from `ticks` more."""

    motion: Motion
    keeps: bool
    ticks: Ticks
    shows_max: int = -1  # only if its clock shows no more than this; -1: always


class Mover:
    """All motions of one train."""

    def __init__(self, course: Course) -> None:
        self.course = course

    def runs(self, spot: Spot, starts: bool = False, rolled: float = 0.0) -> Iterator[Change]:
        """It is fed: it runs towards what comes next."""
        for mark in self.course.next_marks(spot):
            yield Change(Motion(RUN, spot, mark), False, self.course.ticks(spot, mark, starts, rolled))

    def stops(self, spot: Spot) -> Iterator[Change]:
        """It has just passed a mark and is not fed: it coasts until it stands, or comes to the next mark."""
        course = self.course
        yield Change(Motion(COAST, spot), False, course.coast)
        for mark in course.next_marks(spot):
            if course.coasts_to(spot, mark):
                low, high = course.ticks(spot, mark)
                yield Change(Motion(RUN, spot, mark), False, (low, max(high, course.coast[1])))

    def stands(self, motion: Motion) -> Change:
        """It has coasted."""
        last, run_on = motion.spot.last, self.course.run_on
        spot = self.course.stopped(motion.spot, last.low + run_on[0], last.high + run_on[1])
        return Change(Motion(STAND, spot), False, (0, 0))

    def cut(self, motion: Motion) -> Iterator[Change]:
        """The feed of a running train is cut between two marks."""
        course, spot, mark = self.course, motion.spot, motion.mark
        assert mark is not None
        if course.is_even:
            yield Change(Motion(CUT, spot, mark), True, (0, 0))
        else:
            yield Change(Motion(STAND, course.stopped(spot, spot.last.low, mark.high)), False, (0, 0))
        within = course.slide()[1] + course.clock.ticks(0.0, mark.late_s[1])[1]
        yield Change(motion, True, (0, course.coast[1]), within)

    def resumes(self, motion: Motion) -> Iterator[Change]:
        """A train that coasts, stands or was cut off is fed again."""
        course, spot = self.course, motion.spot
        if motion.phase == CUT:
            high = course.clock.ticks(0.0, course.start_s)[1]
            yield Change(Motion(RUN, spot, motion.mark), True, (-course.slide()[1], high))
        elif motion.phase == COAST:
            there = course.stopped(spot, spot.last.low, spot.last.high + course.run_on[1])
            yield from self.runs(there, starts=True)
        else:
            yield from self.runs(spot, starts=True)
