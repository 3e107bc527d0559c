"""An invented evening: rails, contacts and the real controller, scan by scan, and the session log of it."""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random

from examples.contacts import Contacts
from examples.rails import Rails, Stretch, Train
from reedlogic.controller import Controller
from reedlogic.ring import MASK
from reedlogic.words import O_LIFT_OFF, O_SET_ON
from reedway import __version__
from reedway.boardfile.compile import Compiled, compile_layout
from reedway.layout.load import load_bytes
from reedway.sessionlog.header import Header
from reedway.sessionlog.names import Codec

CONTACT_LEAVES_MS = 10  # a position contact, after the pulse began
CONTACT_COMES_MS = 45
Record = tuple[int, int, int, int]


@dataclass
class Story:
    """What is invented: the trains, and what people do. `acts` gets the evening and plans with at()."""

    layout: str  # file name in config/ without .yaml
    name: str
    ms: int
    stretches: dict[str, Stretch]
    trains: list[Train]
    switches: list[str]  # turned on after power-up
    acts: Callable[[Evening], None]
    seed: int
    started: str
    lies: dict[str, str] = field(default_factory=dict)  # how the turnouts were left
    beams: dict[str, str] = field(default_factory=dict)  # detector -> stretch that it watches


class Evening:
    """One story played through."""

    def __init__(self, story: Story, source: bytes) -> None:
        self.story = story
        self.compiled: Compiled = compile_layout(load_bytes(f"{story.layout}.yaml", source))
        names = self.compiled.names
        self.random = Random(story.seed)
        self.contacts = Contacts(names.inputs, self.random)
        self.rails = Rails(story.stretches, story.trains)
        self.rails.over = self._over
        self.rails.lies.update(story.lies or {name: first for name, first, _ in names.turnouts})
        self.controller = Controller(self.compiled.plan)
        self.codec = Codec(names)
        self.now = 0
        self.records: list[Record] = []
        self.passed: list[tuple[int, str, str]] = []  # when which train came over which sensor
        self._planned: list[tuple[int, int, Callable[[], None]]] = []
        self._count = itertools.count()
        self._orders: list[tuple[int, int]] = []
        self._feeds = -1
        self._watchers: list[tuple[str, str, Callable[[], None]]] = []
        self._dark: set[str] = set()  # beams that are broken

    # -- for stories ------------------------------------------------------------------------------------

    def at(self, t: int, act: Callable[[], None]) -> None:
        """Do something at a time."""
        heapq.heappush(self._planned, (t, next(self._count), act))

    def press(self, t: int, button: str) -> None:
        self.at(t, lambda: self.contacts.press(self.now, button, self.random.randint(120, 300)))

    def turn(self, t: int, switch: str, on: bool) -> None:
        self.at(t, lambda: self.contacts.turn(self.now, switch, on))

    def when(self, train: str, sensor: str, act: Callable[[], None]) -> None:
        """Do something when a train next comes over a sensor."""
        self._watchers.append((train, sensor, act))

    def train(self, name: str) -> Train:
        return next(train for train in self.rails.trains if train.name == name)

    def order(self, which: int, place: str = "") -> None:
        """An order from a computer, now."""
        self._orders.append((which, self.compiled.names.places.index(place) if place else 0))

    def lift_off(self, name: str, place: str) -> None:
        """A train is taken off the track, and Reedway is told."""
        self.rails.trains.remove(self.train(name))
        self.order(O_LIFT_OFF, place)

    def set_on(self, train: Train, place: str) -> None:
        self.rails.trains.append(train)
        self.order(O_SET_ON, place)

    # -- the run ------------------------------------------------------------------------------------------

    def play(self) -> None:
        """From the reset to the end of the story."""
        c = self.controller
        c.begin(0, *self.contacts.sample(0))
        c.settle(0)
        for i, switch in enumerate(self.story.switches):
            self.turn(500 + 400 * i, switch, True)
        self.story.acts(self)
        while self.now < self.story.ms:
            step = min(self.rails.next_ms(), self.story.ms - self.now)
            for t in (self.contacts.next_at(), self._planned[0][0] if self._planned else None):
                if t is not None:
                    step = min(step, max(t - self.now, 0))
            due = (c.due - self.now) & MASK
            if due < step:
                step = due
            step = max(step, 1)
            self.now += step
            self.rails.run(self.now, step)
            self._look_at_beams()
            while self._planned and self._planned[0][0] <= self.now:
                heapq.heappop(self._planned)[2]()
            self._scan()

    def _scan(self) -> None:
        c = self.controller
        raw, panel = self.contacts.sample(self.now)
        while c.advance(self.now, raw, panel):
            self._outputs()
        for which, value in self._orders:
            c.order(self.now, which, value)
        self._orders.clear()
        if c.owed:
            c.settle(self.now)
        self._outputs()
        journal = c.journal
        for i in range(journal.held()):
            self.records.append((journal.time(i), journal.kind(i), journal.which(i), journal.value(i)))
        journal.clear()

    def _outputs(self) -> None:
        """What the controller wants goes out to the rails."""
        c = self.controller
        if c.logic.feeds != self._feeds:
            self._feeds = c.logic.feeds
            names = self.compiled.names.blocks
            always = set() if self.compiled.layout.track_feed else {"track feed"}
            self.rails.feed(always | {name for i, name in enumerate(names) if c.logic.feeds >> i & 1})
        if c.keeper.pulse_coil >= 0:
            self._pulse(c.keeper.pulse_coil, c.keeper.pulse_ms)
            c.keeper.pulse_coil = -1

    def _pulse(self, coil: int, ms: int) -> None:
        coils = [turnout[:2] for turnout in self.compiled.plan[7]]
        number = next(i for i, pair in enumerate(coils) if coil in pair)
        name, *positions = self.compiled.names.turnouts[number]
        position = positions[coils[number].index(coil)]
        if self.rails.lies[name] == position:
            return
        self.rails.move_turnout(self.now, name, "")
        self._contact(name, position)
        self.at(self.now + ms, lambda: self.rails.move_turnout(self.now, name, position))

    def _contact(self, name: str, position: str) -> None:
        """The position contacts of a turnout that goes to a position."""
        turnout = next(t for t in self.compiled.layout.turnouts if t.name == name)
        for contact, closes_in in (
            (turnout.contact_first, turnout.first),
            (turnout.contact_second, turnout.second),
        ):
            if contact is None:
                continue
            closed = position == closes_in
            after = CONTACT_COMES_MS if closed else CONTACT_LEAVES_MS
            self.contacts.bouncy(self.now + after, contact, int(closed), 0.5, 2)

    def _over(self, train: Train, sensor: str, closes: bool) -> None:
        self.contacts.reed(self.now, sensor, closes)
        if closes:
            self.passed.append((self.now, train.name, sensor))
        for watcher in [w for w in self._watchers if closes and w[:2] == (train.name, sensor)]:
            self._watchers.remove(watcher)
            watcher[2]()

    def _look_at_beams(self) -> None:
        """Light beams: broken while a train is there, but for the gaps between cars."""
        for detector, stretch in self.story.beams.items():
            is_broken = any(s == stretch for t in self.rails.trains for s, _, _ in self.rails.body(t))
            if is_broken != (detector in self._dark):
                self._dark ^= {detector}
                self.contacts.bouncy(self.now, detector, int(is_broken), 0.5, 2)
            elif is_broken and self.random.random() < 0.02:
                self.contacts.flicker(self.now, detector, self.random.randint(5, 60))

    # -- the log --------------------------------------------------------------------------------------------

    def lines(self) -> list[str]:
        """The session log. It begins at the reset, when no contact is closed."""
        layout = self.compiled.layout
        header = Header(layout.name, layout.sha256, __version__, self.story.started).line()
        first = header[:-1] + ',"note":"invented"}'
        return [first, *(self.codec.line(*r) for r in self.records)]
