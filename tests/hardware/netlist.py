"""Reads hardware/netlists/*.yaml and answers what hangs on what."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import yaml

from reedway.electrics import units

HARDWARE = Path(__file__).parents[2] / "hardware"
COILS = ("dc coil", "ac coil")
# Which pins each kind of part has; `between` is two pins of no direction.
PINS = {
    "resistor": ("between",),
    "capacitor": ("between",),
    "fuse": ("between",),
    "contact": ("between",),
    "train": ("between",),
    "dc coil": ("between",),
    "ac coil": ("between",),
    "two-way clamp": ("between",),
    "diode": ("anode", "cathode"),
    "led": ("anode", "cathode"),
    "n-mosfet": ("gate", "drain", "source"),
    "p-mosfet": ("gate", "drain", "source"),
    "hall": ("supply", "output", "ground"),
    "optocoupler": ("led plus", "led minus", "collector", "emitter"),
    "register out": ("supply", "ground", "data", "clock", "latch", "not enable", "not clear", "output"),
    "register in": (
        "supply",
        "ground",
        "data",
        "clock",
        "latch",
        "input",
        "spare inputs",
        "serial",
        "clock inhibit",
    ),
    "board": ("vsys", "run", "supply", "ground"),
}


@dataclass
class Circuit:
    """One netlist."""

    name: str
    title: str
    drives: str
    gpio: dict[str, str]  # net -> input or output
    rails: dict[str, float]  # net -> volts
    parts: dict[str, dict[str, object]]

    def of_kind(self, *kinds: str) -> Iterator[tuple[str, dict[str, object]]]:
        return ((name, part) for name, part in self.parts.items() if part["is"] in kinds)

    def nets(self, part: dict[str, object]) -> list[str]:
        """The nets of a part, in the order of its pins."""
        found: list[str] = []
        for pin in PINS[str(part["is"])]:
            value = part[pin]
            found += value if isinstance(value, list) else [str(value)]
        return found

    def on_net(self, net: str) -> list[str]:
        return [name for name, part in self.parts.items() if net in self.nets(part)]

    def resistors(self, one: str, other: str) -> list[float]:
        """Ohms of every resistor straight between two nets."""
        return [ohm(part) for _, part in self.of_kind("resistor") if {one, other} == set(self.nets(part))]


def ohm(part: dict[str, object]) -> float:
    value = units.parse(units.AMOUNT, ("ohm", "0.1 ohm", "10000 kohm"), "1 ohm", str(part["value"]))
    assert isinstance(value, float)
    return value


def farad(part: dict[str, object]) -> float:
    value = units.parse(units.AMOUNT, ("uF", "0.1 nF", "1000000 uF"), "1 uF", str(part["value"]))
    assert isinstance(value, float)
    return value * 1e-6


def read(path: Path) -> Circuit:
    data = yaml.safe_load(path.read_text(encoding="utf-8"))
    rails = {net: float(text.split()[0]) for net, text in data["rails"].items()}
    return Circuit(path.stem, data["circuit"], data["drives"], data["gpio"], rails, data["parts"])


def circuits() -> list[Circuit]:
    return [read(path) for path in sorted((HARDWARE / "netlists").glob("*.yaml"))]


BY_NAME = {circuit.name: circuit for circuit in circuits()}
