"""Breadth-first search through every state that can be reached; and from where trains can always go on."""

from __future__ import annotations

import gc
import sys
import time
from array import array
from collections.abc import Callable
from dataclasses import dataclass, field

from reedway.proof.world import World

try:
    import resource
except ImportError:  # Windows has no such module
    resource = None  # type: ignore[assignment]

STATES_MAX = 5_000_000
MEMORY_MB_MAX = 2_000
LOOK_EVERY = 1 << 14  # states between two looks at memory and clock

Progress = Callable[["Found"], None]


@dataclass
class Found:
    """What a search came to."""

    states: int = 0
    transitions: int = 0
    dead: int = 0  # states from which nothing leads on
    seconds: float = 0.0
    peak_mb: float = 0.0
    bad: str = ""  # what must not be; at the end of a shortest way
    bad_state: int = -1  # in which it is, or from which the step leads that must not be
    cut_off: str = ""  # "states" or "memory" when the limit ended it
    came_from: dict[int, int] = field(default_factory=dict)  # state -> the one before; in order of finding

    def way_to(self, state: int) -> list[int]:
        """The states of a shortest way from the start."""
        way = [state]
        while self.came_from[way[-1]] != way[-1]:
            way.append(self.came_from[way[-1]])
        return way[::-1]

    @property
    def states_per_s(self) -> float:
        return self.states / self.seconds if self.seconds else 0.0


def peak_mb() -> float:
    """Highest memory of this process so far."""
    if resource is None:
        return 0.0
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / 1024 if sys.platform != "darwin" else peak / 1024**2


def search(
    world: World,
    start: int,
    states_max: int = STATES_MAX,
    memory_mb_max: float = MEMORY_MB_MAX,
    progress: Progress | None = None,
) -> Found:
    """Everything that can come of `start`, until something bad is found or a limit is reached."""
    found = Found()
    began = time.perf_counter()
    came_from = found.came_from
    came_from[start] = start
    level = [start]
    expand = world.expand
    collects = gc.isenabled()
    gc.disable()  # a search makes numbers and lists of numbers only: nothing to collect
    transitions = dead = 0
    looked = LOOK_EVERY
    while level and not found.bad and not found.cut_off:
        following: list[int] = []
        add = following.append
        for state in level:
            after = expand(state)
            if world.bad:
                found.bad, found.bad_state = world.bad, state
                break
            transitions += len(after)
            if not after:
                dead += 1
            for one in after:
                if one not in came_from:
                    came_from[one] = state
                    add(one)
            if len(came_from) > looked:
                looked = len(came_from) + LOOK_EVERY
                found.states, found.transitions = len(came_from), transitions
                found.seconds = time.perf_counter() - began
                found.peak_mb = peak_mb()
                if len(came_from) > states_max:
                    found.cut_off = "states"
                elif found.peak_mb > memory_mb_max:
                    found.cut_off = "memory"
                if progress is not None:
                    progress(found)
                if found.cut_off:
                    break
        level = following
    if collects:
        gc.enable()
    if len(came_from) > states_max and not found.bad:
        found.cut_off = "states"
    found.states, found.transitions, found.dead = len(came_from), transitions, dead
    found.seconds = time.perf_counter() - began
    found.peak_mb = peak_mb()
    return found


def stuck(world: World, found: Found) -> list[tuple[int, int]]:
    """For each train (a state from which it can never move again, its number), if there is one.

    From every other state it can come to a step of its own; so it always comes round again if what is
    possible again and again happens at last.
    """
    states = list(found.came_from)
    number = {state: n for n, state in enumerate(states)}
    into_from = array("I")  # edges, by where they come from
    into_to = array("I")
    alive = [bytearray(len(states)) for _ in world.trains]
    fields = world.fields
    for n, state in enumerate(states):
        for after in world.expand(state):
            m = number[after]
            if m != n:
                into_from.append(n)
                into_to.append(m)
            moved = state ^ after
            for j, (at, mask) in enumerate(fields):
                if moved >> at & mask:
                    alive[j][n] = 1
    back = _by_target(into_from, into_to, len(states))
    worst = []
    for j in range(len(fields)):
        for n, state in enumerate(states):
            if world.spot_of(state, j) == world.gone:
                alive[j][n] = 1
        _spread(alive[j], *back)
        first = alive[j].find(0)
        if first >= 0:
            worst.append((states[first], j))
    return worst


def _by_target(into_from: array[int], into_to: array[int], count: int) -> tuple[array[int], array[int]]:
    """For each state where the edges into it come from: (first of each state, from)."""
    first = array("I", bytes(4 * (count + 1)))
    for m in into_to:
        first[m + 1] += 1
    for m in range(count):
        first[m + 1] += first[m]
    filled = array("I", first)
    origin = array("I", bytes(4 * len(into_from)))
    for n, m in zip(into_from, into_to, strict=True):
        origin[filled[m]] = n
        filled[m] += 1
    return first, origin


def _spread(alive: bytearray, first: array[int], origin: array[int]) -> None:
    """Whoever leads to one that is alive is alive."""
    todo = [n for n, one in enumerate(alive) if one]
    while todo:
        n = todo.pop()
        for before in origin[first[n] : first[n + 1]]:
            if not alive[before]:
                alive[before] = 1
                todo.append(before)
