"""The search against the clock against searches written apart, and against a published result.

Fischer's mutual exclusion protocol: a process that finds the lock free sets it within a ticks, waits b ticks
and goes in if the lock is still its own. Never two inside exactly if a < b (Abadi, Lamport, "An old-fashioned
recipe for real time", ACM TOPLAS 16 (1994) 1543, section 2; the protocol as told in Lamport, "A fast mutual
exclusion algorithm", ACM TOCS 5 (1987) 1; both cited from memory).
"""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from proof.timed.naive import naive_fischer, naive_search
from reedway.boardfile.compile import compile_layout
from reedway.layout.load import load
from reedway.proof.faults import LostHit, NoFault, Phantom
from reedway.proof.scene import set_scene
from reedway.proof.timed.clock import Clock
from reedway.proof.timed.clockwork import Clockwork
from reedway.proof.timed.rails import Rails, trains_of
from reedway.proof.timed.seen import Seen
from reedway.proof.timed.standing import ALWAYS, Row
from reedway.proof.timed.table import Table
from reedway.proof.timed.timedfaults import timed_fault
from reedway.proof.timed.walk import Walk
from reedway.proof.told import Told

CONFIG = Path(__file__).parents[3] / "config"


def clockwork(name: str, start: int, tick_ms: int, kind: type[NoFault]) -> Clockwork:
    compiled = compile_layout(load(str(CONFIG / f"{name}.yaml")))
    scene = set_scene(compiled, start)
    made = trains_of(compiled.layout)[: len(scene.places)]
    return Clockwork(scene, Rails(compiled, Clock(tick_ms)), made, timed_fault(kind))


@pytest.mark.parametrize(
    ("name", "start", "tick_ms", "kind"),
    [
        ("two-trains", 0, 200, NoFault),
        ("three-trains-go-sensor", 1, 400, LostHit),
        ("three-trains-go-sensor", 2, 400, NoFault),
        ("three-trains-interlocked", 1, 400, NoFault),
        ("three-trains-interlocked", 1, 400, Phantom),
        ("three-trains-interlocked", 2, 200, LostHit),
    ],
)
def test_states_transitions_and_verdicts_agree(
    name: str, start: int, tick_ms: int, kind: type[NoFault]
) -> None:
    states, transitions, bad = naive_search(clockwork(name, start, tick_ms, kind))
    found = Walk(Table(clockwork(name, start, tick_ms, kind)), 1_000_000, 4_000).go()
    assert bool(found.bad) == bool(bad)
    if not bad:
        assert (found.states, found.transitions) == (states, transitions)


@pytest.mark.parametrize(("name", "tick_ms"), [("three-trains-interlocked", 200), ("two-trains", 100)])
def test_looked_up_reactions_are_the_controllers(name: str, tick_ms: int) -> None:
    """Every answer that was kept is asked of the controller again, on another state with the same bits."""
    work = clockwork(name, 0, tick_ms, NoFault)
    table = Table(work)
    Walk(table, 1_000_000, 4_000).go()
    events = range(len(work.machine.events))
    asked = 0
    for standing in {one.logic for one in table.standings}:
        for event in events:
            looked_up = work.reaction.of(standing, event)
            change, started, refresh = work.reaction.ask(standing, event)
            assert looked_up == (standing ^ change, started, refresh)
            asked += 1
    assert asked >= len(work.reaction.effects) > 10


class Fischer:
    """The protocol as rows of a table: one clock a process, which shows what is left."""

    def __init__(self, count: int, sets_within: int, waits: int) -> None:
        self.clocks = self.timer_at = count
        self.sets_within, self.waits = sets_within, waits
        self.scene = SimpleNamespace(logic=0)

    def running(self, standing: tuple) -> list[bool]:
        return [True] * self.clocks

    def starts(self) -> list[Row]:
        return list(self._to((0, ("idle",) * self.clocks), 0, (0, 0)))

    def _to(self, standing: tuple, i: int, ticks: tuple[int, int]):  # type: ignore[no-untyped-def]
        keeps = tuple(int(j != i) for j in range(self.clocks))
        for ticks_left in range(ticks[0], ticks[1] + 1):
            adds = tuple(ticks_left if j == i else 0 for j in range(self.clocks))
            yield Row(Told("", "step"), standing, "", keeps, adds, (ALWAYS,) * self.clocks)

    def rows(self, standing: tuple, i: int) -> list[Row]:
        lock, places = standing

        def put(place: str, mark: int) -> tuple:
            return mark, (*places[:i], place, *places[i + 1 :])

        place = places[i]
        later = list(self._to(standing, i, (1, 1)))
        if place == "idle":
            return later + (list(self._to(put("wants", lock), i, (0, self.sets_within))) if lock == 0 else [])
        if place == "wants":
            return list(self._to(put("waits", i + 1), i, (self.waits, self.waits)))
        if place == "waits":
            inside = put("inside" if lock == i + 1 else "idle", lock)
            return later + list(self._to(inside, i, (0, 0)))
        return later + list(self._to(put("idle", 0), i, (0, 0)))


@pytest.mark.parametrize("count", [2, 3])
@pytest.mark.parametrize(("sets_within", "waits"), [(1, 1), (1, 2), (2, 2), (2, 3), (3, 2), (0, 1)])
def test_fischers_protocol_is_safe_exactly_if_it_sets_sooner_than_it_waits(
    count: int, sets_within: int, waits: int
) -> None:
    reached, two_inside = naive_fischer(count, sets_within, waits)
    table = Table(Fischer(count, sets_within, waits))  # type: ignore[arg-type]
    Walk(table, 1_000_000, 4_000).go()
    assert set(table.standings) == reached
    assert two_inside == (sets_within >= waits)


def test_states_are_numbered_once_and_in_order() -> None:
    chance = np.random.default_rng(5)
    seen, known = Seen(2), {}
    for _ in range(40):
        part = chance.integers(0, 60, (chance.integers(1, 900), 2)).astype(np.uint64)
        numbers, new = seen.put(part)
        expected_new = []
        for i, row in enumerate(map(tuple, part.tolist())):
            if row not in known:
                known[row] = len(known)
                expected_new.append(i)
            assert numbers[i] == known[row]
        assert new.tolist() == expected_new
    assert seen.count == len(known)
