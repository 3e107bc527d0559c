"""The two verdicts on each turnout's coils: will they throw, will they survive; and what a bank must do."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from reedway.electrics import capacitors, coils, copper, fuses
from reedway.electrics.parts import Wired
from reedway.electrics.units import shown

YES, NO, UNKNOWN = "yes", "no", "not known"
MARGIN = 1.5  # of a recommended pulse over the least; common practice, no source
LEAST_H = 1e-6  # an inductance that was not measured is taken as next to none


@dataclass
class Verdict:
    """An answer and the arithmetic it rests on."""

    answer: str
    because: list[str] = field(default_factory=list)


@dataclass
class Stuck:
    """What happens when a coil is left on."""

    seconds_to_class: float | None
    class_c: float
    saved: Verdict


@dataclass
class Bank:
    """A capacitor bank as it feeds one coil."""

    energy_j: float
    peak_a: float
    peak_ms: float
    needed_v: float | None  # least voltage that still throws
    recharge_ms: float | None  # from after a throw to that
    throws_per_min: float | None
    bleed_s: float | None


def survives(wired: Wired) -> Verdict:
    """At the busiest rate that the heat budget allows, in the warmest surroundings."""
    coil, turnout = wired.coil, wired.turnout
    if coil is None:
        return Verdict(
            UNKNOWN, ["what warms the coil is not known; give winding_wire, copper, or warms and after"]
        )
    top_c = wired.ambient_c + coils.busiest_rise_k(
        coil, wired.pulse_j, turnout.pulses, turnout.cool_ms / 1000
    )
    because = [
        f"one pulse of {shown(wired.on_s * 1000, 'ms')} puts in at most {shown(wired.pulse_j, 'J')}"
        f"{_from_bank(wired)} and warms {shown(coil.heat_j_k, 'J/K')} of copper by "
        f"{shown(coils.rise_k(coil, wired.pulse_j), 'K')}",
        f"{turnout.pulses} at once and one more each {shown(turnout.cool_ms / 1000, 's')}: at most "
        f"{top_c:.0f} °C from {wired.ambient_c:.0f} °C; allowed are {coil.limit_c:.0f} °C "
        f"(class {wired.part.insulation}, {wired.class_c:.0f} °C, less 15 K for the middle of the winding)",
    ]
    return Verdict(YES if top_c <= coil.limit_c else NO, because)


def _from_bank(wired: Wired) -> str:
    """Why that is more than the bank is said to hold."""
    if not (wired.source.bank_f and wired.source.charge_ohm):
        return ""
    return f" (a bank {100 * capacitors.TOLERANCE:.0f} % over its size, and what is charged meanwhile)"


def throws(wired: Wired) -> Verdict:
    """With the coil as hot as it may get, wires warm, the bank at the low end of its tolerance."""
    part = wired.part
    if part.throws_at_v is None:
        return Verdict(UNKNOWN, ["measure the least voltage that throws the turnout and give throws_at"])
    least_a = part.throws_at_v / part.resistance_20_ohm
    hot_c = wired.coil.limit_c if wired.coil else wired.class_c
    hot_ohm = part.resistance_20_ohm * copper.resistance_ratio(hot_c) + wired.drive.series_ohm
    need = f"it needs {shown(least_a, 'A')} for {shown(part.throws_in_s * 1000, 'ms')}"
    if wired.source.bank_f:
        return _throws_from_bank(wired, least_a, hot_ohm, need)
    coil = coils.Coil(part.resistance_20_ohm, 1, hot_c, 1, wired.coil.inductance_h if wired.coil else 0.0)
    amps = coils.current_a(coil, wired.drive, hot_c)
    if wired.drive.frequency_hz:
        least_a = part.throws_at_v / math.hypot(coil.resistance_ohm, coils.reactance_ohm(coil, wired.drive))
        need = f"it needs {shown(least_a, 'A')} (rms) for {shown(part.throws_in_s * 1000, 'ms')}"
    rise_s = coils.rise_time_s(hot_ohm, coil.inductance_h, wired.drive.voltage_v, least_a)
    if wired.drive.frequency_hz:
        rise_s = 0.0 if amps > least_a else math.inf
    pulse_s = wired.turnout.pulse_ms / 1000
    because = [f"{need}; hot ({hot_c:.0f} °C) and behind its wires it gets {shown(amps, 'A')}"]
    if amps <= least_a:
        return Verdict(NO, because)
    because.append(
        f"current is there after {shown(rise_s * 1000, 'ms')} of the pulse's {pulse_s * 1000:.0f} ms"
    )
    return Verdict(YES if rise_s + part.throws_in_s <= pulse_s else NO, because)


def _throws_from_bank(wired: Wired, least_a: float, hot_ohm: float, need: str) -> Verdict:
    circuit = _discharge(wired, hot_ohm, wired.source.voltage_v)
    window = circuit.above(least_a)
    because = [f"{need}; the bank at -20 % gives a hot coil {shown(circuit.peak_a, 'A')} at its peak"]
    if window is None:
        return Verdict(NO, because)
    pulse_s = wired.turnout.pulse_ms / 1000
    enough_s = min(window[1], pulse_s) - window[0]
    because.append(f"it stays above that for {shown(max(0.0, enough_s) * 1000, 'ms')} of the pulse")
    return Verdict(YES if enough_s >= wired.part.throws_in_s else NO, because)


def _discharge(
    wired: Wired, ohm: float, volts: float, tolerance: float = -capacitors.TOLERANCE
) -> capacitors.Discharge:
    inductance = wired.coil.inductance_h if wired.coil else 0.0
    return capacitors.Discharge(wired.source.bank_f * (1 + tolerance), volts, ohm, max(LEAST_H, inductance))


def bank(wired: Wired) -> Bank | None:
    """The bank that feeds this coil; None when there is none."""
    source = wired.source
    if not source.bank_f:
        return None
    cold_ohm = wired.part.resistance_20_ohm + wired.drive.series_ohm
    cold = _discharge(wired, cold_ohm, source.voltage_v, capacitors.TOLERANCE)
    needed = _needed_v(wired)
    recharge_s = None
    if needed is not None and source.charge_ohm:
        left = max(0.0, cold.capacitor_v(wired.turnout.pulse_ms / 1000))
        charge_f = source.bank_f * (1 + capacitors.TOLERANCE)
        top = source.voltage_v
        tau = source.charge_ohm * charge_f
        recharge_s = 0.0 if left >= needed else tau * math.log((top - left) / (top - needed))
    bleed_s = None
    if source.bleeder_ohm:
        high_f = source.bank_f * (1 + capacitors.TOLERANCE)
        bleed_s = capacitors.bleed_s(source.bleeder_ohm, high_f, source.voltage_v, capacitors.SAFE_V)
    return Bank(
        energy_j=capacitors.energy_j(source.bank_f, source.voltage_v),
        peak_a=cold.peak_a,
        peak_ms=cold.peak_s * 1000,
        needed_v=needed,
        recharge_ms=None if recharge_s is None else recharge_s * 1000,
        throws_per_min=None if recharge_s is None else 60 / (recharge_s + wired.turnout.pulse_ms / 1000),
        bleed_s=bleed_s,
    )


def _needed_v(wired: Wired) -> float | None:
    """Least voltage of the bank that still throws a hot coil; None when even the full one does not."""
    part = wired.part
    if part.throws_at_v is None:
        return None
    hot_c = wired.coil.limit_c if wired.coil else wired.class_c
    hot_ohm = part.resistance_20_ohm * copper.resistance_ratio(hot_c) + wired.drive.series_ohm
    least_a = part.throws_at_v / part.resistance_20_ohm
    pulse_s = wired.turnout.pulse_ms / 1000

    def good(volts: float) -> bool:
        window = _discharge(wired, hot_ohm, volts).above(least_a)
        return window is not None and min(window[1], pulse_s) - window[0] >= part.throws_in_s

    low, high = 0.01, wired.source.voltage_v
    if not good(high):
        return None
    for _ in range(40):
        middle = (low + high) / 2
        if good(middle):
            high = middle
        else:
            low = middle
    return high


def stuck(wired: Wired) -> Stuck:
    """How long until the class is reached with a coil left on, and what would save it."""
    source, coil = wired.source, wired.coil
    if coil is None:
        return Stuck(None, wired.class_c, Verdict(UNKNOWN, ["what warms the coil is not known"]))
    to_class = coils.Coil(
        coil.resistance_ohm, coil.heat_j_k, wired.class_c, coil.cooling_k_w, coil.inductance_h
    )
    seconds = coils.seconds_between(to_class, wired.drive, wired.ambient_c, wired.class_c)
    saved = Verdict(NO)
    if source.bank_f and source.charge_ohm:
        amps = source.voltage_v / (source.charge_ohm + coil.resistance_ohm)
        bears = coils.bears_for_ever_a(coil, wired.ambient_c)
        good = amps <= bears
        saved.because.append(
            f"the bank's charging current is {shown(amps, 'A')}; the coil bears {shown(bears, 'A')} for ever"
            + ("" if wired.part.cools_s else " (estimated from its size; measure cools)")
        )
        return Stuck(None if good else seconds, wired.class_c, Verdict(YES if good else NO, saved.because))
    if source.fuse:
        rescue = fuses.saves_coil(source.fuse, to_class, wired.drive, wired.ambient_c)
        fuse_s = "at no time for sure" if math.isinf(rescue.fuse_s) else f"within {shown(rescue.fuse_s, 's')}"
        saved = Verdict(
            YES if rescue.proven else NO,
            [
                f"the coil draws {rescue.first_multiple:.2f} times the fuse's rating cold and "
                f"{rescue.last_multiple:.2f} times at {wired.class_c:.0f} °C; the fuse blows {fuse_s}, "
                f"the coil is at its class after {shown(rescue.coil_s, 's')}"
            ],
        )
    else:
        saved.because.append("no fuse and no limited bank: only the pulse limit and the arm line save it")
    return Stuck(seconds, wired.class_c, saved)


def recommended_pulse_ms(wired: Wired) -> float | None:
    """Half as long again as the least that throws, in whole cycles on AC; None: not known, or it does not."""
    part = wired.part
    if part.throws_at_v is None or throws(wired).answer == NO:
        return None
    hot_c = wired.coil.limit_c if wired.coil else wired.class_c
    hot_ohm = part.resistance_20_ohm * copper.resistance_ratio(hot_c) + wired.drive.series_ohm
    inductance = wired.coil.inductance_h if wired.coil else 0.0
    least_a = part.throws_at_v / part.resistance_20_ohm
    hz = wired.drive.frequency_hz
    rise_s = 0.0 if hz else coils.rise_time_s(hot_ohm, inductance, wired.drive.voltage_v, least_a)
    if math.isinf(rise_s):
        return None
    return 1000 * coils.whole_cycles_s((rise_s + part.throws_in_s) * MARGIN, hz)
