"""The drawing of a layout's wiring: board, inputs, coil drivers, feeds and registers, as plain SVG text.

One row a pin. All text is monospaced and its width known beforehand, so that nothing overlaps.
"""

from __future__ import annotations

from dataclasses import dataclass

from reedlogic import boardfile as b
from reedway.electrics import limits
from reedway.electrics.parts import sensor_part_of
from reedway.electrics.sheet import FONT_PX, GAP_PX, LETTER_PX, PAD_PX, ROW_PX, Sheet, width_of
from reedway.electrics.supplyrows import ARM_SWITCH, SupplyRow, supply_rows
from reedway.electrics.trackrows import track_rows
from reedway.electrics.units import shown
from reedway.electrics.wiring import Terminal, Wiring

TOP_PX = 64
INK = {"arm": "#b71c1c", "input": "#1b5e20", "coil": "#b71c1c", "feed": "#0d47a1", "other": "#424242"}
HELD, ARMED, TRACK_LIVE = "held", "armed supply +", "track live"  # wires, named as in hardware/schematics
INPUT_PARTS = "2.2k up, 4.7k, 220n, clamp"
DRIVER_PARTS = "100R, 10k down, N-MOSFET"


@dataclass
class Chain:
    """One pin with the boxes that hang on it, the one nearest the board first."""

    pin: str
    boxes: list[str]
    kind: str
    throws: str = ""  # of a coil: "turnout exit to A"


def drawing(found: Wiring) -> str:
    """The whole drawing as SVG text."""
    inputs, outputs = _inputs(found), _outputs(found)
    sheet = Sheet()
    sheet.text(20, 28, f"{found.layout.name}: wiring as configured", 18, bold=True)
    left = max([0.0, *(_chain_px(chain) for chain in inputs)])
    board_x = 20 + left
    pins = [chain.pin for chain in inputs]
    board_px = max([0, *map(len, pins)]) + max([0, *(len(chain.pin) for chain in outputs)])
    board_wide = board_px * LETTER_PX + 6 * PAD_PX
    rows = max(len(inputs), len(outputs), 1)
    sheet.rect(board_x, TOP_PX - ROW_PX / 2 - 22, board_wide, rows * ROW_PX + 34, "#000000", "#f4f4f4")
    board = {"pico": "Pico", "pico2": "Pico 2"}[found.layout.board]
    sheet.text(board_x + PAD_PX, TOP_PX - ROW_PX / 2 - 6, board, bold=True)
    for number, chain in enumerate(inputs):
        _draw_input(sheet, chain, board_x, TOP_PX + 12 + number * ROW_PX)
    right = board_x + board_wide
    ends: dict[str, tuple[float, float]] = {}
    for number, chain in enumerate(outputs):
        y = TOP_PX + 12 + number * ROW_PX
        ends[chain.throws or chain.kind] = (_draw_output(sheet, chain, right, y), y)
    supplies = supply_rows(found)
    below = TOP_PX + 12 + rows * ROW_PX + 24
    _draw_supplies(sheet, supplies, ends, right, below)
    below += len(supplies) * (ROW_PX + 8)
    _draw_notes(sheet, found, _draw_track(sheet, found, right, below))
    return sheet.svg()


def _draw_supplies(
    sheet: Sheet, rows: list[SupplyRow], ends: dict[str, tuple[float, float]], left: float, top: float
) -> None:
    """Each supply through its boxes to an upright wire that its coils hang on; the arm line to its switch."""
    x_arm = 0.0
    for row in rows:
        if ARM_SWITCH in row.boxes:
            before = row.boxes[: row.boxes.index(ARM_SWITCH)]
            x_arm = max(x_arm, left + sum(width_of(words) + GAP_PX for words in before) + GAP_PX)
    x_arm += width_of(ARM_SWITCH) / 2
    if any(ARM_SWITCH in row.boxes for row in rows):
        pump_x, pump_y = ends["arm"]
        x_arm = max(x_arm, pump_x + label_px(HELD))
        sheet.text(pump_x + PAD_PX, pump_y - 5, HELD, 12)
        last = max(number for number, row in enumerate(rows) if ARM_SWITCH in row.boxes)
        sheet.line(pump_x, pump_y, x_arm, pump_y, INK["coil"])
        sheet.line(x_arm, pump_y, x_arm, top + last * (ROW_PX + 8), INK["coil"])
    reached = [_draw_supply(sheet, row, left, top + n * (ROW_PX + 8), x_arm) for n, row in enumerate(rows)]
    bus_x = max([sheet.width, *reached]) + GAP_PX
    for number, row in enumerate(rows):
        x, y, ink = bus_x + number * 22, top + number * (ROW_PX + 8), INK["coil"]
        joints = [ends[what] for what in row.outputs if what in ends]
        sheet.line(reached[number], y, x, y, ink)
        sheet.text(x + PAD_PX + 22 * (len(rows) - 1 - number), y + FONT_PX / 3, row.end, 12, bold=True)
        sheet.line(x, min([y, *(joint_y for _, joint_y in joints)]), x, y, ink)
        for joint_x, joint_y in joints:
            sheet.line(joint_x, joint_y, x, joint_y, ink)
            sheet.dot(x, joint_y, ink)


def _draw_supply(sheet: Sheet, row: SupplyRow, left: float, y: float, x_arm: float) -> float:
    """Right edge of the last box."""
    x = left
    for words in row.boxes:
        begin = x + GAP_PX if words != ARM_SWITCH else x_arm - width_of(words) / 2
        if x > left and row.boxes[row.boxes.index(words) - 1] == ARM_SWITCH:
            begin = x + label_px(ARMED)
            sheet.text(x + PAD_PX, y - 5, ARMED, 12)
        if x > left:
            sheet.line(x, y, begin, y, INK["coil"])
        x = sheet.box(begin, y, words, INK["coil"])
    return x


def _draw_track(sheet: Sheet, found: Wiring, left: float, y: float) -> float:
    """The throttle through the track feed's contact to each block's fuse and contact; the y below."""
    before, rows = track_rows(found)
    if not rows:
        return y
    x, ink = left, INK["feed"]
    for words in before:
        if x > left:
            sheet.line(x, y, x + GAP_PX, y, ink)
        x = sheet.box(x + GAP_PX, y, words, ink)
    bus_x = x + label_px(TRACK_LIVE)
    sheet.text(x + PAD_PX, y - 5, TRACK_LIVE, 12)
    sheet.line(x, y, bus_x, y, ink)
    for number, boxes in enumerate(rows):
        row_y, x = y + number * (ROW_PX + 8), bus_x
        for words in boxes:
            sheet.line(x, row_y, x + GAP_PX, row_y, ink)
            x = sheet.box(x + GAP_PX, row_y, words, ink)
    last = y + (len(rows) - 1) * (ROW_PX + 8)
    if last > y:
        sheet.line(bus_x, y, bus_x, last, ink)
    return last + ROW_PX + 8


def label_px(words: str) -> float:
    """Length of a wire that carries these words in small letters."""
    return len(words) * LETTER_PX + 2 * PAD_PX


def _chain_px(chain: Chain) -> float:
    return sum(width_of(words) + GAP_PX for words in chain.boxes)


def _draw_input(sheet: Sheet, chain: Chain, board_x: float, y: float) -> None:
    ink, x = INK[chain.kind], board_x
    sheet.text(board_x + PAD_PX, y + FONT_PX / 3, chain.pin)
    for words in chain.boxes:
        left = x - GAP_PX - width_of(words)
        sheet.line(x - GAP_PX, y, x, y, ink)
        sheet.box(left, y, words, ink)
        x = left


def _draw_output(sheet: Sheet, chain: Chain, board_right: float, y: float) -> float:
    """Right edge of the last box."""
    ink, x = INK[chain.kind], board_right
    sheet.text(board_right - PAD_PX - len(chain.pin) * LETTER_PX, y + FONT_PX / 3, chain.pin)
    for words in chain.boxes:
        sheet.line(x, y, x + GAP_PX, y, ink)
        x = sheet.box(x + GAP_PX, y, words, ink)
    return x


def _draw_notes(sheet: Sheet, found: Wiring, y: float) -> None:
    lines = [
        "Inputs: 2.2k pull-up to 3.3 V, 4.7k in series, 220 nF at the pin, clamp diodes; contact to ground.",
        "Drivers: 100 ohm to the gate, 10k from gate to ground, N-MOSFET; each coil its freewheel diode.",
        "The throttle's other pole goes to the other rail. No wire of the track meets the board's ground.",
        "All grounds meet at one point beside the drivers. Details: hardware/.",
    ]
    for number, words in enumerate(lines):
        sheet.text(20, y + 20 + number * 18, words, 12)
    for number, complaint in enumerate(sorted(found.refused)):
        sheet.text(
            20, y + 110 + number * 18, f"CANNOT WORK (line {complaint.line}): see the list", 12, bold=True
        )


def _short(terminal: Terminal) -> str:
    """`sensor 1 GP12 pin 16`: the chip's number and the place on the board's edge."""
    return f"{terminal.terminal} {terminal.where.replace('GPIO ', 'GP').replace('(', '').replace(')', '')}"


def _inputs(found: Wiring) -> list[Chain]:
    electrics = found.layout.electrics
    chains = []
    for one in found.terminals:
        if one.role == b.P_INPUT:
            name = one.what.removeprefix("sensor ")
            part = sensor_part_of(electrics, name) if one.what.startswith("sensor ") else None
            kind = "Hall" if part and part.kind == "hall" else "reed"
            what = f"{kind} {name}" if one.what.startswith("sensor ") else one.what
            if part:
                what += f", {shown(part.cable.length_m, 'm')}"
            chains.append(Chain(_short(one), [INPUT_PARTS, what], "input"))
    panel = [one.what for one in found.terminals if one.role == b.P_PANEL]
    for one in found.terminals:
        if one.role == b.P_PANEL_LINE:
            boxes = (
                [f"8-input registers: {_few(panel)}"] if one.terminal.endswith("data") else ["same registers"]
            )
            chains.append(Chain(_short(one), boxes, "other"))
    return chains


def _outputs(found: Wiring) -> list[Chain]:
    layout = found.layout
    relayed = {
        f"turnout {wired.turnout.name} to {position}"
        for wired in limits.wired_turnouts(layout)
        if wired.part.by_relay
        for position in (wired.turnout.first, wired.turnout.second)
    }
    lamps = [one.what.removeprefix("lamp ") for one in found.terminals if one.role == b.P_LAMP]
    chains = []
    for one in found.terminals:
        if one.role == b.P_COIL:
            name = one.what.removeprefix("turnout ")
            load = ["relay + diode", f"coil {name}"] if one.what in relayed else [f"coil {name} + diode"]
            chains.append(Chain(_short(one), [DRIVER_PARTS, *load], "coil", one.what))
        elif one.role in (b.P_FEED, b.P_SUPPLY):
            relay = f"relay of {one.terminal} + diode"
            chains.append(Chain(_short(one), [DRIVER_PARTS, relay], "feed"))
        elif one.role == b.P_ARM:
            chains.append(Chain(_short(one), ["charge pump"], "arm"))
        elif one.role == b.P_LAMP_LINE:
            boxes = ["same registers"]
            if one.terminal.endswith("data"):
                boxes = [f"8-output registers: {_few(lamps)}"]
                if any(other.role == b.P_ARM for other in found.terminals):
                    boxes.append(f"lit while {HELD}")
            chains.append(Chain(_short(one), boxes, "other"))
    return sorted(chains, key=lambda chain: chain.kind == "arm")  # last: beside the supplies it lets through


def _few(names: list[str], most: int = 2) -> str:
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more
