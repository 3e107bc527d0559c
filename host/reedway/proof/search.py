"""Breadth-first search through every state that can be reached; and from where trains can always go on."""

from __future__ import annotations

import gc
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

try:
    import resource
except ImportError:  # Windows has no such module
    resource = None  # type: ignore[assignment]

STATES_MAX = 5_000_000
MEMORY_MB_MAX = 2_000
LOOK_EVERY = 1 << 14  # states between two looks at memory and clock

Progress = Callable[["Found"], None]


class Expanding(Protocol):
    """What can be searched: states are numbers, in which each train has a field of bits.

    `expand` gives the states that one step leads to; it sets `bad` where a state or step must not be.
    """

    bad: str
    fields: list[tuple[int, int]]  # (lowest bit, mask) of each train
    gone: int  # in a field: the train is not on the track

    @property
    def expand(self) -> Callable[[int], list[int]]: ...

    def spot_of(self, state: int, j: int) -> int: ...


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
    world: Expanding,
    start: int,
    states_max: int = STATES_MAX,
    memory_mb_max: float = MEMORY_MB_MAX,
    progress: Progress | None = None,
    past_bad: bool = False,
) -> Found:
    """Everything that can come of `start`, until something bad is found or a limit is reached.

    With `past_bad` it goes on with everything else, and bad steps are not taken.
    """
    found = Found()
    began = time.perf_counter()
    came_from = found.came_from
    came_from[start] = start
    level = [start]
    expand = world.expand
    collects = gc.isenabled()
    gc.disable()  # a search makes numbers and lists of numbers only: nothing to collect
    transitions = dead = 0
    looked = min(LOOK_EVERY, states_max)
    while level and not found.bad and not found.cut_off:
        following: list[int] = []
        add = following.append
        for state in level:
            after = expand(state)
            if world.bad:
                if not past_bad:
                    found.bad, found.bad_state = world.bad, state
                    break
                world.bad = ""
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
