"""One or two numbers of a layout over a range: what comes of each, where nothing goes wrong."""

from __future__ import annotations

import copy
import itertools
import multiprocessing
import os
import signal
import threading
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

from reedlogic import words as w
from reedway.boardfile.compile import Compiled, compile_layout
from reedway.layout.load import load
from reedway.layout.model import Layout
from reedway.layout.near import did_you_mean
from reedway.problems import LayoutError, ReedwayError
from reedway.trains.running.acts import plan_acts
from reedway.trains.running.controlled import Record
from reedway.trains.running.figures import Figures
from reedway.trains.running.setup import CORNERS, HOUR_US, START_US, Stage, Wish, prepare, start_named
from reedway.trains.running.world import World

SPOT, TIMER, SPEED = "spot", "time", "speed"
UNITS = {SPOT: "mm", TIMER: "ms", SPEED: "mm/s"}
FINEST = {SPOT: 1.0, TIMER: 10.0, SPEED: 1.0}  # so near the ends of the window are sought
SIDES = {SPOT: ("too near", "too far"), TIMER: ("too short", "too long"), SPEED: ("too slow", "too fast")}
VALUES_MAX = 2000
ORDERS_MAX = 6


@dataclass(frozen=True)
class Vary:
    """One number to vary: of what, and from where to where; mm, ms or mm/s."""

    name: str
    kind: str
    low: float
    high: float
    step: float

    def values(self) -> list[float]:
        count = int((self.high - self.low) / self.step + 1e-9) + 1
        return [self.low + n * self.step for n in range(count)]

    @property
    def title(self) -> str:
        return f"{self.kind} of {self.name}"


@dataclass
class Tried:
    """What came of one value, or pair of values."""

    values: tuple[float, ...]
    runs: int = 0
    departures: float = 0.0  # an hour, mean of the runs in which nothing went wrong
    out: float = 0.0
    wait_s: float = 0.0  # longest
    nearest: float = float("inf")
    kinds: Counter[str] = field(default_factory=Counter)

    @property
    def risk(self) -> float:
        """The part of the runs in which something went wrong."""
        return sum(self.kinds.values()) / self.runs if self.runs else 0.0

    @property
    def kind(self) -> str:
        """What went wrong most often."""
        return self.kinds.most_common(1)[0][0] if self.kinds else ""


@dataclass
class Window:
    """Values from which to which nothing went wrong, and what goes wrong on either side."""

    low: float
    high: float
    below: str  # "" where the range ends before anything goes wrong
    above: str


@dataclass
class Tuned:
    """The whole sweep."""

    layout: Layout
    varied: list[Vary]
    now: tuple[float, ...]  # as the layout file has it
    tried: list[Tried]
    window: Window | None
    runs_each: int


# -- the layout with other numbers --------------------------------------------------------------------------


def kind_of(layout: Layout, text: str) -> tuple[str, str]:
    """Name and kind of what is to be varied: `sensor N1 spot`, `timer let out`, `train railcar speed`."""
    plain = " ".join(text.split())
    low = plain.casefold()
    for first, last, kind, things in (
        ("sensor ", " spot", SPOT, [spot.name for spot in layout.stock.spots]),
        ("timer ", "", TIMER, [timer.name for timer in layout.timers]),
        ("train ", " speed", SPEED, [train.name for train in layout.stock.trains]),
    ):
        if low.startswith(first) and low.endswith(last):
            name = plain[len(first) : len(plain) - len(last)]
            for thing in things:
                if thing.casefold() == name.casefold():
                    return thing, kind
            raise ReedwayError(f"--vary: there is no {first}'{name}'; {did_you_mean(name, things)}")
    raise ReedwayError(
        f"--vary: '{text}' cannot be varied; allowed are 'sensor NAME spot', 'timer NAME', 'train NAME speed'"
    )


def value_now(layout: Layout, name: str, kind: str) -> float:
    """What the layout file has."""
    if kind == TIMER:
        return float(next(timer.time_ms for timer in layout.timers if timer.name == name))
    if kind == SPEED:
        return sum(next(train.speed for train in layout.stock.trains if train.name == name)) / 2
    spot = next(spot for spot in layout.stock.spots if spot.name == name)
    return spot.from_gap if spot.place is not None else (spot.beyond or 0.0)


def changed(compiled: Compiled, varied: list[Vary], values: tuple[float, ...]) -> Compiled:
    """The layout with these values in place of its own. Speeds keep their span around the new middle."""
    layout = copy.copy(compiled.layout)
    layout.stock = copy.deepcopy(layout.stock)
    plan = list(compiled.plan)
    for vary, value in zip(varied, values, strict=True):
        if vary.kind == TIMER:
            times = [
                int(value) if t.name == vary.name else ms
                for t, ms in zip(layout.timers, plan[w.PLAN_TIMERS], strict=True)
            ]
            plan[w.PLAN_TIMERS] = tuple(times)
        elif vary.kind == SPEED:
            train = next(train for train in layout.stock.trains if train.name == vary.name)
            by = value - sum(train.speed) / 2
            train.speed = (max(1.0, train.speed[0] + by), train.speed[1] + by)
        else:
            spot = next(spot for spot in layout.stock.spots if spot.name == vary.name)
            if spot.place is None:
                spot.beyond = value
            elif value >= 0:
                spot.beyond_gap, spot.set_back = value, None
            else:
                spot.beyond_gap, spot.set_back = None, -value
    return replace(compiled, layout=layout, plan=tuple(plan))


# -- runs ---------------------------------------------------------------------------------------------------


def wishes(layout: Layout, compiled: Compiled, base: Wish, seeds: int) -> list[Wish]:
    """All runs of one value: every order of the trains at every corner of their spans, and the seeds."""
    start = start_named(compiled, base.start)
    names = base.trains or tuple(train.name for train in layout.stock.trains)
    count = min(len(names), len(start.trains_at))
    orders = list(itertools.permutations(names, count))[:ORDERS_MAX] if not base.trains else [names]
    found = [replace(base, seed=None, trains=order, corner=corner) for order in orders for corner in CORNERS]
    found += [replace(base, seed=1 + n, trains=orders[n % len(orders)]) for n in range(seeds)]
    return found


class _UntilTrouble(Figures):
    """Figures of a run that ends as soon as something goes wrong."""

    world: World | None = None

    def record(self, record: Record) -> None:
        super().record(record)
        if self.world is not None and record[1] in (w.R_FAULT, w.R_HIT) and self.trouble():
            self.world.is_over = self.trouble()


_HERE: dict[str, object] = {}


def _prepare(path: str, worked_out: dict, varied: list[Vary], base: Wish, seeds: int) -> None:
    """Once in every process."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # where it is not inherited
    compiled = compile_layout(load(path))
    _HERE.update(compiled=compiled, worked_out=worked_out, varied=varied)
    _HERE["wishes"] = wishes(compiled.layout, compiled, base, seeds)


def try_values(values: tuple[float, ...]) -> Tried:
    """All runs of one value; what cannot be at all is what goes wrong then."""
    compiled: Compiled = _HERE["compiled"]  # type: ignore[assignment]
    tried, good = Tried(values), 0
    varied: list[Vary] = _HERE["varied"]  # type: ignore[assignment]
    moved = frozenset(vary.name for vary in varied if vary.kind == SPOT)
    for wish in _HERE["wishes"]:  # type: ignore[attr-defined]
        tried.runs += 1
        try:
            one = changed(compiled, varied, values)
            prepared = prepare(one, _HERE["worked_out"], moved)  # type: ignore[arg-type]
            run = _UntilTrouble(one, prepared.ground)
            stage = Stage(prepared, wish, run)
            plan_acts(stage)
        except LayoutError as problem:
            tried.kinds[problem.complaints[0].message] += 1
            continue
        run.world = stage.world
        stage.world.run(START_US + round(wish.hours * HOUR_US))
        stage.world.close()
        run.close(stage.world.now)
        if run.nearest is not None:
            tried.nearest = min(tried.nearest, run.nearest[0])
        if run.trouble():
            tried.kinds[run.trouble()] += 1
            continue
        good += 1
        tried.departures += sum(one.departures for one in run.trains.values()) / run.hours
        tried.out += run.mean_out()
        tried.wait_s = max([tried.wait_s, *(max(one.waits, default=0.0) for one in run.trains.values())])
    if good:
        tried.departures /= good
        tried.out /= good
    return tried


@contextmanager
def _no_interrupts() -> Iterator[None]:
    if threading.current_thread() is not threading.main_thread():  # others cannot set it, and get none
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


class Trier:
    """Tries values on all cores; closes its processes at the end."""

    def __init__(self, path: str, worked_out: dict, varied: list[Vary], base: Wish, seeds: int) -> None:
        cores = max(1, min(os.cpu_count() or 1, 8))
        arguments = (path, worked_out, varied, base, seeds)
        with _no_interrupts():  # which the processes inherit: Ctrl-C is for the one that ends them
            self.pool = multiprocessing.get_context("spawn").Pool(cores, _prepare, arguments)

    def all(self, values: list[tuple[float, ...]]) -> Iterator[Tried]:
        return self.pool.imap(try_values, values)

    def __enter__(self) -> Trier:
        return self

    def __exit__(self, *_: object) -> None:
        self.pool.terminate()
        self.pool.join()


def tune(
    layout: Layout, varied: list[Vary], trier: Trier, progress: Callable[[int], None], runs_each: int
) -> Tuned:
    """Sweep all values; of one number seek the ends of the window too."""
    now = tuple(value_now(layout, vary.name, vary.kind) for vary in varied)
    every = list(itertools.product(*(vary.values() for vary in varied)))
    tried = []
    for one in trier.all(every):
        tried.append(one)
        progress(len(tried))
    window = None
    if len(varied) == 1:
        window = _window(varied[0], tried, now[0], trier)
    return Tuned(layout, varied, now, tried, window, runs_each)


def _window(vary: Vary, tried: list[Tried], now: float, trier: Trier) -> Window | None:
    """The values around the present one, or else the longest stretch, where nothing went wrong."""
    stretches: list[tuple[int, int]] = []
    for n, one in enumerate(tried):
        if one.risk:
            continue
        if stretches and stretches[-1][1] == n - 1:
            stretches[-1] = stretches[-1][0], n
        else:
            stretches.append((n, n))
    if not stretches:
        return None
    around = [s for s in stretches if tried[s[0]].values[0] <= now <= tried[s[1]].values[0]]
    first, last = (around or sorted(stretches, key=lambda s: s[0] - s[1]))[0]
    low, high = tried[first].values[0], tried[last].values[0]
    below = above = ""
    # The finest step is given away at both ends: on the board a hit counts up to 1 ms sooner or later.
    if first > 0:
        low, below = _edge(vary, low, tried[first - 1], trier)
        low += FINEST[vary.kind]
    if last + 1 < len(tried):
        high, above = _edge(vary, high, tried[last + 1], trier)
        high -= FINEST[vary.kind]
    return Window(low, high, below, above)


def _edge(vary: Vary, good: float, bad: Tried, trier: Trier) -> tuple[float, str]:
    """The last good value before a bad one: quarters of the way between them, again and again."""
    wrong, kind, fine = bad.values[0], bad.kind, FINEST[vary.kind]
    while abs(wrong - good) > fine * 1.001:
        between = [round((good + (wrong - good) * part / 4) / fine) * fine for part in (1, 2, 3)]
        between = [one for one in dict.fromkeys(between) if one not in (good, wrong)]
        if not between:
            break
        for one in trier.all([(value,) for value in between]):
            if one.risk:
                wrong, kind = one.values[0], one.kind
                break
            good = one.values[0]
    return good, kind
