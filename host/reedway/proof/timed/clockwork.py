"""Everything that can happen next, as rows of a table that a search against the clock only has to look up.

A state has a standing (what the logic remembers, how each train moves, what the keeper does, the fault) and
clocks that count down in ticks: one for each train, each timer, the keeper and the fault. A row says what
becomes of a standing when one of its clocks has run down: the standing after it, and of each clock whether it
goes on and what is added. Rows are made when first asked for, with the controller's own code (reaction.py).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import product

from reedlogic import words as w
from reedway.problems import ReedwayError
from reedway.proof.scene import Scene
from reedway.proof.timed.course import Course
from reedway.proof.timed.feeds import DEAD, Feeds
from reedway.proof.timed.keeperrows import KeeperRows
from reedway.proof.timed.keeping import IDLE, Beat
from reedway.proof.timed.motion import STAND, STILL, Motion, Mover
from reedway.proof.timed.rails import Rails
from reedway.proof.timed.reaction import Reaction, followed_timers
from reedway.proof.timed.standing import ALWAYS, TICKS_MAX, Draft, Row, Standing
from reedway.proof.timed.timedfaults import NO_FAULT, TimedFault
from reedway.proof.timed.trainrows import TrainRows
from reedway.proof.told import Told
from reedway.trains.makeup import Makeup


class Clockwork:
    """The standings of one start with these trains, in the order of the start's places."""

    def __init__(
        self, scene: Scene, rails: Rails, trains: list[Makeup], fault: TimedFault = NO_FAULT
    ) -> None:
        self.scene = scene
        self.rails = rails
        self.clock = rails.clock
        self.machine = scene.machine
        self.packing = scene.machine.packing
        self.spots = scene.spots
        self.track = scene.spots.track
        self.names = [f"the {made.name}" for made in trains]
        self.movers = [Mover(Course(rails, made)) for made in trains]
        self.feeds = Feeds(scene.spots, self.packing)
        self.reaction = Reaction(self.machine)
        self.timers = followed_timers(self.machine)
        self.timer_events = [self.machine.event(("timer_end", k)) for k in self.timers]
        self.timer_at = len(trains)
        self.keeper_at = self.timer_at + len(self.timers)
        self.fault_at = self.keeper_at + 1
        self.clocks = self.fault_at + 1
        self.fault = fault
        self.trains = TrainRows(self)
        self.keeper = KeeperRows(self)
        fault.prepare(self)

    # -- from the start -----------------------------------------------------------------------------------

    def starts(self) -> list[Row]:
        """The first standings."""
        spots = []
        for mover, place in zip(self.movers, self.scene.places, strict=True):
            name = self.track.layout.places[place].name
            spots.append(mover.course.standing(self.track.number[name]))
        motions = [Motion(STAND, spot) for spot in spots]
        draft = Draft(self.scene.logic, motions, Beat(IDLE), 0)
        self._set_timers(draft, (1 << len(self.machine.plan[w.PLAN_TIMERS])) - 1)
        if self.fault.ticks:
            draft.clocks[self.fault_at] = (False, 0, 0, ALWAYS)
        drafts = [draft]
        for j in range(len(motions)):
            drafts = [after for one in drafts for after in self.trains.fed(one, j, DEAD)]
        told = Told("", "it is started")
        return [row for one in drafts for kept in self.keeper.keep(one) for row in self.rows_of(kept, told)]

    # -- what goes on in a standing -------------------------------------------------------------------------

    def running(self, standing: Standing) -> list[bool]:
        """Of each clock: does it count down?"""
        found = [motion.phase not in STILL for motion in standing.motions]
        found += [bool(standing.logic >> self.packing.timer_at + k & 1) for k in self.timers]
        return [*found, standing.beat.doing != IDLE, self.fault.runs(standing.fault)]

    def rows(self, standing: Standing, clock: int) -> list[Row]:
        """What can become of a standing when this clock has run down."""
        if clock < self.timer_at:
            return list(self.trains.comes(standing, clock))
        draft = Draft(standing.logic, list(standing.motions), standing.beat, standing.fault)
        if clock < self.keeper_at:
            k = self.timers[clock - self.timer_at]
            told = Told("", f"the timer {self.track.layout.timers[k].name} runs out", "timer", k)
            event = self.timer_events[clock - self.timer_at]
            told.event = event
            return list(self.react(draft, event, told))
        if clock == self.keeper_at:
            return list(self.keeper.ends(draft))
        return [row for part in self.fault.own(draft) for row in part]

    # -- the logic --------------------------------------------------------------------------------

    def serve(self, draft: Draft, event: int) -> list[Draft]:
        """The logic after an event, with its timers."""
        if event < 0:
            return [draft]
        after = draft.copy()
        after.logic, started, refresh = self.reaction.of(draft.logic, event)
        if refresh:
            after.beat = replace(after.beat, refresh=True)
        self._set_timers(after, started)
        return [after]

    def _set_timers(self, draft: Draft, started: int) -> None:
        for n, k in enumerate(self.timers):
            runs = draft.logic >> self.packing.timer_at + k & 1
            if not runs:
                draft.clocks[self.timer_at + n] = (False, 0, 0, ALWAYS)
            elif started >> k & 1:
                time_ms = self.machine.plan[w.PLAN_TIMERS][k]
                low, high = self.clock.ms(time_ms, time_ms)
                draft.clocks[self.timer_at + n] = (False, low, high, ALWAYS)

    def react(self, draft: Draft, event: int, told: Told) -> Iterator[Row]:
        """An event that is no train's."""
        before = draft.logic
        for one in self.serve(draft, event):
            yield from self.others([one], before, told)

    def others(self, drafts: list[Draft], before: int, told: Told, without: int = -1) -> Iterator[Row]:
        """All trains whose feed has changed, then the keeper."""
        if drafts and drafts[0].logic != before:
            for i in range(len(self.movers)):
                if i != without:
                    was = self.feeds.of(drafts[0].motions[i].spot, before)
                    drafts = [after for one in drafts for after in self.trains.fed(one, i, was)]
        for one in drafts:
            for kept in self.keeper.keep(one):
                if isinstance(kept, Draft):
                    yield from self.rows_of(kept, told)
                else:
                    yield Row(told, None, kept)

    # -- rows --------------------------------------------------------------------------------

    def rows_of(self, draft: Draft | str, told: Told) -> Iterator[Row]:
        """Every choice of times."""
        assert isinstance(draft, Draft)
        standing = Standing(draft.logic, tuple(draft.motions), draft.beat, draft.fault)
        keeps, shows = [1] * self.clocks, [ALWAYS] * self.clocks
        ranges = [range(1)] * self.clocks
        for at, (goes_on, low, high, most) in draft.clocks.items():
            if high > TICKS_MAX:
                raise ReedwayError(
                    f"a time of {self.clock.seconds(high):g} s is {high} ticks; at most {TICKS_MAX} can be "
                    f"counted; take ticks of {high * self.clock.tick_ms // TICKS_MAX + 1} ms or more (--tick)"
                )
            keeps[at], shows[at], ranges[at] = int(goes_on), most, range(low, high + 1)
        for adds in product(*ranges):
            yield Row(told, standing, "", tuple(keeps), adds, tuple(shows))
