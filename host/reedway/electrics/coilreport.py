"""What `coils` says about each turnout, as data and as text."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import Any

from reedway.electrics import coils, limits, verdicts
from reedway.electrics.copper import THERMAL_CLASS_C
from reedway.electrics.parts import Wired, coil_part_of, source_of
from reedway.electrics.remedies import remedies
from reedway.electrics.units import shown
from reedway.layout.model import Layout

ONE_SHOT_REST = 8  # the board rests this many times the pulse before the next
MISSING = """\
Nothing is known yet about {what}. Measure and add to the layout file, for example:
electrics:
  sources:
    coil bank: {{voltage: 24 V, bank: 10000 uF, charged_through: 100 ohm, bleeder: 4.7 kohm, fuse: T 1 A}}
  coil_parts:
    point coil: {{resistance: 4.5 ohm, winding_wire: 0.315 mm, insulation: A, throws_at: 9 V}}
The figures are examples, not yours. All keys: reedway check --schema"""


@dataclass
class Report:
    """Everything worked out for one turnout."""

    turnout: str
    coil_part: str
    source: str
    current_cold_a: float
    current_hot_a: float
    dc_excess: float | None  # current on DC over that on AC of the same voltage
    pulse_ms: int
    on_ms: float
    pulse_j: float
    rise_k: float | None
    pulse_ms_recommended: float | None
    pulse_ms_max: float | None
    pause_ms_least: float
    pulses: int
    cool_ms: int
    bears_for_ever_a: float | None
    will_throw: verdicts.Verdict
    would_throw: list[str]  # what would make it, when it does not
    will_survive: verdicts.Verdict
    stuck: verdicts.Stuck
    bank: verdicts.Bank | None
    recharge_ms_written: int | None
    board: str  # what build does with it
    refused: bool


def reports(layout: Layout) -> list[Report]:
    """One report a turnout whose coil part and source are described."""
    recharge = {supply.name: supply.recharge_ms for supply in layout.supplies}
    found = []
    for wired in limits.wired_turnouts(layout):
        supply = wired.turnout.supply.text if wired.turnout.supply else None
        found.append(_report(wired, recharge.get(supply) if supply else None))
    return found


def _report(wired: Wired, recharge_ms: int | None) -> Report:
    coil, turnout, part = wired.coil, wired.turnout, wired.part
    bare = coil or coils.Coil(part.resistance_20_ohm, 1, THERMAL_CLASS_C[part.insulation], 1)
    board, refused, longest, pulses, cool_ms = (
        "the owner's budget stands",
        False,
        None,
        turnout.pulses,
        turnout.cool_ms,
    )
    try:
        budget = limits.budget(wired)
        if budget is None:
            board = "no heat budget can be worked out; the owner's stands unchecked"
        else:
            board = budget.tightened or board
            longest, pulses, cool_ms = budget.pulse_ms_max, budget.pulses, budget.cool_ms
    except ValueError as why:
        board, refused = str(why), True
    measured_ac = part.ac_current_a is not None
    return Report(
        turnout=turnout.name,
        coil_part=part.name,
        source=wired.source.name,
        current_cold_a=coils.current_a(bare, wired.drive, 20),
        current_hot_a=coils.current_a(bare, wired.drive, bare.limit_c),
        dc_excess=coils.dc_excess(bare, wired.source.frequency_hz or 50) if measured_ac else None,
        pulse_ms=turnout.pulse_ms,
        on_ms=wired.on_s * 1000,
        pulse_j=wired.pulse_j,
        rise_k=coils.rise_k(coil, wired.pulse_j) if coil else None,
        pulse_ms_recommended=verdicts.recommended_pulse_ms(wired),
        pulse_ms_max=longest,
        pause_ms_least=ONE_SHOT_REST * (turnout.pulse_ms + turnout.relay_operate_ms),
        pulses=pulses,
        cool_ms=cool_ms,
        bears_for_ever_a=coils.bears_for_ever_a(coil, wired.ambient_c) if coil else None,
        will_throw=verdicts.throws(wired),
        would_throw=remedies(wired),
        will_survive=verdicts.survives(wired),
        stuck=verdicts.stuck(wired),
        bank=verdicts.bank(wired),
        recharge_ms_written=recharge_ms,
        board=board,
        refused=refused,
    )


def missing(layout: Layout) -> list[str]:
    """Turnouts without a coil part or a source."""
    return [t.name for t in layout.turnouts if not (coil_part_of(layout, t) and source_of(layout, t))]


def as_json(layout: Layout) -> dict[str, Any]:
    """All reports as JSON can carry them: what is without end is null."""
    rows = [_finite(asdict(report)) for report in reports(layout)]
    return {"file": layout.path, "turnouts": rows, "not_described": missing(layout)}


def _finite(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _finite(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_finite(item) for item in value]
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    return value


def text(layout: Layout) -> list[str]:
    """All reports for the terminal."""
    lines: list[str] = []
    for report in reports(layout):
        lines += [*_lines(report), ""]
    left = missing(layout)
    if left:
        lines += MISSING.format(what=", ".join(left)).split("\n")
    elif not layout.turnouts:
        lines.append("This layout has no turnouts.")
    return lines[:-1] if lines and not lines[-1] else lines


def _lines(report: Report) -> list[str]:
    lines = [
        f"{report.turnout} ({report.coil_part}, {report.source})",
        f"  will throw:   {report.will_throw.answer}",
        *(f"      {why}" for why in report.will_throw.because),
        *(f"      {remedy}" for remedy in report.would_throw),
        f"  will survive: {report.will_survive.answer}",
        *(f"      {why}" for why in report.will_survive.because),
        f"  current       {shown(report.current_cold_a, 'A')} cold, {shown(report.current_hot_a, 'A')} hot: "
        f"a hot coil has {100 * (report.current_hot_a / report.current_cold_a) ** 2:.0f} % of the force",
    ]
    if report.dc_excess is not None:
        lines.append(
            f"      on DC of the same voltage it draws {report.dc_excess:.2f} times the current of AC, "
            f"and warms {report.dc_excess**2:.2f} times as fast"
        )
    if report.pulse_ms_recommended is not None:
        lines.append(
            f"  pulse         {report.pulse_ms} ms; {shown(report.pulse_ms_recommended, 'ms')} would do "
            "(least that throws and half as long again)"
        )
    if report.pulse_ms_max is not None and math.isfinite(report.pulse_ms_max):
        lines.append(f"      once in ten minutes it bears {shown(report.pulse_ms_max, 'ms')}")
    lines.append(
        f"  pause         at least {shown(report.pause_ms_least, 'ms')} after each pulse (the board's)"
    )
    lines += _stuck_lines(report) + _bank_lines(report)
    lines.append(f"  board file    {'REFUSED: ' if report.refused else ''}{report.board}")
    return lines


def _stuck_lines(report: Report) -> list[str]:
    stuck = report.stuck
    if stuck.seconds_to_class is None:
        first = "  left on       "
    else:
        first = f"  left on       {stuck.class_c:.0f} °C after {shown(stuck.seconds_to_class, 's')}; "
    saved = {
        verdicts.YES: "the supply saves it",
        verdicts.NO: "the supply does not save it",
    }.get(stuck.saved.answer, "not known what saves it")
    return [first + saved, *(f"      {why}" for why in stuck.saved.because)]


def _bank_lines(report: Report) -> list[str]:
    bank = report.bank
    if bank is None:
        return []
    lines = [
        f"  bank          holds {shown(bank.energy_j, 'J')}; peak {shown(bank.peak_a, 'A')}, "
        f"at {shown(bank.peak_ms, 'ms')}"
    ]
    if bank.needed_v is not None:
        lines.append(f"      must be at {shown(bank.needed_v, 'V')} to throw a hot coil")
    if bank.recharge_ms is not None and bank.throws_per_min is not None:
        lines.append(
            f"      is there again after {shown(bank.recharge_ms, 'ms')}: {bank.throws_per_min:.0f} throws a "
            "minute for all its coils together"
        )
        if (report.recharge_ms_written or 0) < bank.recharge_ms:
            lines.append(
                f"      WARNING: the file says recharge {report.recharge_ms_written or 0} ms; "
                f"write at least {math.ceil(bank.recharge_ms)} ms"
            )
    bleed = "no bleeder: it stays charged; add one"
    if bank.bleed_s is not None:
        bleed = f"bled to 5 V in {shown(bank.bleed_s, 's')} after switching off: wait before touching"
    return [*lines, f"      {bleed}"]
