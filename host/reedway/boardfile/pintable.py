"""Every terminal of a layout with GPIO, direction, pull and safe level: what board and host share."""

from __future__ import annotations

from dataclasses import dataclass

from reedlogic import boardfile as b
from reedway.boardfile.encode import crc_of_value
from reedway.boardfile.numbering import PANEL_BASE, Numbering
from reedway.boardfile.terminals import (
    LAMP_REGISTER,
    PANEL_REGISTER,
    gpio_table,
    has_arm,
    number,
    registers,
    terminal_name,
    uses,
)
from reedway.layout.model import Text

IN, OUT = "in", "out"


@dataclass(frozen=True)
class Row:
    """One terminal. Inputs are active low, outputs off at 0: at reset every pin is an input."""

    terminal: str
    where: int  # GPIO; for `lamp N` and `panel N` the place on the shift registers
    role: int
    number: int
    direction: str
    pull: str  # "up", "none"
    safe: int  # level of an output when nothing may be on; for an input its level with the contact open
    what: str

    @property
    def on_register(self) -> bool:
        return self.role in (b.P_LAMP, b.P_PANEL, b.P_SHADOW)


def pin_rows(numbering: Numbering) -> list[Row]:
    """Rows in the order inputs, coils, feeds, supplies, arm line, registers, and what sits on these."""
    layout = numbering.layout
    gpio = gpio_table(layout)
    rows: list[Row] = []

    def output(terminal: Text | str | None, role: int, index: int, what: str) -> None:
        if terminal is not None:
            name = terminal_name(str(terminal))
            rows.append(Row(name, gpio[name], role, index, OUT, "none", 0, what))

    for item in numbering.inputs:
        if item.index < PANEL_BASE:
            name = terminal_name(item.thing.terminal.text)
            what = item.name if item.kind == "power" else f"{item.kind} {item.name}"
            rows.append(Row(name, gpio[name], b.P_INPUT, item.index, IN, "up", 1, what))
    for turnout in layout.turnouts:
        for coil, position in ((turnout.coil_first, turnout.first), (turnout.coil_second, turnout.second)):
            index = number(terminal_name(coil.text))
            output(coil, b.P_COIL, index, f"turnout {turnout.name} to {position}")
    for i, block in enumerate(layout.blocks):
        output(block.terminal, b.P_FEED, i, f"block {block.name}")
    output(layout.track_feed, b.P_FEED, len(layout.blocks), "track feed")
    for i, supply in enumerate(layout.supplies):
        output(supply.terminal, b.P_SUPPLY, i, f"supply {supply.name}")
    if has_arm(layout):
        output("arm", b.P_ARM, 0, "arm line: toggles while scans complete on time")
    return rows + _register_rows(numbering, gpio)


def _register_rows(numbering: Numbering, gpio: dict[str, int]) -> list[Row]:
    """The pins of the shift registers, and what sits on them."""
    layout = numbering.layout
    rows = []
    for name in registers(uses(layout)):
        lamps = name in LAMP_REGISTER
        line = (LAMP_REGISTER if lamps else PANEL_REGISTER).index(name)
        role = b.P_LAMP_LINE if lamps else b.P_PANEL_LINE
        what = ("lamps' " if lamps else "panel's ") + "shift registers: " + name.split(" ")[1]
        if name == PANEL_REGISTER[0]:
            rows.append(Row(name, gpio[name], role, line, IN, "up", 1, what))
        else:
            rows.append(Row(name, gpio[name], role, line, OUT, "none", 0, what))
    for i, lamp in enumerate(layout.lamps):
        name = terminal_name(lamp.terminal.text)
        rows.append(Row(name, number(name), b.P_LAMP, i, OUT, "none", 0, f"lamp {lamp.name}"))
    for item in numbering.inputs:
        if item.index >= PANEL_BASE:
            name = terminal_name(item.thing.terminal.text)
            what = f"{item.kind} {item.name}"
            rows.append(Row(name, number(name), b.P_PANEL, item.index, IN, "up", 1, what))
    return rows


def flat_table(rows: list[Row]) -> tuple[int, ...]:
    """What the board file repeats: (where, role, number) of each row."""
    return tuple(value for row in rows for value in (row.where, row.role, row.number))


def table_hash(table: tuple[int, ...]) -> tuple[int, int]:
    """CRC-32 of the encoded table as two numbers of 16 bits."""
    crc = crc_of_value(table)
    return crc >> 16, crc & 0xFFFF
