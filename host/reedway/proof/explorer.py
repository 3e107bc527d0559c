"""Breadth-first search through everything that the real logic and what moves on the rails can come to.

A state is the snapshot of the logic layer together with a world: where the trains are, as the caller models
it by hand. From each state the search takes every step there is: each move of the world with the events it
makes, each turnout that can come into position, each running timer that can end. Time plays no part: any of
these may be first. What it finds therefore holds for trains of any speed and throws of any length.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Hashable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import Generic, TypeVar

from reedlogic.ring import INDEX
from reedway.proof.explored import Explored

World = TypeVar("World", bound=Hashable)
# ("hit", input), ("opening", input), ("change", input, level), ("order", which, value)
Call = tuple[str, int] | tuple[str, int, int]

STATES_MAX = 2_000_000
THROWS_MAX = 100  # that one event may lead to, one after the other


@dataclass(frozen=True)
class Move(Generic[World]):
    """One thing that the world can do next."""

    who: str  # the train; "" for what is no train's move
    text: str
    calls: tuple[Call, ...]  # events of the logic that it makes, in this order
    world: World  # as it is afterwards


@dataclass
class Findings:
    """What a search found. It is clean when `wrong` and `stuck` are empty and nothing was cut off."""

    states: int = 0
    transitions: int = 0
    wrong: str = ""  # the first thing that must not be, found on a shortest way to it
    stuck: str = ""  # who can never move again, from the state at the end of `way`
    way: list[str] = field(default_factory=list)  # steps from the start to it
    movers: set[str] = field(default_factory=set)  # who moved at all
    cut_off: bool = False  # there are more states than were allowed

    @property
    def clean(self) -> bool:
        return not (self.wrong or self.stuck or self.cut_off)


class Explorer(Generic[World]):
    """Searches from the state in which its machine is. One explorer, one search."""

    def __init__(
        self,
        machine: Explored,
        moves: Callable[[World, Explored], Iterable[Move[World]]],
        wrong: Callable[[World, Explored], str],
        throws_at_once: bool,
        states_max: int = STATES_MAX,
    ) -> None:
        self.machine = machine
        self.moves = moves
        self.wrong = wrong  # "" when nothing is wrong
        self.throws_at_once = throws_at_once  # else each turnout in position is a step of its own
        self.states_max = states_max
        self.numbers: dict[tuple[tuple[int, ...], World], int] = {}
        self.came_from: list[tuple[int, str]] = []  # per state: state before, step
        self.before: list[list[int]] = []  # per state: all states before it
        self.movers: list[set[str]] = []  # per state: who can move there
        self.todo: deque[tuple[int, tuple[int, ...], World]] = deque()
        self.findings = Findings()

    def explore(self, world: World) -> Findings:
        """Search everything that can come of `world` and the machine as it is now."""
        self._settle_throws()
        self._arrive(-1, "start", "", world)
        while self.todo and not self._is_over():
            number, snapshot, world = self.todo.popleft()
            for step, who, after in self._steps(snapshot, world):
                self.findings.transitions += 1
                self._arrive(number, step, who, after)
                if self._is_over():
                    break
        self.findings.states = len(self.numbers)
        if self.findings.clean:
            self._find_stuck()
        return self.findings

    def _is_over(self) -> bool:
        return bool(self.findings.wrong) or self.findings.cut_off

    # -- one state ------------------------------------------------------------------------------------

    def _steps(self, snapshot: tuple[int, ...], world: World) -> Iterator[tuple[str, str, World]]:
        """(step, who, world after it) for every step from a state; the machine has just taken it."""
        machine = self.machine
        machine.restore(snapshot)
        moves = list(self.moves(world, machine))
        turnouts = machine.throws_possible()
        timers = list(bits(machine.timers_running))
        for move in moves:
            machine.restore(snapshot)
            for name, *values in move.calls:
                getattr(machine, name)(*values)
                self._settle_throws()
            yield move.text, move.who, move.world
        for turnout in turnouts:
            machine.restore(snapshot)
            machine.in_position(turnout)
            self._settle_throws()
            yield f"turnout {turnout} in position", "", world
        for timer in timers:
            machine.restore(snapshot)
            machine.timer_end(timer)
            self._settle_throws()
            yield f"timer {timer} runs out", "", world

    def _settle_throws(self) -> None:
        """With throws at once: every turnout that can come into position does so now."""
        if not self.throws_at_once:
            return
        for _ in range(THROWS_MAX):
            possible = self.machine.throws_possible()
            if not possible:
                return
            self.machine.in_position(possible[0])
        raise RuntimeError(f"{THROWS_MAX} throws and no end: rules throw a turnout to and fro")

    def _arrive(self, before: int, step: str, who: str, world: World) -> None:
        """Machine and world have come into a state: number it if it is new, and judge it."""
        snapshot = self.machine.save()
        number = self.numbers.setdefault((snapshot, world), len(self.numbers))
        if number == len(self.came_from):
            self.came_from.append((before, step))
            self.before.append([])
            self.movers.append(set())
            self.todo.append((number, snapshot, world))
            self.findings.cut_off = len(self.numbers) > self.states_max
            self.findings.wrong = self.wrong(world, self.machine)
            if self.findings.wrong:
                self.findings.way = self._way(number)
        if before >= 0:
            self.before[number].append(before)
            if who:
                self.movers[before].add(who)

    # -- after the search -------------------------------------------------------------------------------

    def _way(self, number: int) -> list[str]:
        steps = []
        while number >= 0:
            number, step = self.came_from[number]
            steps.append(step)
        return steps[::-1]

    def _find_stuck(self) -> None:
        """From every state each train must be able to come to a move of its own again."""
        self.findings.movers = everyone = set[str]().union(*self.movers)
        if not everyone:
            self.findings.stuck, self.findings.way = "everyone", self._way(0)
        for who in sorted(everyone):
            can = [who in movers for movers in self.movers]
            todo = [number for number, it_can in enumerate(can) if it_can]
            while todo:
                for before in self.before[todo.pop()]:
                    if not can[before]:
                        can[before] = True
                        todo.append(before)
            if not all(can):
                self.findings.stuck, self.findings.way = who, self._way(can.index(False))
                return


def bits(word: int) -> Iterator[int]:
    """Numbers of the bits that are set, lowest first."""
    while word:
        low = word & -word
        word ^= low
        yield INDEX[low % 37]
