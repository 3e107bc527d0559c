"""One coil: current, heat of a pulse and of the busiest rate, time to its insulation class when stuck on.

A coil loses no heat to a pulse's surroundings while the pulse lasts; between pulses it cools with one
time constant. The resistance of copper rises as it warms (IEC 60028). Units stand last in the names.
Impossible values raise ValueError.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from reedway.electrics import copper


@dataclass(frozen=True)
class Coil:
    """A winding as measured: resistance at 20 degrees C, what warms it, what it may reach, how it cools."""

    resistance_ohm: float
    heat_j_k: float  # heat that warms it by one kelvin
    limit_c: float  # it must never be hotter: its insulation class
    cooling_k_w: float  # kelvin above its surroundings per steady watt
    inductance_h: float = 0.0

    def __post_init__(self) -> None:
        if min(self.resistance_ohm, self.heat_j_k, self.cooling_k_w) <= 0 or self.inductance_h < 0:
            raise ValueError("resistance, heat capacity and cooling of a coil are above 0")

    @property
    def cooling_s(self) -> float:
        """Time in which a warm coil loses 63 % of its warmth."""
        return self.cooling_k_w * self.heat_j_k


@dataclass(frozen=True)
class Drive:
    """What is put across a coil: volts (rms when a frequency is given) behind a resistance of wires."""

    voltage_v: float
    frequency_hz: float = 0.0  # 0: direct current
    series_ohm: float = 0.0

    def __post_init__(self) -> None:
        if self.voltage_v <= 0 or self.frequency_hz < 0 or self.series_ohm < 0:
            raise ValueError("a voltage is above 0; a frequency and a resistance are not below")


def reactance_ohm(coil: Coil, drive: Drive) -> float:
    """What the inductance adds to the resistance on alternating current; 0 on direct current."""
    return 2 * math.pi * drive.frequency_hz * coil.inductance_h


def inductance_from_ac_h(resistance_ohm: float, voltage_v: float, current_a: float, hz: float) -> float:
    """Inductance from the current that a coil draws on alternating current."""
    impedance = voltage_v / current_a
    if impedance <= resistance_ohm:
        raise ValueError("a coil on alternating current draws less than its resistance alone would")
    return math.sqrt(impedance**2 - resistance_ohm**2) / (2 * math.pi * hz)


def current_a(coil: Coil, drive: Drive, temperature_c: float) -> float:
    """Steady current (rms on AC): V/R on DC, V/Z on AC."""
    resistance = coil.resistance_ohm * copper.resistance_ratio(temperature_c) + drive.series_ohm
    return drive.voltage_v / math.hypot(resistance, reactance_ohm(coil, drive))


def power_w(coil: Coil, drive: Drive, temperature_c: float) -> float:
    """Heat made in the winding by the steady current."""
    hot_ohm = coil.resistance_ohm * copper.resistance_ratio(temperature_c)
    return current_a(coil, drive, temperature_c) ** 2 * hot_ohm


def power_w_max(coil: Coil, drive: Drive, from_c: float) -> float:
    """Most power the winding can take, wires left out: cold on DC; on AC where R meets X, if it does."""
    bare = replace(drive, series_ohm=0.0)
    x_ohm = reactance_ohm(coil, drive)
    cold_ohm = coil.resistance_ohm * copper.resistance_ratio(from_c)
    if x_ohm <= cold_ohm:
        return power_w(coil, bare, from_c)
    return drive.voltage_v**2 / (2 * x_ohm)  # the most that any resistance takes behind this reactance


def dc_excess(coil: Coil, frequency_hz: float, temperature_c: float = 20.0) -> float:
    """How many times the current of AC of the same voltage a coil draws on DC: Z/R."""
    hot_ohm = coil.resistance_ohm * copper.resistance_ratio(temperature_c)
    return math.hypot(hot_ohm, 2 * math.pi * frequency_hz * coil.inductance_h) / hot_ohm


def seconds_between(coil: Coil, drive: Drive, from_c: float, to_c: float) -> float:
    """Time for the winding to warm from one temperature to another with the supply left on.

    No heat leaves the coil: earlier than in truth, so on the safe side. Wires are left out.
    C dT = V2 R / (R2 + X2) dt with R = R20 (1 + a (T - 20)), integrated in closed form.
    """
    if to_c <= from_c:
        return 0.0
    x_ohm = reactance_ohm(coil, drive)
    below, above = (copper.resistance_ratio(c) for c in (from_c, to_c))
    integral = coil.resistance_ohm * (above**2 - below**2) / 2 + x_ohm**2 / coil.resistance_ohm * math.log(
        above / below
    )
    return coil.heat_j_k / copper.ALPHA_1_K * integral / drive.voltage_v**2


def temperature_after_c(coil: Coil, drive: Drive, from_c: float, seconds: float) -> float:
    """Temperature after the supply has been on so long, no heat leaving the coil."""
    low, high = from_c, from_c + 1.0
    while seconds_between(coil, drive, from_c, high) < seconds:
        high = from_c + 2 * (high - from_c)
    for _ in range(100):
        middle = (low + high) / 2
        if seconds_between(coil, drive, from_c, middle) < seconds:
            low = middle
        else:
            high = middle
    return high


def rise_k(coil: Coil, energy_j: float) -> float:
    """Rise from one pulse's energy."""
    return energy_j / coil.heat_j_k


def busiest_rise_k(coil: Coil, pulse_j: float, pulses: int, cool_s: float) -> float:
    """Highest rise that a heat budget allows: never more than `pulses + window/cool` in any window.

    The worst train of pulses that the budget lets through is one every `cool` for ever, then the
    `pulses` at once: r (n + 1 / (exp(cool/tau) - 1)), the sum of the decaying rises.
    """
    return rise_k(coil, pulse_j) * (pulses + _steady(coil, cool_s))


def _steady(coil: Coil, cool_s: float) -> float:
    exponent = cool_s / coil.cooling_s
    return 0.0 if exponent > 700 else 1 / math.expm1(exponent)


def pulses_allowed(coil: Coil, pulse_j: float, cool_s: float, ambient_c: float, pulses_max: int = 20) -> int:
    """Largest number of pulses at once, with one more every `cool`, that keeps within the limit; 0: none."""
    room = (coil.limit_c - ambient_c) / rise_k(coil, pulse_j) - _steady(coil, cool_s)
    return max(0, min(pulses_max, math.floor(room)))


def cool_needed_s(coil: Coil, pulse_j: float, pulses: int, ambient_c: float) -> float:
    """Shortest `cool` that keeps within the limit with so many pulses at once; infinite: none does."""
    room = (coil.limit_c - ambient_c) / rise_k(coil, pulse_j) - pulses
    return math.inf if room <= 0 else coil.cooling_s * math.log1p(1 / room)


def pulse_s_max(coil: Coil, power: float, cool_s: float, ambient_c: float) -> float:
    """Longest pulse that a budget of one pulse every `cool` bears at this power."""
    energy_j = (coil.limit_c - ambient_c) * coil.heat_j_k / (1 + _steady(coil, cool_s))
    return max(0.0, energy_j / power)


def bears_for_ever_a(coil: Coil, ambient_c: float) -> float:
    """Steady current that takes the coil to its limit and no further."""
    watts = (coil.limit_c - ambient_c) / coil.cooling_k_w
    if watts <= 0:
        return 0.0
    return math.sqrt(watts / (coil.resistance_ohm * copper.resistance_ratio(coil.limit_c)))


def rise_time_s(resistance_ohm: float, inductance_h: float, voltage_v: float, to_a: float) -> float:
    """Time until the current of a coil on DC reaches a value; infinite when it never does."""
    final = voltage_v / resistance_ohm
    if to_a >= final:
        return math.inf
    return -inductance_h / resistance_ohm * math.log1p(-to_a / final)


def whole_cycles_s(seconds: float, frequency_hz: float) -> float:
    """A pulse time rounded up: to whole cycles on AC, to whole milliseconds on DC."""
    if frequency_hz:
        return math.ceil(seconds * frequency_hz - 1e-9) / frequency_hz
    return math.ceil(seconds * 1000 - 1e-6) / 1000
