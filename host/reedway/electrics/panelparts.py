"""What to buy for the panel and the arm line; the circuits are those of hardware/panel.md and arm-line.md."""

from __future__ import annotations

import math

from reedlogic import boardfile as b
from reedway.boardfile.pintable import Row
from reedway.electrics import limits
from reedway.electrics.shopping import Part, rated_a, rated_v, resistor
from reedway.electrics.wirechecks import cold_current_a
from reedway.layout.model import Layout

REGISTER_BITS = 8
STRONG_GATE_V = 20.0  # of supply: Q2's gate gets half of it
GATE_V = "threshold 0.4 V to 1.5 V"


def on_register(row: Row) -> bool:
    """Is it a turnout's contact on a panel register? Its longer wire wants the input circuit of a sensor."""
    return row.role == b.P_PANEL and row.what.startswith("contact ")


def panel_parts(rows: list[Row]) -> list[Part]:
    """Registers with what each needs, lamps, switches and buttons."""
    lamps = [row for row in rows if row.role == b.P_LAMP]
    panel = [row for row in rows if row.role == b.P_PANEL]
    found: list[Part] = []
    if lamps:
        found += [
            Part(registers_of(lamps), "shift register, 8 outputs with latch", "74HC595", "lamps; at 3.3 V"),
            Part(len(lamps), "LED", "2 V, 3 mA", "lamps of the panel"),
            resistor(len(lamps), "470 ohm", "one for each lamp"),
        ]
        if any(row.role == b.P_ARM for row in rows):
            found += [
                Part(1, "N-channel MOSFET, small", f"20 V or more, {GATE_V}", "lamps dark at reset"),
                resistor(1, "10 kohm", "lamps dark at reset"),
                resistor(1, "100 kohm", "lamps dark at reset"),
            ]
    operated = sum(not on_register(row) for row in panel)
    if panel:
        found += [
            Part(registers_of(panel), "shift register, 8 inputs", "74HC165", "switches, buttons; at 3.3 V"),
            Part(operated, "switch or push button", "normally open", "panel"),
            resistor(operated, "10 kohm", "one for each switch and button"),
        ]
    registers = registers_of(lamps) + registers_of(panel)
    if registers:
        found.append(Part(registers, "capacitor", "100 nF, ceramic", "at each register's supply"))
    return found


def registers_of(rows: list[Row]) -> int:
    """How many registers these places reach over."""
    if not rows:
        return 0
    return math.ceil((max(row.where for row in rows) + 1) / REGISTER_BITS)


def arm_parts(layout: Layout, rows: list[Row]) -> list[Part]:
    """The charge pump, and a switch for the supply of the coils."""
    if not any(row.role == b.P_ARM for row in rows):
        return []
    volts, amps = 24.0, 1.0
    wired = limits.wired_turnouts(layout)
    if wired:
        volts = max(one.source.voltage_v for one in wired)
        amps = max(
            one.source.voltage_v / one.source.charge_ohm
            if one.source.bank_f and one.source.charge_ohm
            else cold_current_a(one)
            for one in wired
        )
    return [
        Part(2, "capacitor", "1 uF, film or X7R, 10 %", "arm line, C1 and C2"),
        Part(2, "Schottky diode, small", "30 V, 0.1 A", "arm line, D1 and D2"),
        resistor(1, "47 kohm", "arm line, R1"),
        Part(
            1,
            "N-channel MOSFET, small",
            f"{2 * volts:.0f} V or more, {GATE_V}",
            "arm line, Q1: its drain stands at the supply when off; twice that",
        ),
        resistor(2, "10 kohm", "arm line, R2 and R3"),
        Part(
            1,
            "P-channel MOSFET",
            f"{rated_v(2 * volts)} or more, {rated_a(2 * amps)} or more, gate bears 20 V, "
            f"RDS(on) stated at VGS = -{'10' if volts >= STRONG_GATE_V else '4.5'} V",
            "arm line, Q2: twice the supply, twice the current",
        ),
    ]
