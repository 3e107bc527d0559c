"""The verdict on one start of a layout: running as it should, and with each single fault."""

from __future__ import annotations

from dataclasses import dataclass, field

from reedway.proof.faults import FAULTS, NoFault
from reedway.proof.liveness import Graph, goes_round_somehow, stuck
from reedway.proof.scene import Scene
from reedway.proof.search import Found, Progress, search
from reedway.proof.told import Told
from reedway.proof.world import World

PROVED, REFUTED, UNDECIDED = "proved", "refuted", "not decided"
GOES_ON, STOPS_SAFELY, FAILS = "goes on", "stops safely", "fails"
TIMELY_STATES_MAX = 300_000  # where a look at orders that work is given up


@dataclass
class Limits:
    """When to give up, and whom to tell how far it is."""

    states_max: int
    memory_mb_max: float
    progress: Progress | None = None


@dataclass
class Verdict:
    """What came of one search."""

    start: str
    lagging: bool
    fault: str  # "" : none
    result: str
    why: str = ""  # what must not be, or who is stuck, or which limit was reached
    states: int = 0
    transitions: int = 0
    seconds: float = 0.0
    peak_mb: float = 0.0
    rests_on_times: bool = False
    steps: list[Told] = field(default_factory=list)  # a shortest way to it
    way: list[int] = field(default_factory=list)  # its states
    queue_was_full: bool = False  # the limit of hits that wait has cut something off

    @property
    def is_bad(self) -> bool:
        return self.result in (REFUTED, FAILS)


def judge(scene: Scene, lagging: bool, limits: Limits) -> Verdict:
    """Running without faults: nothing bad, and every train always comes round again."""
    world, first = scene.world(lagging)
    found = search(world, first, limits.states_max, limits.memory_mb_max, limits.progress)
    verdict = _verdict(scene, lagging, "", found)
    verdict.queue_was_full = world.was_full
    if found.bad:
        verdict.result, verdict.why = REFUTED, found.bad
        _tell(verdict, world, found.way_to(found.bad_state))
        verdict.rests_on_times = _works_somehow(scene, lagging)
    elif not found.cut_off:
        verdict.result = PROVED
        jam = _jam(world, Graph(world, found), found)
        if jam:
            verdict.result, verdict.why, way = REFUTED, *jam
            _tell(verdict, world, way)
            verdict.rests_on_times = goes_round_somehow(Graph(world, found))
    return verdict


def is_sound(scene: Scene, lagging: bool, limits: Limits) -> tuple[bool, int]:
    """Would `judge` find nothing bad; and how many states it took. False too where the limit is reached."""
    world, first = scene.world(lagging)
    found = search(world, first, limits.states_max, limits.memory_mb_max)
    is_good = not (found.bad or found.cut_off or found.dead)
    return is_good and not stuck(Graph(world, found)), found.states


def judge_fault(scene: Scene, lagging: bool, kind: type[NoFault], limits: Limits) -> Verdict | None:
    """With one fault that comes at any moment; None where this layout cannot have it."""
    fault = kind()
    world, first = scene.world(lagging, fault)
    if not fault.is_possible():
        return None
    found = search(world, first, limits.states_max, limits.memory_mb_max, limits.progress)
    verdict = _verdict(scene, lagging, fault.name, found)
    verdict.queue_was_full = world.was_full
    if found.bad:
        verdict.result, verdict.why = FAILS, found.bad
        _tell(verdict, world, found.way_to(found.bad_state))
    elif not found.cut_off:
        jam = _jam(world, Graph(world, found), found)
        verdict.result = STOPS_SAFELY if jam else GOES_ON
        if jam:
            verdict.why, way = jam
            _tell(verdict, world, way)
    return verdict


def possible_faults(names: list[str] | None = None) -> tuple[type[NoFault], ...]:
    """All kinds of fault, or those of these names."""
    return tuple(kind for kind in FAULTS if names is None or kind.name in names)


def _verdict(scene: Scene, lagging: bool, fault: str, found: Found) -> Verdict:
    verdict = Verdict(scene.start, lagging, fault, UNDECIDED)
    verdict.states, verdict.transitions = found.states, found.transitions
    verdict.seconds, verdict.peak_mb = found.seconds, found.peak_mb
    if found.cut_off:
        verdict.why = f"the limit of {found.cut_off} was reached"
    return verdict


def _jam(world: World, graph: Graph, found: Found) -> tuple[str, list[int]] | None:
    """(who can never move again, a shortest way there), or None."""
    stopped = stuck(graph)
    if not stopped:
        return None
    state = stopped[0][0]
    if len(stopped) == len(world.fields) and len(stopped) > 1:
        why = "no train can ever move again"
    else:
        why = f"{world.trains[stopped[0][1]]} can never move again"
    return why, found.way_to(state) + _to_the_end(world, state)


def _to_the_end(world: World, state: int) -> list[int]:
    """From a state in which a train is stuck on to one in which nothing happens any more, if there is one."""
    came_from = {state: state}
    todo = [state]
    for one in todo:
        after = world.expand(one)
        if not after:
            way = Found(came_from=came_from).way_to(one)
            return way[1:]
        for other in after:
            if other not in came_from:
                came_from[other] = one
                todo.append(other)
    return []


def _works_somehow(scene: Scene, lagging: bool) -> bool:
    """Is there an order of events in which all goes well for ever? Then the times decide."""
    world, first = scene.world(lagging)
    found = search(world, first, TIMELY_STATES_MAX, past_bad=True)
    return not found.cut_off and goes_round_somehow(Graph(world, found))


def _tell(verdict: Verdict, world: World, way: list[int]) -> None:
    """The steps between the states of a way."""
    verdict.way = way
    for state, after in zip(way, way[1:], strict=False):
        told: list[Told] = []
        verdict.steps.append(told[world.expand(state, told).index(after)])
    world.bad = ""
