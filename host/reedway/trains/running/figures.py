"""What came of a run: departures, waiting, who was out, how near they came, coils, what went wrong."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import Any

from reedlogic import words as w
from reedway.boardfile.compile import Compiled
from reedway.sessionlog.kinds import KIND_WORDS
from reedway.sessionlog.names import Codec
from reedway.sessionlog.tell import Teller
from reedway.trains.running.apart import Pair
from reedway.trains.running.controlled import Record
from reedway.trains.running.ground import Ground
from reedway.trains.running.hooks import Hooks
from reedway.trains.running.train import Running

TELLING = (w.R_CAUTION, w.R_FAULT, w.R_REFUSED, w.R_NOTE)
TOLD_MAX = 200
US_PER_S = 1e6


@dataclass
class OfTrain:
    """What one train did; seconds."""

    departures: int = 0
    laps: int = 0
    waits: list[float] = field(default_factory=list)
    outs: list[float] = field(default_factory=list)
    since: int | None = None  # us: it stands, or is out, since then
    is_out: bool = False


@dataclass
class Wreck:
    """What ended a run."""

    t: int  # us
    how: str
    train: str
    other: str
    section: str


class Figures(Hooks):
    """Listens to a run from its start order on."""

    def __init__(self, compiled: Compiled, ground: Ground) -> None:
        self.compiled = compiled
        self.ground = ground
        self.codec = Codec(compiled.names)
        self.teller = Teller(compiled.names)
        self.trains: dict[str, OfTrain] = {}
        self.started: int | None = None  # us
        self.ended = 0
        self.wreck: Wreck | None = None
        self.nearest: tuple[float, int, str, str, str] | None = None
        self.resting: Counter[tuple[str, str]] = Counter()
        self.hits: Counter[int] = Counter()
        self.pulses: Counter[int] = Counter()
        self.hottest: dict[int, int] = {}
        self.heat: dict[int, list[int]] = {}
        self.deferred: dict[int, int] = {}
        self.deferral_ms = 0
        self.over: dict[int, tuple[str, str]] = {}  # sensor -> train, section that its tail is still in
        self.early: Counter[tuple[str, str, str]] = Counter()  # sensor, train, section
        self.claims = _claims(ground)
        self.told: list[tuple[int, str, str]] = []  # ms, kind, words
        self.last_move: int = 0
        self.out_s: Counter[int] = Counter()  # trains out -> us
        self.out_now = 0
        self.out_since = 0
        self.lap_at = _on_every_lap(ground)

    # -- trains -------------------------------------------------------------------------------------------

    def put(self, t: int, train: Running) -> None:
        self.trains.setdefault(train.name, OfTrain()).since = t

    def lifted(self, t: int, train: Running) -> None:
        one = self.trains[train.name]
        if one.is_out:
            self._out(t, -1)
        one.since, one.is_out = None, False

    def starts(self, t: int, train: Running) -> None:
        one = self.trains[train.name]
        if one.since is not None and self.started is not None:
            one.waits.append((t - max(one.since, self.started)) / US_PER_S)
        one.since, one.is_out = t, True
        one.departures += 1
        self.last_move = t
        self._out(t, 1)

    def stands(self, t: int, train: Running, over: list[int]) -> None:
        one = self.trains[train.name]
        if one.is_out and one.since is not None:
            one.outs.append((t - one.since) / US_PER_S)
            self._out(t, -1)
        one.since, one.is_out = t, False
        for sensor in over:
            self.resting[train.name, self.compiled.names.inputs[sensor]] += 1

    def entered(self, t: int, train: Running, old: int) -> None:
        self.last_move = t
        if old == self.lap_at:
            self.trains[train.name].laps += 1

    def closes(self, t: int, train: Running, sensor: int) -> None:
        still = [i for i in self.claims.get(sensor, ()) if train.covers(i)]
        self.over.pop(sensor, None)
        if still:
            self.over[sensor] = train.name, self.ground.sections[still[0]].name

    def _out(self, t: int, by: int) -> None:
        self.out_s[self.out_now] += t - max(self.out_since, self.started or 0)
        self.out_now += by
        self.out_since = t

    def apart(self, t: int, least: float, pair: Pair) -> None:
        if self.nearest is None or least < self.nearest[0]:
            section = pair.section if t < pair.t0 + 1 else pair.behind.section
            where = self.ground.sections[section].name
            self.nearest = (max(0.0, least), t, pair.behind.name, pair.ahead.name, where)

    def collision(self, t: int, how: str, train: Running, other: Running | None, section: int) -> None:
        self.wreck = Wreck(
            t, how, train.name, other.name if other else "", self.ground.sections[section].name
        )

    # -- records ------------------------------------------------------------------------------------------

    def record(self, record: Record) -> None:
        t, kind, which, value = record
        if kind == w.R_HIT:
            self.hits[which] += 1
            if which in self.over:
                train, section = self.over[which]
                self.early[self.compiled.names.inputs[which], train, section] += 1
        elif kind == w.R_PULSE:
            self._pulse(t, which)
        elif kind == w.R_DEFERRED:
            self.deferred[which] = t
        elif kind == w.R_START:
            self.started = self.out_since = t * 1000
        if kind in TELLING and len(self.told) < TOLD_MAX:
            word, name, shown = self.codec.by_name(kind, which, value)
            self.told.append((t, KIND_WORDS[kind], self.teller.tell(word, name, shown)))

    def _pulse(self, t: int, coil: int) -> None:
        self.pulses[coil] += 1
        for turnout, row in enumerate(self.compiled.plan[w.PLAN_TURNOUTS]):
            if coil in row[:2]:
                since = self.deferred.pop(turnout, t)
                self.deferral_ms = max(self.deferral_ms, t - since)
                level, due = self.heat.get(coil, [0, t])
                while level and due <= t:
                    level, due = level - 1, due + row[7]
                due = due if level else t + row[7]
                self.heat[coil] = [level + 1, due]
                self.hottest[coil] = max(self.hottest.get(coil, 0), level + 1)

    # -- the end ------------------------------------------------------------------------------------------

    def close(self, t: int) -> None:
        """The run has come to its end."""
        self.ended = t
        self._out(t, 0)
        for one in self.trains.values():
            if one.since is not None and self.started is not None and t > self.started:
                span = (t - max(one.since, self.started)) / US_PER_S
                (one.outs if one.is_out else one.waits).append(span)

    @property
    def faults(self) -> list[tuple[int, str]]:
        return [(t, words) for t, kind, words in self.told if kind == KIND_WORDS[w.R_FAULT]]

    @property
    def hours(self) -> float:
        """From the start to the end."""
        return max(0.0, (self.ended - (self.started or 0)) / US_PER_S / 3600)

    @property
    def departures_an_hour(self) -> float:
        """Of all trains together."""
        return _rate(sum(one.departures for one in self.trains.values()), self.hours)

    def trouble(self) -> str:
        """What went wrong, in a few words; "" when nothing did."""
        if self.wreck is not None:
            return self.wreck.how
        if self.faults:
            return self.faults[0][1]
        if self.early:
            sensor, _, section = min(self.early)
            return f"{sensor} was hit with the tail still in {section}"
        if self.started is None:
            return "not started"
        return ""

    def as_json(self) -> dict[str, Any]:
        """Everything, for --json."""
        hours, names = self.hours, self.compiled.names
        wreck, nearest = self.wreck, self.nearest
        return {
            "hours": round(hours, 4),
            "trains": {name: _train_json(one, hours) for name, one in self.trains.items()},
            "departures_per_hour": self.departures_an_hour,
            "trains_out": {str(n): round(us / 1e6, 3) for n, us in sorted(self.out_s.items()) if us > 0},
            "trains_out_mean": self.mean_out(),
            "nearest": None
            if nearest is None
            else {
                "mm": round(nearest[0], 1),
                "t_s": round(nearest[1] / 1e6, 3),
                "train": nearest[2],
                "ahead": nearest[3],
                "where": nearest[4],
            },
            "collision": None
            if wreck is None
            else {
                "t_s": round(wreck.t / 1e6, 3),
                "how": wreck.how,
                "train": wreck.train,
                "other": wreck.other or None,
                "where": wreck.section,
            },
            "standing_over": [
                {"train": train, "sensor": sensor, "times": n}
                for (train, sensor), n in sorted(self.resting.items())
            ],
            "hit_early": [
                {"sensor": sensor, "train": train, "tail_in": section, "times": n}
                for (sensor, train, section), n in sorted(self.early.items())
            ],
            "hits": {names.inputs[i]: n for i, n in sorted(self.hits.items())},
            "coils": {
                names.coils[i]: {"pulses": n, "heat_max": self.hottest[i]}
                for i, n in sorted(self.pulses.items())
            },
            "longest_deferral_ms": self.deferral_ms,
            "told": [{"t_ms": t, "kind": kind, "words": words} for t, kind, words in self.told],
            "trouble": self.trouble(),
        }

    def mean_out(self) -> float:
        """How many trains were out, on average over time."""
        whole = sum(self.out_s.values())
        return round(sum(n * us for n, us in self.out_s.items()) / whole, 3) if whole else 0.0


def _rate(count: int, hours: float) -> float:
    return round(count / hours, 1) if hours else 0.0


def _train_json(one: OfTrain, hours: float) -> dict[str, Any]:
    return {
        "departures": one.departures,
        "departures_per_hour": _rate(one.departures, hours),
        "laps": one.laps,
        "laps_per_hour": _rate(one.laps, hours),
        "waits": len(one.waits),
        "wait_s_mean": round(sum(one.waits) / len(one.waits), 2) if one.waits else 0.0,
        "wait_s_max": round(max(one.waits, default=0.0), 2),
        "out_s_mean": round(sum(one.outs) / len(one.outs), 2) if one.outs else 0.0,
        "out_s_max": round(max(one.outs, default=0.0), 2),
        "out_share": round(sum(one.outs) / (hours * 3600), 3) if hours else 0.0,
    }


def _claims(ground: Ground) -> dict[int, list[int]]:
    """By sensor: the sections that the whole train is said to have left at its hit."""
    found = {}
    for sensor in ground.layout.sensors:
        found[ground.inputs[sensor.name]] = ground.track.clear_of(sensor.name)
    return {number: sections for number, sections in found.items() if sections}


def _on_every_lap(ground: Ground) -> int:
    """A section that no train can go round without: left, a lap is over."""
    track = ground.track
    for i in range(len(ground.sections)):
        seen, todo = {i}, list(track.to[i])
        rest: set[int] = set()
        while todo:
            one = todo.pop()
            if one in seen or one in rest:
                continue
            rest.add(one)
            todo += track.to[one]
        if track.place(i) < 0 and not _has_ring(track.to, rest):
            return i
    return 0


def _has_ring(to: list[list[int]], sections: set[int]) -> bool:
    """Is there a way round within these sections?"""
    left = set(sections)
    while True:
        ends = {i for i in left if not any(t in left for t in to[i])}
        if not ends:
            return bool(left)
        left -= ends
