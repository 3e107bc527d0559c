"""Many evenings side by side: closing time, chatter, missed and out-of-turn hits of each sensor; trends."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from statistics import median
from textwrap import wrap
from typing import Any

from reedway.layout.near import listed
from reedway.report.figures import Session
from reedway.report.text import WIDTH, short, table
from reedway.report.trend import EVENINGS_MIN, Trend, mann_kendall

CHANCE = 0.005  # of one series; three are looked at for each sensor
# The least that matters in practice over all evenings together, so that a tiny but steady drift is no alarm.
CLOSED_SHARE, CHATTER_RISE, MISSED_RISE = 0.15, 0.10, 0.02
USUAL_SHARE = 0.2  # of what came before a sensor: below this it was out of turn
HITS_MIN = 10  # an evening with fewer says nothing of a sensor


@dataclass
class Evening:
    """One sensor in one evening."""

    hits: int = 0
    closed_ms: float = 0.0  # median
    chatter: float = 0.0  # closings that rearm suppressed, each hit
    missed: float = 0.0  # share of hits that should have been there
    out_of_turn: int = 0


@dataclass
class Sensor:
    """One sensor over all evenings."""

    name: str
    evenings: list[Evening] = field(default_factory=list)
    closed: Trend | None = None
    chatter: Trend | None = None
    missed: Trend | None = None
    why: list[str] = field(default_factory=list)  # in words, where it tires

    @property
    def is_tiring(self) -> bool:
        return bool(self.why)


def evenings_of(sessions: Sequence[Session]) -> list[Sensor]:
    """Every sensor of the evenings, in the order of their begin; buttons are left out."""
    ordered = sorted(sessions, key=lambda session: _began(session.header.started))
    followers = _followers(ordered)
    usual = _usual(followers)
    names: dict[str, None] = {}
    for session in ordered:
        names |= {n: None for n, tally in session.tally.sensors.items() if not tally.is_button}
    found = [Sensor(name) for name in names]
    for sensor in found:
        for session, pairs in zip(ordered, followers, strict=True):
            sensor.evenings.append(_evening(session, sensor.name, pairs, usual))
        _judge(sensor)
    return found


def _began(started: str) -> float:
    try:
        return datetime.fromisoformat(started).timestamp()
    except ValueError:
        return 0.0


def _followers(sessions: Sequence[Session]) -> list[Counter[tuple[str, str]]]:
    """(sensor, the one hit next) of each evening."""
    return [session.tally.pairs for session in sessions]


def _usual(followers: Sequence[Counter[tuple[str, str]]]) -> dict[str, set[str]]:
    """What usually comes before each sensor, learnt from the first half of the evenings."""
    before: dict[str, Counter[str]] = defaultdict(Counter)
    for pairs in followers[: max(1, (len(followers) + 1) // 2)]:
        for (first, then), count in pairs.items():
            before[then][first] += count
    return {
        then: {first for first, count in counts.items() if count >= USUAL_SHARE * counts.total()}
        for then, counts in before.items()
    }


def _evening(
    session: Session, name: str, pairs: Counter[tuple[str, str]], usual: dict[str, set[str]]
) -> Evening:
    tally = session.tally.sensors.get(name)
    if tally is None or not tally.hits:
        return Evening()
    closed = median(tally.closed_ms) if tally.closed_ms else 0.0
    out = sum(n for (a, b), n in pairs.items() if b == name and a not in usual.get(name, {a}))
    # A hit is missed where a sensor that usually follows this one was hit after one that usually precedes it.
    after = {then for then, before in usual.items() if name in before and name != then}
    before = usual.get(name, set()) - {name}
    skipped = sum(
        n for (a, b), n in pairs.items() if a in before and b in after and a not in usual.get(b, set())
    )
    return Evening(tally.hits, closed, tally.chatter / tally.hits, skipped / (tally.hits + skipped), out)


def _judge(sensor: Sensor) -> None:
    """The three series of a sensor, and whether they are those of a reed that tires."""
    told = [evening for evening in sensor.evenings if evening.hits >= HITS_MIN]
    if len(told) < EVENINGS_MIN:
        return
    over = len(told) - 1
    sensor.closed = mann_kendall([evening.closed_ms for evening in told])
    sensor.chatter = mann_kendall([evening.chatter for evening in told])
    sensor.missed = mann_kendall([evening.missed for evening in told])
    first = told[0].closed_ms or 1.0
    change = sensor.closed.slope * over / first
    if _is_sure(sensor.closed, -1) and change <= -CLOSED_SHARE:
        sensor.why.append(f"closed {-100 * change:.0f} % shorter")
    if _is_sure(sensor.chatter, 1) and sensor.chatter.slope * over >= CHATTER_RISE:
        sensor.why.append(f"{sensor.chatter.slope * over:.2f} more closings each hit")
    if _is_sure(sensor.missed, 1) and sensor.missed.slope * over >= MISSED_RISE:
        sensor.why.append(f"{100 * sensor.missed.slope * over:.0f} % more hits missed")


def _is_sure(trend: Trend, way: int) -> bool:
    return trend.z * way > 0 and trend.p < CHANCE


def evenings_json(sensors: Sequence[Sensor]) -> list[dict[str, Any]]:
    """The same for a program."""
    return [
        {
            "sensor": sensor.name,
            "evenings": [vars(evening) for evening in sensor.evenings],
            "closed": vars(sensor.closed) if sensor.closed else None,
            "chatter": vars(sensor.chatter) if sensor.chatter else None,
            "missed": vars(sensor.missed) if sensor.missed else None,
            "tiring": sensor.is_tiring,
            "why": sensor.why,
        }
        for sensor in sensors
    ]


def mixed_lines(sessions: Sequence[Session]) -> Iterator[str]:
    """Names of other layouts are other reeds: says so where the evenings are not all of one layout."""
    names = dict.fromkeys(session.header.layout for session in sessions)
    if len(names) > 1:
        told = f"Careful: these are evenings of {len(names)} layouts ({listed(names)}). Sensors of the same "
        told += "name are taken for one reed here; give the logs of one layout to learn which reed is tiring."
        yield from wrap(told, WIDTH)


def evenings_lines(sensors: Sequence[Sensor], count: int) -> Iterator[str]:
    """All evenings in one table: first, last, and what the trend is."""
    yield f"Over {count} evenings, in the order of their begin (first -> last):"
    rows = []
    for sensor in sensors:
        told = [evening for evening in sensor.evenings if evening.hits]
        first, last = told[0], told[-1]
        rows.append(
            [
                short(sensor.name),
                str(sum(evening.hits for evening in told)),
                f"{first.closed_ms:.0f} -> {last.closed_ms:.0f} ms",
                f"{first.chatter:.2f} -> {last.chatter:.2f}",
                f"{100 * first.missed:.0f} -> {100 * last.missed:.0f} %",
                str(sum(evening.out_of_turn for evening in told)),
            ]
        )
    yield from table(["Sensor", "hits", "closed (median)", "chatter/hit", "missed", "out of turn"], rows)
    tiring = [sensor for sensor in sensors if sensor.is_tiring]
    for sensor in tiring:
        yield f"{sensor.name} seems to tire: over these evenings {', '.join(sensor.why)}."
        yield "    Look at its place and its magnet first, then change the reed."
    if not tiring and any(sensor.closed for sensor in sensors):
        yield "No sensor shows a trend of tiring."
    elif not tiring:
        yield f"A trend needs {EVENINGS_MIN} evenings in which a sensor has {HITS_MIN} hits or more."
