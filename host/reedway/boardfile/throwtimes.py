"""How long a throw takes, worked out from the plan in the keeper's order: waits, lead, pulse, contact."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from reedlogic import words as w


@dataclass(frozen=True)
class Step:
    """One pulse on the way, times in ms from the order to throw."""

    turnout: int
    waits_ms: int  # before it may begin
    recharge: bool  # the wait is for the supply, not for the pause between pulses
    lead_ms: int
    pulse_ms: int
    contact_ms: int  # until the position contact has agreed
    retry: bool  # a second pulse, since the contact did not agree


@dataclass
class ThrowTime:
    """All steps, and the moment from which every turnout is known to be there."""

    steps: list[Step]
    total_ms: int


class _Keeper:
    """What the coil keeper waits for, without its heat budget."""

    def __init__(self, plan: tuple[Any, ...], free_ms: int, ready_ms: list[int]) -> None:
        self.turnouts = plan[w.PLAN_TURNOUTS]
        self.supplies = plan[w.PLAN_SUPPLIES]
        self.pause_ms = plan[w.PLAN_LIMITS][1]
        self.free_ms = free_ms  # from then on it may begin the next pulse
        self.ready_ms = ready_ms  # of each supply
        self.now_ms = 0

    def begins(self, turnout: int) -> int:
        """When this turnout's pulse could begin."""
        return max(self.now_ms, self.free_ms, self.ready_ms[self.turnouts[turnout][3]])

    def pulse(self, turnout: int, retry: bool) -> Step:
        """One pulse as soon as it may be."""
        row = self.turnouts[turnout]
        recharge_ms, lead_ms, trail_ms, has_output = self.supplies[row[3]]
        begins = self.begins(turnout)
        waited = begins - self.now_ms
        for_supply = waited > 0 and self.ready_ms[row[3]] > self.free_ms
        ended = begins + lead_ms + row[2]
        self.free_ms = ended + max(self.pause_ms, trail_ms if has_output else 0)
        self.ready_ms[row[3]] = ended + recharge_ms
        self.now_ms = ended
        return Step(turnout, waited, for_supply, lead_ms, row[2], 0, retry)


def throw_time(plan: tuple[Any, ...], turnouts: list[int], worst: bool) -> ThrowTime:
    """Throwing these turnouts, cold coils, nothing else asked for.

    Worst: the longest pulse of the layout has just begun, and each position contact agrees only in the last
    moment after the second pulse.
    """
    free_ms, ready_ms = _just_begun(plan) if worst else (0, [0] * len(plan[w.PLAN_SUPPLIES]))
    keeper = _Keeper(plan, free_ms, ready_ms)
    left = sorted(set(turnouts))
    steps: list[Step] = []
    done_ms = 0
    while left:
        outstanding = sum(1 << turnout for turnout in left)
        may = [i for i in left if not plan[w.PLAN_TURNOUTS][i][4] & outstanding]
        turnout = min(may, key=lambda i: (keeper.begins(i), i))
        contact_ms = plan[w.PLAN_TURNOUTS][turnout][10] if worst and has_contact(plan, turnout) else 0
        steps.append(keeper.pulse(turnout, False))
        if contact_ms:
            steps[-1] = _with_contact(steps[-1], contact_ms)
            keeper.now_ms += contact_ms
            steps.append(_with_contact(keeper.pulse(turnout, True), contact_ms))
            keeper.now_ms += contact_ms
        done_ms = keeper.now_ms
        left.remove(turnout)
    return ThrowTime(steps, done_ms)


def _with_contact(step: Step, contact_ms: int) -> Step:
    return Step(
        step.turnout, step.waits_ms, step.recharge, step.lead_ms, step.pulse_ms, contact_ms, step.retry
    )


def has_contact(plan: tuple[Any, ...], turnout: int) -> bool:
    return plan[w.PLAN_TURNOUTS][turnout][8] != w.NONE or plan[w.PLAN_TURNOUTS][turnout][9] != w.NONE


def _just_begun(plan: tuple[Any, ...]) -> tuple[int, list[int]]:
    """When the keeper is free, and each supply ready, after any one pulse that begins now."""
    free_ms, ready_ms = 0, [0] * len(plan[w.PLAN_SUPPLIES])
    for row in plan[w.PLAN_TURNOUTS]:
        recharge_ms, lead_ms, trail_ms, has_output = plan[w.PLAN_SUPPLIES][row[3]]
        ended = lead_ms + row[2]
        free_ms = max(free_ms, ended + max(plan[w.PLAN_LIMITS][1], trail_ms if has_output else 0))
        ready_ms[row[3]] = max(ready_ms[row[3]], ended + recharge_ms)
    return free_ms, ready_ms
