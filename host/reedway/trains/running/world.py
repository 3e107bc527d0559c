"""Trains and controller together, event by event: what comes first is served, then the next is looked for."""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Callable

from reedway.boardfile.compile import Compiled
from reedway.trains.running import apart
from reedway.trains.running.contacts import Contacts
from reedway.trains.running.controlled import Controlled
from reedway.trains.running.ground import Ground
from reedway.trains.running.hooks import Hooks
from reedway.trains.running.train import (
    CLOSES,
    COAST,
    ENTER,
    FOUL,
    LEAVE,
    NEVER_US,
    OPENS,
    PICK_UP,
    RISE,
    RUN,
    STAND,
    Running,
)

US_PER_MS = 1000


class World:
    """One run. `hooks` is told what happens; `draws` says what this run of everything is like."""

    def __init__(self, compiled: Compiled, ground: Ground, hooks: Hooks) -> None:
        self.compiled = compiled
        self.ground = ground
        self.hooks = hooks
        self.board = Controlled(compiled, hooks.record)
        self.contacts = Contacts(self)
        self.trains: list[Running] = []  # on the track
        self.lies = [0] * len(compiled.layout.turnouts)
        self.moving = 0  # turnouts that get a pulse now
        self.live = 0  # feeds that are on
        self.dark = False  # the breaker of the track is out
        self.now = 0  # us
        self.scan_us = 0  # when the controller wants to be asked
        self.is_over = ""  # why the run has ended
        self._planned: list[tuple[int, int, Callable[[], None]]] = []
        self._count = itertools.count()
        self.pairs: dict[int, apart.Pair] = {}  # by the number of the one behind
        self.meet_us = NEVER_US
        self.startup_us: Callable[[Running], int] = lambda train: 0
        self.redraw: Callable[[Running], None] = lambda train: None

    # -- from outside -------------------------------------------------------------------------------------

    def at(self, t: int, act: Callable[[], None]) -> None:
        """Do something at a time in us."""
        heapq.heappush(self._planned, (t, next(self._count), act))

    def order(self, which: int, value: int = 0) -> None:
        self.board.orders.append((which, value))

    def put(self, train: Running, section: int, nose: float) -> None:
        """Set a train on, at rest."""
        for sensor in train.put(section, nose, self.now):
            self.contacts.closes(train, sensor)
        self.trains.append(train)
        self.hooks.put(self.now, train)
        self._refeed(train)
        self._pair()

    def lift(self, train: Running) -> None:
        """Take a train off the track."""
        self.trains.remove(train)
        for sensor in self.contacts.of_train(train):
            self.contacts.opens(train, sensor)
        self.hooks.lifted(self.now, train)
        self._pair()

    def set_dark(self, dark: bool) -> None:
        """The breaker of the track goes out or in."""
        self.dark = dark
        if "power" in self.compiled.names.input_kinds:
            self.board.set(self.compiled.names.input_kinds.index("power"), not dark)
        self._refeed_all()

    def run(self, until: int) -> None:
        """Until a time in us, or until it is over."""
        while not self.is_over:
            self.now = t = self._next_us()
            if t > until:
                self.now = until
                return
            if t >= self.meet_us:
                self._meet()
                continue
            for train in self.trains:
                if train.next_us <= t:
                    self._move(train)
                    break
            else:
                if self._planned and self._planned[0][0] <= t:
                    heapq.heappop(self._planned)[2]()
                else:
                    self._scan()

    def _next_us(self) -> int:
        t = self.scan_us
        if self.board.is_changed:
            t = min(t, -(-self.now // US_PER_MS) * US_PER_MS)
        if self._planned and self._planned[0][0] < t:
            t = self._planned[0][0]
        for train in self.trains:
            if train.next_us < t:
                t = train.next_us
        return min(t, self.meet_us)

    # -- the controller -----------------------------------------------------------------------------------

    def _scan(self) -> None:
        now = self.now // US_PER_MS
        pulse = self.board.scan(now)
        self.scan_us = self.board.due_ms() * US_PER_MS
        if pulse is not None:
            self._pulse(*pulse)
        feeds = self.board.controller.logic.feeds
        if feeds != self.live:
            self.live = feeds
            self._refeed_all()

    def _pulse(self, turnout: int, position: int, ms: int) -> None:
        """A turnout lies as it did until its pulse is over, and then where it was sent."""
        if self.lies[turnout] == position:
            return
        section = self.ground.section_of(turnout)
        for train in self.trains:
            if section >= 0 and train.covers(section):
                self._over("points thrown under a train", train, None, section)
                return
        self.moving |= 1 << turnout
        self.at(self.now + ms * US_PER_MS, lambda: self._arrive(turnout, position))

    def _arrive(self, turnout: int, position: int) -> None:
        self.moving &= ~(1 << turnout)
        self.lies[turnout] = position
        self.contacts.points(turnout, position)
        self._refeed_all()
        self._pair()

    # -- trains -------------------------------------------------------------------------------------------

    def _move(self, train: Running) -> None:
        """Serve the next thing of one train."""
        if train.marks[0][0] > train.s_end and train.end_us <= self.now:
            self._end(train)
            return
        if train.end_us <= self.now and train.marks[0][0] > train.at(self.now) + 1e-6:
            self._end(train)
            return
        where, kind, which, other = train.marks.pop(0)
        if kind == CLOSES:
            self.contacts.closes(train, which)
            self.hooks.closes(self.now, train, which)
        elif kind == OPENS:
            self.contacts.opens(train, which)
        elif kind == PICK_UP:
            section = self._section_of_pick_up(train, where, which)
            train.rails[which] = (section, self.ground.sections[section].rails[other])
            self._refeed(train, where)
        elif kind == ENTER:
            self._enter(train)
        elif kind == LEAVE:
            train.leave(which)
            self.hooks.left(self.now, train, which)
            if self.ground.joins[which]:
                self._pair()  # it may have come between two others
        elif kind == FOUL:
            self._foul(train, which)
        train.look_ahead()

    def _section_of_pick_up(self, train: Running, nose: float, which: int) -> int:
        at = nose - train.made.pick_ups[which]
        for section, origin in reversed(train.path):
            if origin <= at + 1e-6:
                return section
        return train.path[0][0]

    def _end(self, train: Running) -> None:
        stands = train.phase == COAST
        train.end()
        self.hooks.motion(train.t0, train)
        if stands:
            self._stands(train)
        self._pair_of(train)

    def _stands(self, train: Running) -> None:
        self.hooks.stands(train.t0, train, self.contacts.of_train(train))

    def _enter(self, train: Running) -> None:
        """Its nose comes to the end of a section."""
        old, track = train.section, self.ground.track
        targets = track.to[old]
        if len(targets) == 2:
            turnout = self.ground.sections[old].turnout
            target = targets[self.lies[turnout]]
        else:
            target = targets[0]
            turnout = self.ground.sections[target].turnout
        if self.ground.sections[target].turnout >= 0 or len(targets) == 2:
            wrong = bool(self.moving >> turnout & 1)
            if track.is_trailing(target) and len(targets) == 1:
                wrong = wrong or self.lies[turnout] != track.position_into(old, target)
            if wrong:
                self._over("ran against points not set for it", train, None, target)
                return
        train.enter(target)
        if track.is_trailing(target):
            self._foul(train, old, target)
        self.hooks.entered(self.now, train, old)

    def _foul(self, train: Running, place: int, turnout: int = -1) -> None:
        """Its nose is in the way of the other track at trailing points: is somebody there?"""
        track, sections = self.ground.track, self.ground.sections
        turnout = turnout if turnout >= 0 else track.to[place][0]
        for other in self.trains:
            if other is train:
                continue
            for section, origin in other.path:
                if section == place or track.to[section] != [turnout] and section != turnout:
                    continue
                came = [one for one, _ in other.path if track.to[one] == [turnout] and one != place]
                nose_in = section != turnout and (
                    other.section != section or other.at(self.now) - origin > sections[section].fouls
                )
                if (section == turnout and came) or nose_in:
                    self._over("at the points", train, other, turnout)
                    return

    # -- feeds --------------------------------------------------------------------------------------------

    def is_fed(self, train: Running) -> bool:
        """Some pick-up of it is on live rail."""
        if self.dark:
            return False
        live, lies = self.live, self.lies
        for _, rail in train.rails:
            if live & rail.needs == rail.needs:
                if not rail.ways:
                    return True
                for turnout, position in rail.ways:
                    if lies[turnout] == position:
                        return True
        return False

    def _refeed_all(self) -> None:
        for train in self.trains:
            self._refeed(train)

    def _refeed(self, train: Running, nose: float | None = None) -> None:
        """Look whether it is fed; a change begins a new motion at its nose."""
        fed = self.is_fed(train)
        if fed == train.fed:
            return
        train.fed = fed
        if fed and train.phase == STAND:
            wait = self.startup_us(train)
            if wait:
                self.at(self.now + wait, lambda: self._start(train))
            else:
                self._start(train)
            return
        nose = train.at(self.now) if nose is None else nose
        if fed:
            train.drive(self.now, nose)
        elif train.phase in (RISE, RUN):
            train.cut(self.now, nose)
            if train.phase == STAND:
                self._stands(train)
        self.hooks.motion(self.now, train)
        self._pair_of(train)

    def _start(self, train: Running) -> None:
        if not train.fed or train.phase != STAND or train not in self.trains:
            return
        self.redraw(train)
        train.drive(self.now, train.s0)
        self.hooks.starts(self.now, train)
        self.hooks.motion(self.now, train)
        self._pair_of(train)

    # -- apart --------------------------------------------------------------------------------------------

    def _pair(self) -> None:
        """Who is behind whom may have changed: look along the way anew."""
        for pair in self.pairs.values():
            self._tell_apart(pair)
        self.pairs = {}
        if len(self.trains) > 1:
            for train in self.trains:
                found = apart.pair(self.ground, self.lies, self.trains, train, self.now)
                if found is not None:
                    self.pairs[train.number] = found
        self.meet_us = min((pair.meet_us for pair in self.pairs.values()), default=NEVER_US)

    def _pair_of(self, train: Running) -> None:
        """One train moves otherwise from now on: who is behind whom stays."""
        for number, pair in self.pairs.items():
            if pair.behind is train or pair.ahead is train:
                self._tell_apart(pair)
                self.pairs[number] = pair.again(self.now)
        self.meet_us = min((pair.meet_us for pair in self.pairs.values()), default=NEVER_US)

    def _tell_apart(self, pair: apart.Pair) -> None:
        if pair.was_moving:
            least, at = pair.least(self.now)
            self.hooks.apart(at, least, pair)

    def _meet(self) -> None:
        pair = min(self.pairs.values(), key=lambda one: one.meet_us)
        self.now = max(self.now, self.meet_us)
        self._over("head to tail", pair.behind, pair.ahead, pair.behind.section)

    def _over(self, how: str, train: Running, other: Running | None, section: int) -> None:
        """Something that ends the run."""
        self.is_over = how
        self.hooks.collision(self.now, how, train, other, section)

    def close(self) -> None:
        """The last distances are told."""
        self._pair()
