"""What an event makes of a state of the logic, and which timers it starts: asked of the controller once.

The answer is kept under the bits that the rules let it depend on (proof/support.py), so that the search
against the clock never asks the controller for the same twice.
"""

from __future__ import annotations

from collections.abc import Iterator

from reedlogic import words as w
from reedway.proof import packing as p
from reedway.proof.machine import Machine

Effect = tuple[int, int, bool]  # bits that change, timers that are started, a refresh is asked for


class Reaction:
    """The events of one machine with what they do to timers."""

    def __init__(self, machine: Machine) -> None:
        self.machine = machine
        self.effects: dict[tuple[int, int], Effect] = {}
        self.looked_up = 0

    def of(self, logic: int, event: int) -> tuple[int, int, bool]:
        """The state after an event, the timers it starts (bits), and whether a turnout is asked to where it
        lies already."""
        if event < 0:
            return logic, 0, False
        self.looked_up += 1
        key = (event, logic & self.machine.supports[event])
        found = self.effects.get(key)
        if found is None:
            found = self.ask(logic, event)
            full = self.machine.supports[event] == self.machine.all
            if full or not found[0] & self.machine.settled:  # a fault changes more than the rules say
                self.effects[key] = found
        return logic ^ found[0], found[1], found[2]

    def ask(self, logic: int, event: int) -> Effect:
        """The same of the controller itself."""
        after = self.machine.ask(logic, event)
        explored = self.machine.explored
        started = 0
        for kind, which, value in explored.records():
            if kind == w.R_TIMER:
                started = started | 1 << which if value == 1 else started & ~(1 << which)
        return logic ^ after, started, explored.save()[p.REFRESH] != 0


def followed_timers(machine: Machine) -> list[int]:
    """Timers whose end can make a difference: all but those that only end in a caution nobody asks for."""
    plan = machine.plan
    read: dict[int, int] = {}
    rules = [rule for event in plan[w.PLAN_AT] for rule in event[1:]] + list(plan[w.PLAN_STANDING])
    for conditions, _acts in rules:
        for j in range(0, len(conditions), 3):
            read[conditions[j]] = read.get(conditions[j], 0) | conditions[j + 1]
    idle = _idle_cautions(plan, read.get(w.W_CAUTION, 0))
    found = []
    for timer in range(len(plan[w.PLAN_TIMERS])):
        acts = list(_acts_at_end(plan, timer))
        harmless = all(word in (w.W_LAMP, w.W_NOTE) or _is_idle(word, mask, idle) for word, mask in acts)
        if not harmless or read.get(w.W_TIMER, 0) >> timer & 1:
            found.append(timer)
    return found


def _is_idle(word: int, mask: int, idle: int) -> bool:
    return word == w.W_CAUTION and not mask & ~idle


def _idle_cautions(plan: tuple, read: int) -> int:
    """Cautions that hold no place and that no rule reads."""
    return sum(1 << i for i, holds in enumerate(plan[w.PLAN_CAUTIONS]) if not holds and not read >> i & 1)


def _acts_at_end(plan: tuple, timer: int) -> Iterator[tuple[int, int]]:
    """(word, mask) of all that is done when a timer runs out."""
    number = w.E_TIMER << w.EVENT_SHIFT | timer
    for event in plan[w.PLAN_AT]:
        if event[0] == number:
            for _conditions, acts in event[1:]:
                for j in range(0, len(acts), 3):
                    throws = acts[j] in (w.OP_THROW_A, w.OP_THROW_B, w.OP_START, w.OP_RESTART, w.OP_CANCEL)
                    yield (-1 if throws else acts[j + 1]), acts[j + 2]
