"""The way from each supply to its coils, as a row of boxes: fuse, arm switch, charging resistor, bank."""

from __future__ import annotations

from dataclasses import dataclass

from reedlogic import boardfile as b
from reedway.electrics.model import Source
from reedway.electrics.parts import source_of
from reedway.electrics.units import shown
from reedway.electrics.wiring import Wiring
from reedway.layout.model import Turnout

ARM_SWITCH = "arm switch"
NO_FUSE = "fuse not described"


@dataclass(frozen=True)
class SupplyRow:
    """One supply: its boxes from the supply on, the wire the coils hang on, and which outputs hang on it."""

    name: str
    boxes: list[str]
    end: str  # net name as in hardware/schematics
    outputs: list[str]  # what the coil terminals throw: "turnout exit to A"


def supply_rows(found: Wiring) -> list[SupplyRow]:
    """A row for every source that feeds a turnout, and one for turnouts whose source is not described."""
    rows = []
    for source in found.layout.electrics.sources:
        fed = [turnout for turnout in found.layout.turnouts if source_of(found.layout, turnout) is source]
        if fed:
            boxes, end = _chain(found, source, {one.supply.text for one in fed if one.supply})
            rows.append(SupplyRow(source.name, boxes, end, _outputs(fed)))
    rest = [turnout for turnout in found.layout.turnouts if source_of(found.layout, turnout) is None]
    if rest:
        arm = [ARM_SWITCH] if any(one.role == b.P_ARM for one in found.terminals) else []
        boxes = ["coil supply: not described", NO_FUSE, *arm, "charging resistor", "bank: not described"]
        rows.append(SupplyRow("", boxes, "bank +", _outputs(rest)))
    return rows


def _outputs(fed: list[Turnout]) -> list[str]:
    return [f"turnout {one.name} to {place}" for one in fed for place in (one.first, one.second)]


def _chain(found: Wiring, source: Source, supplies: set[str]) -> tuple[list[str], str]:
    kind = "AC" if source.alternating else "DC"
    name = source.name if source.name.endswith("supply") else f"{source.name} supply"
    boxes = [f"{name}: {shown(source.voltage_v, 'V')} {kind}"]
    fuse = source.fuse
    boxes.append(f"fuse {fuse.letter} {fuse.rating_a:g} A" if fuse else NO_FUSE)
    end = f"fused {'hot' if source.alternating else 'supply +'}"
    boxes += [
        f"contact of {one.what}"
        for one in found.terminals
        if one.role == b.P_SUPPLY and one.what.removeprefix("supply ") in supplies
    ]
    if not source.alternating and any(one.role == b.P_ARM for one in found.terminals):
        boxes.append(ARM_SWITCH)
        end = "armed supply +"
    if source.bank_f:
        if source.charge_ohm:
            boxes.append(shown(source.charge_ohm, "ohm"))
        bleeder = f", bleeder {shown(source.bleeder_ohm, 'ohm')}" if source.bleeder_ohm else ""
        boxes.append(f"bank {source.bank_f * 1e6:.0f} uF{bleeder}")
        end = "bank +"
    return boxes, end
