"""The verdict on one start of a layout with its trains, against the clock."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import permutations

import numpy as np

from reedway.proof.faults import NoFault
from reedway.proof.judge import FAILS, GOES_ON, PROVED, REFUTED, STOPS_SAFELY, UNDECIDED
from reedway.proof.scene import Scene
from reedway.proof.timed.clockwork import Clockwork
from reedway.proof.timed.liveness import on_to_the_end, stuck
from reedway.proof.timed.rails import Rails
from reedway.proof.timed.table import Table
from reedway.proof.timed.timedfaults import NO_FAULT, TimedFault, timed_fault
from reedway.proof.timed.walk import Progress, TimedFound, Walk
from reedway.proof.told import Told
from reedway.trains.makeup import Makeup

HIGH = 32_767


@dataclass
class TimedLimits:
    """When to give up, and whom to tell how far it is."""

    states_max: int
    memory_mb_max: float
    progress: Progress | None = None


@dataclass
class TimedStep:
    """One step of a counterexample: when, what, and the state of the logic before it."""

    ticks: int
    told: Told
    logic: int


@dataclass
class TimedVerdict:
    """What came of one search."""

    start: str
    trains: tuple[str, ...]  # in the order of the start's places
    fault: str
    result: str
    tick_ms: int
    why: str = ""
    states: int = 0
    transitions: int = 0
    standings: int = 0
    seconds: float = 0.0
    peak_mb: float = 0.0
    steps: list[TimedStep] = field(default_factory=list)

    @property
    def is_bad(self) -> bool:
        return self.result in (REFUTED, FAILS)


def orders(scene: Scene, made: list[Makeup]) -> list[tuple[Makeup, ...]]:
    """Every way in which the declared trains can stand at the places of a start."""
    return list(permutations(made, len(scene.places)))


def judge_timed(
    scene: Scene,
    rails: Rails,
    trains: tuple[Makeup, ...],
    limits: TimedLimits,
    kind: type[NoFault] | None = None,
) -> TimedVerdict:
    """One start with these trains: nothing bad, and every train comes round again; or with one fault."""
    fault = timed_fault(kind) if kind is not None else TimedFault()
    work = Clockwork(scene, rails, list(trains), fault)
    table = Table(work)
    found = Walk(table, limits.states_max, limits.memory_mb_max, limits.progress).go()
    names = tuple(made.name for made in trains)
    verdict = TimedVerdict(scene.start, names, fault.name, UNDECIDED, rails.clock.tick_ms)
    verdict.states, verdict.transitions = found.states, found.transitions
    verdict.seconds, verdict.peak_mb = found.seconds, found.peak_mb
    verdict.standings = len(table.standings)
    if found.bad:
        verdict.result, verdict.why = FAILS if kind else REFUTED, found.bad
        way = [*found.way_to(found.bad_from), (found.bad_from, found.bad_row)]
        verdict.steps = tell(table, found, way)
    elif found.cut_off:
        verdict.why = f"the limit of {found.cut_off} was reached"
    else:
        _live(verdict, table, found, kind is not None)
    return verdict


def _live(verdict: TimedVerdict, table: Table, found: TimedFound, has_fault: bool) -> None:
    count = len(verdict.trains)
    stopped = stuck(table, found, count)
    verdict.result = GOES_ON if has_fault else PROVED
    if not stopped:
        return
    state, j = min(stopped)
    verdict.result = STOPS_SAFELY if has_fault else REFUTED
    if len(stopped) == count and count > 1:
        verdict.why = "no train can ever move again"
    else:
        verdict.why = f"the {verdict.trains[j]} can never move again"
    verdict.steps = tell(table, found, found.way_to(state) + on_to_the_end(found, state))


def tell(table: Table, found: TimedFound, way: list[tuple[int, int]]) -> list[TimedStep]:
    """The steps of a way, with their times."""
    steps = []
    ticks = 0
    all_clocks, all_standings = found.joined("clocks"), found.joined("standing")
    shown = np.zeros(table.clocks, np.int16)
    for state, row in way:
        logic = table.work.scene.logic
        if state >= 0:
            shown = all_clocks[state]
            logic = table.standings[int(all_standings[state])].logic
        steps.append(TimedStep(ticks, table.told[row], logic))
        to = int(table.to.array[row])
        if to < 0:
            break
        left = np.maximum(shown * table.keeps.array[row] + table.adds.array[row], 0)
        least = np.where(table.runs.array[to] != 0, left, HIGH).min()
        ticks += int(least) if least < HIGH else 0
    return steps


__all__ = ["NO_FAULT", "TimedLimits", "TimedStep", "TimedVerdict", "judge_timed", "orders", "tell"]
