"""The section `electrics:` as checked values; without it, empty lists and the usual surroundings."""

from __future__ import annotations

from dataclasses import dataclass, field

from reedway.electrics.fuses import Fuse


@dataclass
class Surroundings:
    warmest_c: float = 35.0
    coldest_c: float = 10.0
    slowest_m_s: float = 0.05
    fastest_m_s: float = 0.4
    line: int = 1


@dataclass
class Cable:
    length_m: float  # one way
    wire_mm2: float


@dataclass
class Source:
    name: str
    line: int
    feeds: list[str] | None  # supplies; None: every one that no other source names
    alternating: bool
    voltage_v: float
    frequency_hz: float  # 0 on DC
    bank_f: float  # 0: none
    charge_ohm: float | None
    bleeder_ohm: float | None
    fuse: Fuse | None
    cable: Cable


@dataclass
class CoilPart:
    name: str
    line: int
    turnouts: list[str] | None
    resistance_20_ohm: float
    winding_mm: float | None
    copper_kg: float | None
    warms_k: float | None
    warming_pulses: int
    cools_s: float | None
    insulation: str
    ac_current_a: float | None
    ac_voltage_v: float
    throws_at_v: float | None
    throws_in_s: float
    by_relay: bool
    active_low: bool
    suppression: str  # "as drawn", "diode" or "clamp"
    pin_a: float
    cable: Cable


@dataclass
class MagnetPart:
    name: str
    line: int
    shape: str
    size_mm: tuple[float, ...]
    grade: str
    lies: str
    height_mm: tuple[float, float]
    aside_mm: float
    play_mm: float


@dataclass
class SensorPart:
    name: str
    line: int
    sensors: list[str] | None
    kind: str
    lies: str
    operates_mt: tuple[float, float] | None
    releases_mt: tuple[float, float] | None
    aside_mm: float
    measured_with: str | None
    measured_height_mm: float
    closes_at_mm: float | None
    opens_at_mm: float | None
    output: str
    level_v: float
    to_ground: bool
    cable: Cable


@dataclass
class FeedPart:
    name: str
    line: int
    blocks: list[str] | None
    current_a: float
    voltage_v: float
    alternating: bool
    fuse: Fuse | None
    reversed: bool
    pin_a: float
    meets: list[str]
    cable: Cable


@dataclass
class Electrics:
    """Everything the owner said about coils, sources, magnets, sensors and feeds."""

    surroundings: Surroundings = field(default_factory=Surroundings)
    sources: list[Source] = field(default_factory=list)
    coil_parts: list[CoilPart] = field(default_factory=list)
    magnets: list[MagnetPart] = field(default_factory=list)
    sensor_parts: list[SensorPart] = field(default_factory=list)
    feed_parts: list[FeedPart] = field(default_factory=list)
