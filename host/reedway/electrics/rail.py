"""What hangs on the board's 3.3 V pin: pull-ups, Hall sensors, lamps, registers, against what it may give."""

from __future__ import annotations

from dataclasses import dataclass

from reedlogic import boardfile as b
from reedway.boardfile.pintable import Row
from reedway.electrics.panelparts import on_register, registers_of
from reedway.electrics.parts import sensor_part_of
from reedway.electrics.units import shown
from reedway.layout.model import Layout

RAIL_V = 3.3
RAIL_MA_MAX = 300.0  # the board's data sheet: the load on 3V3(OUT) is kept below this
INPUT_OHM = 2200.0  # pull-ups and series resistors as in hardware/netlists
PANEL_OHM = 10_000.0
LED_OHM, LED_V = 470.0, 2.0
REGISTER_MA = 0.16  # 74HC595, quiescent, 5.5 V, over the whole range of temperature: data sheet
HALL_MA = 4.0  # a Hall sensor of SLIS151G takes 2.7; others somewhat more: common practice


@dataclass(frozen=True)
class Load:
    """So many of one kind, with what each takes when it takes most."""

    count: int
    what: str
    each_ma: float


def rail_loads(layout: Layout, rows: list[Row]) -> list[Load]:
    """Every contact closed and every lamp lit; kinds that the layout does not have are left out."""
    sensors = [row.what.removeprefix("sensor ") for row in rows if row.role == b.P_INPUT]
    parts = [sensor_part_of(layout.electrics, name) for name in sensors]
    lamps = [row for row in rows if row.role == b.P_LAMP]
    panel = [row for row in rows if row.role == b.P_PANEL]
    far = sum(on_register(row) for row in panel)
    pulled_off = bool(lamps) and any(row.role == b.P_ARM for row in rows)
    found = [
        Load(len(sensors) + far, "inputs closed", 1000 * RAIL_V / INPUT_OHM),
        Load(sum(part is not None and part.kind == "hall" for part in parts), "Hall sensors", HALL_MA),
        Load(len(panel) - far, "switches and buttons closed", 1000 * RAIL_V / PANEL_OHM),
        Load(len(lamps), "lamps lit", 1000 * (RAIL_V - LED_V) / LED_OHM),
        Load(int(pulled_off), "pull-up of the lamps' enable", 1000 * RAIL_V / PANEL_OHM),
        Load(registers_of(lamps) + registers_of(panel), "registers", REGISTER_MA),
    ]
    return [load for load in found if load.count]


def rail_ma(loads: list[Load]) -> float:
    """The sum."""
    return round(sum(load.count * load.each_ma for load in loads), 1)


def rail_text(loads: list[Load]) -> str:
    """The sum as a sentence, with what it is made of."""
    made = [f"{one.count} {one.what} {shown(one.count * one.each_ma, 'mA', 2)}" for one in loads]
    most = f"at most {rail_ma(loads):.0f} mA of the {RAIL_MA_MAX:.0f} mA that it may give"
    return f"3.3 V of the board (pin 36): {most}: {', '.join(made)}"
