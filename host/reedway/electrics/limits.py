"""The computed heat budget and pulse limit: of the owner's and the computed one the stricter holds."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from reedway.electrics import coils
from reedway.electrics.parts import Wired, coil_part_of, source_of, wire_up
from reedway.electrics.units import shown
from reedway.layout.model import Layout, Turnout
from reedway.problems import Complaint, LayoutError

PULSE_MS_LEAST = 5  # the shortest pulse of a layout file
COOL_MS_MAX = 600_000  # the ceiling of `cool` in a layout file


@dataclass(frozen=True)
class Budget:
    """What a turnout's coils bear, and what goes into the board file."""

    pulse_ms_max: float  # one such pulse every `cool`
    pulses: int  # stricter of the owner's and the computed
    cool_ms: int
    tightened: str  # "" when the owner's budget stands


def wired_turnouts(layout: Layout) -> list[Wired]:
    """The turnouts whose coil part and source are both described, in file order."""
    found = []
    for turnout in layout.turnouts:
        part, source = coil_part_of(layout, turnout), source_of(layout, turnout)
        if part and source:
            found.append(wire_up(layout, turnout, part, source))
    return found


def budget(wired: Wired) -> Budget | None:
    """The stricter budget; None: what warms the coil is not known. ValueError: none is safe."""
    coil, turnout = wired.coil, wired.turnout
    if coil is None:
        return None
    cool_s = turnout.cool_ms / 1000
    longest_ms = 1000 * _longest_s(wired, coil, cool_s)
    if longest_ms < turnout.pulse_ms:
        raise ValueError(_too_long(wired, coil, longest_ms))
    if _top_c(wired, coil, turnout) <= coil.limit_c:
        return Budget(longest_ms, turnout.pulses, turnout.cool_ms, "")
    pulses, cool_ms = _stricter(wired, coil)
    return Budget(
        longest_ms,
        pulses,
        cool_ms,
        f"pulses {turnout.pulses}, cool {shown(cool_s, 's')} would warm a coil to "
        f"{_top_c(wired, coil, turnout):.0f} °C; allowed are {coil.limit_c:.0f} °C; "
        f"build takes pulses {pulses}, cool {shown(cool_ms / 1000, 's', 4)}",
    )


def _stricter(wired: Wired, coil: coils.Coil) -> tuple[int, int]:
    """As many of the owner's pulses as some `cool` within its ceiling bears, and that `cool`."""
    for pulses in range(wired.turnout.pulses, 0, -1):
        cool_s = coils.cool_needed_s(coil, wired.pulse_j, pulses, wired.ambient_c)
        if cool_s <= COOL_MS_MAX / 1000:
            return pulses, max(wired.turnout.cool_ms, math.ceil(1000 * cool_s))
    raise ValueError(_too_long(wired, coil, 0.0))


def _longest_s(wired: Wired, coil: coils.Coil, cool_s: float) -> float:
    """Longest pulse that one every `cool`, or one every ten minutes, keeps within the limit."""
    if wired.pulse_j < coils.power_w_max(coil, wired.drive, wired.ambient_c) * wired.on_s:
        fits = coils.cool_needed_s(coil, wired.pulse_j, 1, wired.ambient_c) <= COOL_MS_MAX / 1000
        return math.inf if fits else 0.0  # a bank gives no more however long the pulse
    power = coils.power_w_max(coil, wired.drive, wired.ambient_c)
    slow_s = max(cool_s, COOL_MS_MAX / 1000)
    return (
        coils.pulse_s_max(coil, power, slow_s, wired.ambient_c) - wired.on_s + wired.turnout.pulse_ms / 1000
    )


def _top_c(wired: Wired, coil: coils.Coil, turnout: Turnout) -> float:
    return wired.ambient_c + coils.busiest_rise_k(coil, wired.pulse_j, turnout.pulses, turnout.cool_ms / 1000)


def _too_long(wired: Wired, coil: coils.Coil, longest_ms: float) -> str:
    room_k = coil.limit_c - wired.ambient_c
    return (
        f"a pulse of {shown(wired.on_s * 1000, 'ms')} puts {shown(wired.pulse_j, 'J')} into a coil of "
        f"{shown(coil.heat_j_k, 'J/K')}: {shown(coils.rise_k(coil, wired.pulse_j), 'K')} from "
        f"{wired.ambient_c:.0f} °C; allowed are {shown(room_k, 'K')} to {coil.limit_c:.0f} °C; "
        + _cure(longest_ms)
    )


def _cure(longest_ms: float) -> str:
    if longest_ms < PULSE_MS_LEAST:
        return "no pulse is short enough; lower the voltage, or feed it from a smaller charge-limited bank"
    return f"write a pulse of at most {math.floor(longest_ms)} ms"


def notes(layout: Layout) -> list[Complaint]:
    """What `tighten` changes and why, for `build` and `check` to print; nothing is wrong with it."""
    found = []
    for wired in wired_turnouts(layout):
        try:
            one = budget(wired)
        except ValueError:
            continue  # refused by tighten
        if one is not None and one.tightened:
            message = f"turnout {wired.turnout.name}: {one.tightened}"
            found.append(Complaint(layout.path, wired.turnout.line, message))
    return found


def tighten(layout: Layout) -> Layout:
    """The layout with the stricter budgets; LayoutError when a pulse is unsafe, with the arithmetic."""
    complaints: list[Complaint] = []
    stricter: dict[str, Budget] = {}
    for wired in wired_turnouts(layout):
        try:
            found = budget(wired)
        except ValueError as why:
            line = wired.turnout.line
            complaints.append(Complaint(layout.path, line, f"turnout {wired.turnout.name}: {why}"))
            continue
        if found is not None:
            stricter[wired.turnout.name] = found
    if complaints:
        raise LayoutError(complaints)
    turnouts = [
        replace(turnout, pulses=stricter[turnout.name].pulses, cool_ms=stricter[turnout.name].cool_ms)
        if turnout.name in stricter
        else turnout
        for turnout in layout.turnouts
    ]
    return replace(layout, turnouts=turnouts)
