"""From a layout and a wish to trains standing on the track, switches turned and start pressed."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from random import Random

from reedlogic import words as w
from reedway.boardfile.compile import Compiled
from reedway.electrics.passing import OPERATE_MS
from reedway.layout.model import Start
from reedway.layout.near import did_you_mean
from reedway.problems import ReedwayError
from reedway.trains import standing
from reedway.trains.kinematics import NEVER, SO_FAR, Coast
from reedway.trains.makeup import Makeup, make_up
from reedway.trains.model import Span
from reedway.trains.running.ground import Ground
from reedway.trains.running.hooks import Hooks
from reedway.trains.running.train import Running
from reedway.trains.running.world import World

SWITCHES_US = 500_000  # after power-up
START_US = 2_000_000
PHANTOM_MS = 40
HOUR_US = 3_600_000_000
SLOW, FAST, NARROW, WIDE = "slow", "fast", "narrow", "wide"
CORNERS = tuple(f"{pace} {zone}" for pace in (SLOW, FAST) for zone in (NARROW, WIDE))


@dataclass(frozen=True)
class Wish:
    """What is asked of a run. Without a seed every span is taken at its middle and nothing is drawn."""

    hours: float = 1.0
    start: str = ""  # "": the first in the file
    trains: tuple[str, ...] = ()  # in the order of the start's places; (): as in the file
    seed: int | None = None
    corner: str = ""  # all at one end of their spans: SLOW or FAST, then NARROW or WIDE for the magnets
    speed_spread: float = 0.0  # part of the speed, on top of the declared span
    startup_ms: int = 0  # longest wait between feed and moving
    miss_rate: float = 0.0  # part of all passes
    phantoms_per_hour: float = 0.0  # over all sensors
    bounce: bool = False
    acts: tuple[tuple[int, str], ...] = ()  # ms, what


@dataclass
class Prepared:
    """What every run of one layout has in common."""

    compiled: Compiled
    ground: Ground
    makeups: dict[str, Makeup]
    worked_out: dict[str, Span] = field(default_factory=dict)


def prepare(compiled: Compiled, worked_out: dict[str, Span], moved: frozenset[str] = frozenset()) -> Prepared:
    """LayoutError where lengths, spots or trains are missing; ReedwayError for a train nothing stops."""
    layout = compiled.layout
    ground = Ground(layout, moved)
    makeups = {train.name: make_up(layout.stock, train, worked_out) for train in layout.stock.trains}
    for train in layout.stock.trains:
        if train.when_cut == NEVER and layout.blocks:
            raise ReedwayError(f"{layout.path}:{train.line}: train {train.name} never stops")
    if not layout.starts:
        raise ReedwayError(f"{layout.path}: no way of starting; one is needed to set trains on; add starts:")
    return Prepared(compiled, ground, makeups, worked_out)


def start_named(compiled: Compiled, name: str) -> Start:
    """The start of this name, or the first of the file."""
    starts = compiled.layout.starts
    if not name:
        return starts[0]
    for start in starts:
        if start.name.casefold() == name.casefold():
            return start
    names = [start.name for start in starts]
    raise ReedwayError(
        f"--start {name}: the layout has no such start; allowed are {', '.join(names)}; "
        + did_you_mean(name, names, "write one of these")
    )


class Stage:
    """One run set up: `world` is ready to go."""

    def __init__(self, prepared: Prepared, wish: Wish, hooks: Hooks) -> None:
        self.prepared = prepared
        self.wish = wish
        self.random = Random(wish.seed)
        self.drawn = wish.seed is not None
        self.world = World(prepared.compiled, prepared.ground, hooks)
        self.running: dict[str, Running] = {}
        for number, made in enumerate(prepared.makeups.values()):
            self.running[made.name] = self._train(number, made)
        world = self.world
        world.redraw = self._redraw
        if wish.startup_ms:
            world.startup_us = lambda train: self.random.randrange(wish.startup_ms * 1000 + 1)
        if wish.miss_rate:
            world.contacts.misses = lambda: self.random.random() < wish.miss_rate
        world.contacts.bounce = wish.bounce
        if wish.corner.startswith(SLOW):
            world.contacts.late_us = round(OPERATE_MS * 1000)
        self._begin(start_named(prepared.compiled, wish.start))
        if wish.phantoms_per_hour:
            self._phantom_later(START_US)

    # -- trains -------------------------------------------------------------------------------------------

    def _train(self, number: int, made: Makeup) -> Running:
        train = Running(number, made, self.prepared.ground)
        if self.drawn:
            train.zones = [self.random.uniform(*magnet.operating) for magnet in made.magnets]
        if self.wish.corner:
            pace, zone = self.wish.corner.split()
            end = int(pace == FAST)
            train.speed = made.train.speed[end]
            train.coast = made.train.coasts()[end]
            train.zones = [magnet.operating[int(zone == WIDE)] for magnet in made.magnets]
        return train

    def _redraw(self, train: Running) -> None:
        """How this run of a train is: its speed and how far it will run on."""
        low, high = train.made.train.speed
        if not self.drawn:
            return
        spread = self.wish.speed_spread
        train.speed = self.random.uniform(low * (1 - spread), high * (1 + spread))
        short, long = train.made.train.coasts()
        if short.kind == SO_FAR:
            train.coast = Coast(SO_FAR, self.random.uniform(short.run_on_mm, long.run_on_mm))

    def put(self, name: str, place: str) -> None:
        """Set a train on in a place, its nose in the middle of where `plan` lets it be."""
        ground, train = self.prepared.ground, self.running[name]
        length = ground.lengths[place]
        section = ground.track.number[place]
        if train.length > length.length:
            raise ReedwayError(
                f"{ground.layout.path}:{length.line}: {place}: the {name} is longer than the place "
                f"({math.ceil(train.length)} mm of {math.floor(length.length)} mm): take cars off, or "
                "lengthen it"
            )
        for other in self.world.trains:
            if other.covers(section):
                raise ReedwayError(f"the {name} cannot be set on at {place}: the {other.name} is there")
        self.world.put(train, section, self._nose(train, place))

    def _nose(self, train: Running, place: str) -> float:
        ground = self.prepared.ground
        length = ground.lengths[place]
        live, dead = length.live, length.dead_end or 0.0
        spot = standing.Place(place, live, dead, length.fouling_point)
        number = ground.track.number[place]
        sensors = [x - live for name, (where, x) in ground.sensors.items() if where == number]
        low, high = standing.marks(train.made, spot, sensors)
        if low > high:  # over or short of a sensor then; plan has said so
            low, high = standing.marks(train.made, spot, [])
        if self.wish.corner:
            return live + (low if self.wish.corner.startswith(SLOW) else max(low, high))
        return live + (low + max(low, high)) / 2

    # -- the beginning --------------------------------------------------------------------------------------

    def _begin(self, start: Start) -> None:
        world, names = self.world, self.prepared.compiled.names
        wanted = self._wanted(start)
        for name, place in zip(wanted, start.trains_at, strict=False):
            self.put(name, place.text)
        for text in start.switches:
            number, on = self.switch(" ".join(text.text.split()))
            if on:
                world.at(SWITCHES_US, lambda number=number: world.board.set(number, True))  # type: ignore[misc]
        for turnout in range(len(names.turnouts)):
            world.contacts.points(turnout, 0)
        world.at(START_US, lambda: world.order(w.O_START, w.NONE))

    def _wanted(self, start: Start) -> list[str]:
        """The trains that are set on, in the order of the start's places."""
        known = {name.casefold(): name for name in self.running}
        if not self.wish.trains:
            return self._that_fit(start)
        found = []
        for name in self.wish.trains:
            if name.casefold() not in known:
                raise ReedwayError(
                    f"--trains: there is no train '{name}'; {did_you_mean(name, known.values())}"
                )
            found.append(known[name.casefold()])
        if len(set(found)) < len(found):
            raise ReedwayError("--trains: a train can be in one place only; name each once")
        if len(found) > len(start.trains_at):
            places = ", ".join(str(place) for place in start.trains_at)
            raise ReedwayError(f"--trains: {len(found)} trains for {len(start.trains_at)} places ({places})")
        return found

    def _that_fit(self, start: Start) -> list[str]:
        """A train for each place, in file order; `trains` of a length says who stands there."""
        left, found = list(self.running), []
        for place in start.trains_at:
            length = self.prepared.ground.lengths.get(place.text)
            allowed = [str(name) for name in length.trains] if length else []
            name = next((one for one in left if not allowed or one in allowed), None)
            if name is None:
                break
            left.remove(name)
            found.append(name)
        return found

    def switch(self, words: str) -> tuple[int, bool]:
        """`siding in service` as the number of an input and its level."""
        names = self.prepared.compiled.names
        for number, kind in enumerate(names.input_kinds):
            if kind == "switch":
                for level, word in (
                    (True, names.input_words[number][0]),
                    (False, names.input_words[number][1]),
                ):
                    if words.casefold() == f"{names.inputs[number]} {word}".casefold():
                        return number, level
        raise ReedwayError(f"'{words}': no switch stands so; write for example: turn siding out of service")

    def _phantom_later(self, t: int) -> None:
        """The next phantom hit, after an exponentially distributed wait."""
        wait = self.random.expovariate(self.wish.phantoms_per_hour / HOUR_US)
        sensors = sorted(
            number for number, kind in enumerate(self.prepared.compiled.names.input_kinds) if kind == "sensor"
        )
        sensor = self.random.choice(sensors)

        def act() -> None:
            self.world.contacts.phantom(sensor, PHANTOM_MS)
            self._phantom_later(self.world.now)

        self.world.at(t + math.ceil(wait), act)
