"""The coil keeper against the clock: one pulse at a time, then pause and recharge."""

from __future__ import annotations

from dataclasses import dataclass

from reedlogic import words as w
from reedway.layout.model import Layout
from reedway.proof.timed.clock import Clock, Ticks

IDLE, BUSY = -1, -2  # else the turnout that gets its pulse


@dataclass(frozen=True)
class Beat:
    """What the keeper does, and whether a refresh is still to come."""

    doing: int
    refresh: bool = False
    pulsed: int = 0  # ticks from the beginning of the pulse until its points are said to lie


class Keeping:
    """Lengths of pulses and pauses. Heat is not followed: coils are taken to be cool enough."""

    def __init__(self, layout: Layout, plan: tuple, clock: Clock) -> None:
        self.pulse: list[Ticks] = []  # until the points lie
        self.cycle: list[Ticks] = []  # from the beginning of a pulse until the next may begin
        self.one_supply = len({row[3] for row in plan[w.PLAN_TURNOUTS]}) == 1
        for row, turnout in zip(plan[w.PLAN_TURNOUTS], layout.turnouts, strict=True):
            recharge_ms, lead_ms, trail_ms, has_output = plan[w.PLAN_SUPPLIES][row[3]]
            contact_ms = row[10] if row[8] != w.NONE or row[9] != w.NONE else 0
            pulse_ms = lead_ms + row[2]
            low, high = clock.ms(pulse_ms, pulse_ms + contact_ms)
            # Points that feed a track may do so from the beginning of their pulse.
            self.pulse.append((0 if turnout.power_routing else low, high))
            least_ms = max(plan[w.PLAN_LIMITS][1], trail_ms if has_output else 0)
            most_ms = max(least_ms, recharge_ms)
            low_ms = pulse_ms + (most_ms if self.one_supply else least_ms)
            self.cycle.append(clock.ms(low_ms, pulse_ms + most_ms))
        high = max((cycle[1] for cycle in self.cycle), default=0)
        self.refresh: Ticks = (0, high)

    def rest(self, t: int, pulsed: int) -> Ticks:
        """What is left of the cycle when the points lie."""
        low, high = self.cycle[t]
        return max(0, low - pulsed), max(0, high - pulsed)

    def next_turnouts(self, possible: int) -> list[int]:
        """Which of the turnouts it may begin with: with one supply file order decides."""
        found = [t for t in range(len(self.pulse)) if possible >> t & 1]
        return found[:1] if self.one_supply else found
