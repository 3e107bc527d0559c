"""Which coil part and source a turnout of the layout has, as a coil and a drive to reckon with."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeVar

from reedway.electrics import coils, copper, relays
from reedway.electrics.capacitors import TOLERANCE, energy_j
from reedway.electrics.model import CoilPart, Electrics, FeedPart, SensorPart, Source
from reedway.electrics.wires import WARM_C, loop_ohm
from reedway.layout.model import Layout, Turnout

HOT_SPOT_K = 15.0  # the middle of a winding is hotter than its mean; common practice, no source
RELAY_RELEASE_MS = relays.RELEASE_MS * relays.DIODE_SLOWS  # a relay lets go late and holds the coil on


@dataclass(frozen=True)
class Wired:
    """One turnout's coils with what drives them. `coil` is None while what warms them is not known."""

    turnout: Turnout
    part: CoilPart
    source: Source
    coil: coils.Coil | None
    drive: coils.Drive  # with the resistance of the wires
    ambient_c: float
    on_s: float  # longest time a coil is on for one pulse
    pulse_j: float  # most energy of one pulse

    @property
    def class_c(self) -> float:
        """Temperature of the coil's insulation class."""
        return copper.THERMAL_CLASS_C[self.part.insulation]


def coil_part_of(layout: Layout, turnout: Turnout) -> CoilPart | None:
    """The part that names the turnout, else the one that names none."""
    return _of(layout.electrics.coil_parts, turnout.name, "turnouts")


def source_of(layout: Layout, turnout: Turnout) -> Source | None:
    """The source that names the turnout's supply, else the one that names none."""
    supply = turnout.supply.text if turnout.supply else ""
    return _of(layout.electrics.sources, supply, "feeds")


def sensor_part_of(electrics: Electrics, sensor: str) -> SensorPart | None:
    return _of(electrics.sensor_parts, sensor, "sensors")


def feed_part_of(electrics: Electrics, block: str) -> FeedPart | None:
    return _of(electrics.feed_parts, block, "blocks")


Part = TypeVar("Part")


def _of(parts: list[Part], name: str, attribute: str) -> Part | None:
    rest: Part | None = None
    for part in parts:
        named = getattr(part, attribute)
        if named is None:
            rest = rest or part
        elif name in named:
            return part
    return rest


def wire_up(layout: Layout, turnout: Turnout, part: CoilPart, source: Source) -> Wired:
    """The coil of a turnout with its source, cold coil, most power, longest time: on the safe side."""
    ambient_c = layout.electrics.surroundings.warmest_c
    series = sum(loop_ohm(cable.length_m, cable.wire_mm2, WARM_C) for cable in (source.cable, part.cable))
    drive = coils.Drive(source.voltage_v, source.frequency_hz, series)
    bare = coils.Coil(part.resistance_20_ohm, 1.0, _limit_c(part), 1.0, _inductance_h(part, source))
    on_s = turnout.pulse_ms / 1000
    if part.by_relay or turnout.relay_operate_ms:
        on_s += (turnout.relay_operate_ms + RELAY_RELEASE_MS) / 1000
    pulse_j = pulse_energy_j(bare, drive, source, ambient_c, on_s)
    heat = _heat_j_k(part, pulse_j)
    coil = None
    if heat is not None:
        cooling = (
            part.cools_s / heat if part.cools_s else copper.cooling_k_w(heat / copper.SPECIFIC_HEAT_J_KG_K)
        )
        coil = replace(bare, heat_j_k=heat, cooling_k_w=cooling)
    return Wired(turnout, part, source, coil, drive, ambient_c, on_s, pulse_j)


def pulse_energy_j(
    coil: coils.Coil, drive: coils.Drive, source: Source, ambient_c: float, on_s: float
) -> float:
    """Most energy of one pulse: what the voltage can drive, or what a bank holds and gets meanwhile."""
    energy = coils.power_w_max(coil, drive, ambient_c) * on_s
    if source.bank_f and source.charge_ohm:
        stored = energy_j(source.bank_f * (1 + TOLERANCE), source.voltage_v)
        energy = min(energy, stored + source.voltage_v**2 / source.charge_ohm * on_s)
    return energy


def _limit_c(part: CoilPart) -> float:
    return copper.THERMAL_CLASS_C[part.insulation] - HOT_SPOT_K


def _inductance_h(part: CoilPart, source: Source) -> float:
    """From the current on AC, where measured; 0 makes the reckoning stricter."""
    if part.ac_current_a is None:
        return 0.0
    hz = source.frequency_hz or 50.0
    try:
        return coils.inductance_from_ac_h(part.resistance_20_ohm, part.ac_voltage_v, part.ac_current_a, hz)
    except ValueError:
        return 0.0


def _heat_j_k(part: CoilPart, pulse_j: float) -> float | None:
    """The least of what the owner's figures say; None when he gave none."""
    found = []
    if part.copper_kg is not None:
        found.append(copper.heat_capacity_j_k(part.copper_kg))
    if part.winding_mm is not None:
        mass = copper.winding_mass_kg(part.resistance_20_ohm, part.winding_mm)
        found.append(copper.heat_capacity_j_k(mass))
    if part.warms_k is not None:
        found.append(pulse_j * part.warming_pulses / part.warms_k)
    return min(found, default=None)
