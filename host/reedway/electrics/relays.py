"""What a switched-off coil does: decay of its current, surge without suppression, times of relays."""

from __future__ import annotations

import math

# Slowest of the general-purpose and automotive relays whose data sheets were read (series 79 plug-in,
# 10 ms operate; 30 A lamp relay, 10 ms release without a diode), bounce left out.
OPERATE_MS = 10.0
RELEASE_MS = 10.0
BOUNCE_MS = 5.0  # on making, 1 to 5 ms; from memory, common value
DIODE_SLOWS = 4.65  # release with a plain diode over that without; worst of the values worked out here


def decay_s(resistance_ohm: float, inductance_h: float, current_a: float, clamp_v: float) -> float:
    """Time for a coil's current to fall to zero into a clamp of so many volts (diode: 0.7 V)."""
    if clamp_v <= 0:
        return math.inf
    return inductance_h / resistance_ohm * math.log1p(current_a * resistance_ohm / clamp_v)


def stored_j(inductance_h: float, current_a: float) -> float:
    """Energy in the field of a coil."""
    return inductance_h * current_a**2 / 2


def surge_v(supply_v: float, inductance_h: float, current_a: float, off_in_s: float) -> float:
    """Voltage of an unsuppressed coil whose current falls evenly to zero in this time."""
    return supply_v + inductance_h * current_a / off_in_s


def break_before_make_ms(diode: bool = True) -> float:
    """Time to leave between opening one relay and closing another that must not be in together."""
    return RELEASE_MS * (DIODE_SLOWS if diode else 1.0) + BOUNCE_MS


def set_back_mm(speed_m_s: float, times_ms: list[float]) -> float:
    """How far a train runs while relay, bounce and coil take their times."""
    return speed_m_s * sum(times_ms)
