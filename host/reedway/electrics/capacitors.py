"""A capacitor bank: energy, its discharge through a coil, recharge, bleeder.

`Discharge` is the series circuit of a charged capacitor, a resistance and an inductance, over-,
critically and underdamped. Tolerance of electrolytics +-20 % (common data sheets, from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

TOLERANCE = 0.2  # of an electrolytic capacitor's value
SAFE_V = 5.0  # a bank bled to this is taken as empty; common practice, no source


def energy_j(capacitance_f: float, voltage_v: float) -> float:
    """Energy in a charged capacitor."""
    return capacitance_f * voltage_v**2 / 2


def voltage_after_v(capacitance_f: float, voltage_v: float, taken_j: float) -> float:
    """Voltage left after this much energy was taken; 0 when it is more than there was."""
    return math.sqrt(max(0.0, voltage_v**2 - 2 * taken_j / capacitance_f))


def charge_v(
    final_v: float, start_v: float, resistance_ohm: float, capacitance_f: float, time_s: float
) -> float:
    """Voltage of a capacitor charged or bled through a resistance."""
    return final_v + (start_v - final_v) * math.exp(-time_s / (resistance_ohm * capacitance_f))


def recharge_s(resistance_ohm: float, capacitance_f: float, share: float) -> float:
    """Time to charge an empty capacitor to this share of the supply's voltage."""
    if not 0 <= share < 1:
        raise ValueError("a share of the voltage is from 0 to below 1")
    return -resistance_ohm * capacitance_f * math.log1p(-share)


def bleed_s(resistance_ohm: float, capacitance_f: float, from_v: float, to_v: float) -> float:
    """Time for a bleeder to bring a capacitor down to a voltage."""
    return resistance_ohm * capacitance_f * math.log(max(1.0, from_v / to_v))


def share_needed(capacitance_f: float, voltage_v: float, least_v: float) -> float:
    """Share of the full voltage at which a bank can throw again."""
    if capacitance_f <= 0 or voltage_v <= 0:
        raise ValueError("capacitance and voltage are above 0")
    return min(1.0, least_v / voltage_v)


def peak_inrush_a(voltage_v: float, resistance_ohm: float) -> float:
    """First current into an empty capacitor."""
    return voltage_v / resistance_ohm


@dataclass(frozen=True)
class Discharge:
    """A charged capacitor let loose on a coil, with all the resistance of the loop."""

    capacitance_f: float
    voltage_v: float
    resistance_ohm: float
    inductance_h: float

    def __post_init__(self) -> None:
        if min(self.capacitance_f, self.voltage_v, self.resistance_ohm, self.inductance_h) <= 0:
            raise ValueError("capacitance, voltage, resistance and inductance are above 0")

    @property
    def critical_ohm(self) -> float:
        """Resistance at which the current just does not swing back."""
        return 2 * math.sqrt(self.inductance_h / self.capacitance_f)

    @property
    def damping(self) -> float:
        """Above 1: the current does not swing back."""
        return self.resistance_ohm / self.critical_ohm

    @property
    def _alpha(self) -> float:
        return self.resistance_ohm / (2 * self.inductance_h)

    @property
    def _omega2(self) -> float:  # above 0: overdamped
        return self._alpha**2 - 1 / (self.inductance_h * self.capacitance_f)

    def _waves(self, time_s: float) -> tuple[float, float]:
        """e^-at cosh(wt) and e^-at sinh(wt)/w; the circular functions when underdamped."""
        alpha, omega = self._alpha, math.sqrt(abs(self._omega2))
        fade = math.exp(-alpha * time_s)
        angle = omega * time_s
        if angle < 1e-4:
            sign = 1 if self._omega2 > 0 else -1
            return fade * (1 + sign * angle**2 / 2), fade * time_s * (1 + sign * angle**2 / 6)
        if self._omega2 < 0:
            return fade * math.cos(angle), fade * math.sin(angle) / omega
        slow = math.exp(-time_s / (self.inductance_h * self.capacitance_f * (alpha + omega)))
        fast = math.exp(-(alpha + omega) * time_s)
        return (slow + fast) / 2, (slow - fast) / (2 * omega)

    def current_a(self, time_s: float) -> float:
        """Current so long after the switch closed."""
        return self.voltage_v / self.inductance_h * self._waves(time_s)[1]

    def capacitor_v(self, time_s: float) -> float:
        """Voltage left on the capacitor so long after the switch closed."""
        even, odd = self._waves(time_s)
        return self.voltage_v * (even + self._alpha * odd)

    def heat_j(self, time_s: float) -> float:
        """Energy turned into heat in the resistance by then."""
        left = energy_j(self.capacitance_f, abs(self.capacitor_v(time_s)))
        return (
            energy_j(self.capacitance_f, self.voltage_v)
            - left
            - (self.inductance_h * self.current_a(time_s) ** 2 / 2)
        )

    @property
    def peak_s(self) -> float:
        """When the current is highest."""
        omega = math.sqrt(abs(self._omega2))
        if omega < 1e-6 * self._alpha:
            return 1 / self._alpha
        if self._omega2 < 0:
            return math.atan2(omega, self._alpha) / omega
        sum_of_roots = self._alpha + omega
        other = 1 / (self.inductance_h * self.capacitance_f * sum_of_roots)
        return math.log(sum_of_roots / other) / (2 * omega)

    @property
    def peak_a(self) -> float:
        """Highest current."""
        return self.current_a(self.peak_s)

    def above(self, least_a: float) -> tuple[float, float] | None:
        """When the current first rises above a value and when it falls below it again; None: never above."""
        if least_a <= 0:
            raise ValueError("the least current is above 0")
        top = self.peak_s
        if self.current_a(top) <= least_a:
            return None
        half_s = math.pi / math.sqrt(-self._omega2) if self._omega2 < 0 else math.inf  # swings back there
        after = min(2 * top, half_s)
        while after < half_s and self.current_a(after) > least_a:
            after = min(2 * after, half_s)
        return self._crossing(0.0, top, least_a), self._crossing(after, top, least_a)

    def _crossing(self, below_s: float, above_s: float, least_a: float) -> float:
        for _ in range(80):
            middle = (below_s + above_s) / 2
            if self.current_a(middle) > least_a:
                above_s = middle
            else:
                below_s = middle
        return (below_s + above_s) / 2
