"""What would make a coil throw that does not: each change alone is tried, the least that does it is named."""

from __future__ import annotations

from dataclasses import replace

from reedway.electrics import verdicts
from reedway.electrics.parts import Wired
from reedway.electrics.units import shown

# Usual sizes of electrolytic capacitors: the E3 and E6 steps of IEC 60063 that shops have.
BANK_UF = (1000, 1500, 2200, 3300, 4700, 6800, 10000, 15000, 22000, 33000, 47000)
VOLTAGE_V_MAX = {False: 60, True: 25}  # DC and AC of dry rooms; see hardware/sources.md, N2
PULSE_MS_MAX = 250  # the one-shot's longest


def remedies(wired: Wired) -> list[str]:
    """Empty when it throws, or when nothing is known of what throws it."""
    if verdicts.throws(wired).answer != verdicts.NO:
        return []
    found = [one for one in (_bank(wired), _voltage(wired), _pulse(wired)) if one]
    return found or [
        "no bank, voltage or pulse within the limits does it: another coil, or thicker, shorter wires"
    ]


def _does(wired: Wired) -> bool:
    return verdicts.throws(wired).answer == verdicts.YES


def _bank(wired: Wired) -> str | None:
    if not wired.source.bank_f:
        return None
    for micro in BANK_UF:
        if micro * 1e-6 > wired.source.bank_f and _does(
            replace(wired, source=replace(wired.source, bank_f=micro * 1e-6))
        ):
            return f"with a bank of {micro} uF it would; it takes longer to charge, see recharge"
    return None


def _voltage(wired: Wired) -> str | None:
    top = VOLTAGE_V_MAX[wired.source.alternating]
    for volts in range(int(wired.source.voltage_v) + 1, top + 1):
        source = replace(wired.source, voltage_v=float(volts))
        if _does(replace(wired, source=source, drive=replace(wired.drive, voltage_v=float(volts)))):
            return f"with {volts} V it would; it also warms more: write it and ask again"
    return None


def _pulse(wired: Wired) -> str | None:
    now_ms = wired.turnout.pulse_ms
    for pulse_ms in range(now_ms + 5 - now_ms % 5, PULSE_MS_MAX + 1, 5):
        if _does(replace(wired, turnout=replace(wired.turnout, pulse_ms=pulse_ms))):
            pulse = shown(pulse_ms, "ms")
            return f"with a pulse of {pulse} it would; it also warms more: write it and ask again"
    return None
