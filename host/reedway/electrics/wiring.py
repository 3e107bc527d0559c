"""`wiring`: terminals and pins, wires, parts and what cannot work, of one layout."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from reedlogic import boardfile as b
from reedway.boardfile.numbering import Numbering
from reedway.boardfile.pintable import Row, pin_rows
from reedway.electrics import limits, wires
from reedway.electrics.feedload import TRACK_FEED, advice, load_a
from reedway.electrics.fuserows import FuseRow, fuse_rows, fuse_text
from reedway.electrics.model import Cable
from reedway.electrics.parts import feed_part_of, sensor_part_of
from reedway.electrics.partslist import parts, wire_parts
from reedway.electrics.rail import RAIL_MA_MAX, Load, rail_loads, rail_ma, rail_text
from reedway.electrics.shopping import Part
from reedway.electrics.units import shown
from reedway.electrics.wirechecks import Checks, cold_current_a
from reedway.layout.model import Layout
from reedway.problems import Complaint

# Pin on the board's edge of each GPIO; the same on both boards (their data sheets, "Pinout").
OUTPUTS = "ABCDEFGH"  # of an 8-bit register, A first
EDGE_PIN = dict(
    zip(
        (*range(23), 26, 27, 28),
        (1, 2, 4, 5, 6, 7, 9, 10, 11, 12, 14, 15, 16, 17, 19, 20, 21, 22, 24, 25, 26, 27, 29, 31, 32, 34),
        strict=True,
    )
)
SENSOR_A = 3.3 / 2200  # through the pull-up
CAUTIONS = (
    "Mains, the supplies themselves and everything outdoors: by licensed people, under local code.",
    "A charged bank burns and welds: switch off, wait until it is bled, measure, then touch.",
    "Work on wires with the board and all supplies off.",
)


@dataclass(frozen=True)
class Terminal:
    """One terminal: where it is and what belongs there."""

    terminal: str
    where: str  # "GPIO 12 (pin 16)" or "lamp register bit 3"
    direction: str
    what: str
    role: int


@dataclass(frozen=True)
class WireRun:
    """One pair of wires with what it carries and loses."""

    what: str
    length_m: float
    wire_mm2: float
    current_a: float
    drop_v: float


@dataclass
class Wiring:
    """Everything `wiring` says."""

    layout: Layout
    terminals: list[Terminal]
    runs: list[WireRun]
    bare: list[str]  # wires whose length nothing in the file gives
    fuses: list[FuseRow]
    unfused: list[str]  # feeds and supplies without a fuse, and the lines that would give it
    rail: list[Load]  # what hangs on the board's 3.3 V
    parts: list[Part]
    refused: list[Complaint]
    warned: list[Complaint]


def wire(layout: Layout) -> Wiring:
    """The wiring of a layout as configured."""
    rows = pin_rows(Numbering(layout))
    checks = Checks(layout).run()
    terminals = [Terminal(row.terminal, _where(row), row.direction, row.what, row.role) for row in rows]
    runs = _runs(layout)
    lengths: dict[float, float] = {}
    for run in runs:
        lengths[run.wire_mm2] = lengths.get(run.wire_mm2, 0.0) + run.length_m
    listed = [*parts(layout, rows), *wire_parts(lengths)]
    bare = _bare(terminals, runs)
    fuses, rail = fuse_rows(layout), rail_loads(layout, rows)
    return Wiring(
        layout, terminals, runs, bare, fuses, advice(layout), rail, listed, checks.refused, checks.warned
    )


def _bare(terminals: list[Terminal], runs: list[WireRun]) -> list[str]:
    """Contacts, buttons, panel and whatever else the table of wires does not have."""
    known = {run.what.removeprefix("feed of ") for run in runs}
    panel = [one for one in terminals if one.role in (b.P_PANEL, b.P_LAMP)]
    found = [
        one.what for one in terminals if one.role in (b.P_INPUT, b.P_COIL, b.P_FEED) and one.what not in known
    ]
    return found + ([f"panel ({len(panel)} lamps, switches, buttons)"] if panel else [])


def _where(row: Row) -> str:
    if row.on_register:
        register, bit = row.where // 8 + 1, row.where % 8
        if row.role == b.P_LAMP:
            return f"lamp register {register}, output {OUTPUTS[bit]}"
        return f"panel register {register}, input {OUTPUTS[7 - bit]}"  # input H comes out first
    return f"GPIO {row.where} (pin {EDGE_PIN[row.where]})"


def _runs(layout: Layout) -> list[WireRun]:
    found = []
    for sensor in layout.sensors:
        part = sensor_part_of(layout.electrics, sensor.name)
        if part:
            found.append(_run(f"sensor {sensor.name}", part.cable, SENSOR_A))
    sources: set[str] = set()
    for wired in limits.wired_turnouts(layout):
        amps = cold_current_a(wired)
        if wired.source.name not in sources:
            found.append(_run(f"source {wired.source.name} to the drivers", wired.source.cable, amps))
            sources.add(wired.source.name)
        for position in (wired.turnout.first, wired.turnout.second):
            found.append(_run(f"turnout {wired.turnout.name} to {position}", wired.part.cable, amps))
    for block in layout.blocks:
        feed = feed_part_of(layout.electrics, block.name)
        if feed:
            found.append(_run(f"feed of block {block.name}", feed.cable, feed.current_a))
    feed = feed_part_of(layout.electrics, TRACK_FEED) if layout.track_feed else None
    if feed:
        found.append(_run("feed of track feed", feed.cable, load_a(layout, TRACK_FEED)))
    return found


def _run(what: str, cable: Cable, amps: float) -> WireRun:
    drop = wires.drop_v(cable.length_m, cable.wire_mm2, amps)
    return WireRun(what, cable.length_m, cable.wire_mm2, amps, drop)


def as_json(found: Wiring) -> dict[str, Any]:
    """The wiring as JSON can carry it."""
    return {
        "file": found.layout.path,
        "board": found.layout.board,
        "terminals": [asdict(one) for one in found.terminals],
        "wires": [asdict(one) for one in found.runs],
        "wires_not_described": found.bare,
        "fuses": [{**asdict(row), "saved": row.saved} for row in found.fuses],
        "fuses_not_described": found.unfused,
        "rail_3v3_ma": {"most": rail_ma(found.rail), "allowed": RAIL_MA_MAX},
        "parts": [asdict(one) for one in found.parts],
        "refused": [asdict(one) for one in sorted(found.refused)],
        "warned": [asdict(one) for one in sorted(found.warned)],
        "cautions": list(CAUTIONS),
    }


def _bare_text(bare: list[str]) -> list[str]:
    """Coils and feeds carry amperes; only what merely tells the board something may have thin wires."""
    strong = [what for what in bare if what.startswith(("turnout ", "block ", TRACK_FEED))]
    thin = [what for what in bare if what not in strong]
    lines = []
    if strong:
        lines.append(f"  length not described: {', '.join(strong)}; 0.5 mm2 or more, twisted")
    if thin:
        lines.append(f"  length not described: {', '.join(thin)}; thin pairs do (hardware/sensors.md)")
    return lines


def text(found: Wiring) -> list[str]:
    """The wiring for the terminal."""
    wide = max([8, *(len(one.terminal) for one in found.terminals)])
    place = max([8, *(len(one.where) for one in found.terminals)])
    lines = ["terminals"]
    lines += [
        f"  {t.terminal:<{wide}}  {t.where:<{place}}  {t.direction:<4}{t.what}" for t in found.terminals
    ]
    lines += ["", "wires (pair of that length each; lost there and back, wire at 60 °C)"]
    if not found.runs:
        lines.append("  none described: add sources, coil_parts, sensor_parts, feed_parts under electrics:")
    longest = max([1, *(len(run.what) for run in found.runs)])
    lines += [
        f"  {run.what:<{longest}}  {shown(run.length_m, 'm'):<7} {shown(run.wire_mm2, 'mm2'):<10}"
        f"{shown(run.current_a, 'A'):>9}  loses {shown(run.drop_v, 'V')}"
        for run in found.runs
    ]
    lines += _bare_text(found.bare)
    if found.fuses:
        lines += ["", "fuses against their wires", *(f"  {fuse_text(row)}" for row in found.fuses)]
    if found.unfused:
        lines += ["", "fuses that the file does not give", *(f"  {line}" for line in found.unfused)]
    if found.rail:
        lines += ["", rail_text(found.rail)]
    lines += ["", "parts, by generic type"]
    lines += [f"  {part.count:>3} x {part.what}: {part.rating} ({part.why})" for part in found.parts]
    for title, complaints in (("cannot work", found.refused), ("warnings", found.warned)):
        if complaints:
            lines += ["", title, *(f"  {complaint}" for complaint in sorted(complaints))]
    return [*lines, "", *CAUTIONS]
