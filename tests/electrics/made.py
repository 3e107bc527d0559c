"""Layouts for these tests: an example layout without its electrics, and electrics of our own behind it."""

from __future__ import annotations

import re
from pathlib import Path

from reedway.layout.load import load_bytes
from reedway.layout.model import Layout

CONFIG = Path(__file__).parents[2] / "config"

BANK = "{voltage: 24 V, bank: 10000 uF, charged_through: 100 ohm, bleeder: 4.7 kohm, fuse: T 1 A, cable: 1 m}"
PLAIN = "{voltage: 16 V, fuse: T 1 A, cable: 1 m}"
COIL = "{resistance: 4.5 ohm, winding_wire: 0.315 mm, insulation: A, throws_at: 9 V, throws_in: 20 ms}"
MAGNET = "{shape: cylinder, size: 6 x 20 mm, grade: N42, lies: along, height: 6 mm to 9 mm}"
REED = "{measured_with: head magnet, measured_height: 8 mm, closes_at: 10 mm, opens_at: 11 mm}"
FEED = "{current: 1 A, fuse: T 1.25 A}"


def section(
    source: str = BANK,
    coil: str = COIL,
    magnet: str = MAGNET,
    sensor: str = REED,
    feed: str = "",
    around: str = "{}",
) -> str:
    """An electrics section; an empty part is left out."""
    lines = ["electrics:", f"  surroundings: {around}"]
    for name, part, value in (
        ("sources", "coil bank", source),
        ("coil_parts", "point coil", coil),
        ("magnets", "head magnet", magnet),
        ("sensor_parts", "small reed", sensor),
        ("feed_parts", "rail feed", feed),
    ):
        if value:
            lines += [f"  {name}:", f"    {part}: {value}"]
    return "\n".join(lines) + "\n"


def source_of(example: str) -> str:
    """An example layout without the electrics it may carry."""
    text = (CONFIG / f"{example}.yaml").read_text(encoding="utf-8")
    text = text.split("\nelectrics:")[0] + "\n"
    return re.sub(r"^ +magnet_kind:.*\n", "", text, flags=re.M)  # it would refer into the electrics


def layout(electrics: str | None = None, example: str = "two-trains", **changes: str) -> Layout:
    """The example with these electrics; `changes` are texts to put in place of others in the example."""
    text = source_of(example)
    for old, new in changes.items():
        old = old.replace("_", " ")
        assert old in text, old
        text = text.replace(old, new)
    return load_bytes("made.yaml", (text + (section() if electrics is None else electrics)).encode())
