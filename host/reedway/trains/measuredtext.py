"""What a session log gives of a train, as a table, as lines for the layout file and as JSON."""

from __future__ import annotations

import math
from typing import Any

from reedway.columns import cut, table
from reedway.trains.measuring import Leg, Measured
from reedway.trains.model import Span

NEAR = 1e-6
NO_RUN_ON = (
    "Run-on is not in a log: no sensor sees where a train stands. Measure it with a tape, the acceleration "
    "with tape and watch: hardware/trains.md."
)


def _outward(values: Span, unit: str, places: int = 0) -> str:
    """`239 mm/s to 241 mm/s`: rounded outward, so that the span holds."""
    scale = 10**places
    low = math.floor(values[0] * scale + NEAR) / scale
    high = math.ceil(values[1] * scale - NEAR) / scale
    return f"{low:g} {unit}" if low == high else f"{low:g} {unit} to {high:g} {unit}"


def _pairs(found: Measured) -> dict[tuple[str, str], list[Leg]]:
    """The passings by sensors."""
    pairs: dict[tuple[str, str], list[Leg]] = {}
    for leg in found.legs:
        pairs.setdefault((leg.first, leg.second), []).append(leg)
    return pairs


def layout_lines(found: Measured) -> list[str]:
    """What to put into the layout file."""
    lines = ["trains:", f"  {found.made.name}:", f"    speed: {_outward(found.speed_mm_s, 'mm/s')}"]
    operating = found.operating_mm
    if operating is not None:
        vehicle = found.made.magnets[0].vehicle
        lines += ["vehicles:", f"  {vehicle}:", f"    operates_over: {_outward(operating, 'mm', 1)}"]
    return lines


def text(found: Measured, log: str) -> list[str]:
    """All of it for the terminal."""
    return [cut(line) for line in _text(found, log)]


def _text(found: Measured, log: str) -> list[str]:
    rows = []
    for (first, second), legs in _pairs(found).items():
        speeds = [leg.speed_mm_s for leg in legs]
        closed = [leg.operating_mm for leg in legs if leg.operating_mm is not None]
        rows.append(
            (
                f"{first} to {second}",
                f"{legs[0].distance_mm:g} mm",
                str(len(legs)),
                f"{min(speeds):.1f}",
                f"{max(speeds):.1f}",
                f"{min(closed):.1f} to {max(closed):.1f}" if closed else "-",
            )
        )
    head = ("sensors", "apart", "passes", "slowest mm/s", "fastest mm/s", "first closed over mm")
    lines = [f"{found.made.name}: {len(found.legs)} passings of {found.hits} hits in {log}"]
    lines += table(head, rows)
    lines.append(f"A hit is exact to 1 ms: {found.exact_to_mm_s:.2f} mm/s at the worst of these.")
    lines += [f"Left out, {count}: {why}." for why, count in found.left_out.items()]
    if found.is_other_file:
        lines.append("The log was recorded with another version of this file; the distances are of this one.")
    if len(found.made.magnets) > 1:
        lines.append(f"Of its magnets the first one is measured, under {found.made.magnets[0].vehicle}.")
    lines += ["", "Put into the layout file, in place of what is there:"]
    lines += [f"  {line}" for line in layout_lines(found)]
    return [*lines, "", NO_RUN_ON]


def as_json(found: Measured, log: str) -> dict[str, Any]:
    """Lengths in mm, speeds in mm/s, times in ms."""
    operating = found.operating_mm
    return {
        "log": log,
        "train": found.made.name,
        "vehicle": found.made.magnets[0].vehicle,
        "passes": len(found.legs),
        "hits": found.hits,
        "speed_mm_s": list(found.speed_mm_s),
        "exact_to_mm_s": found.exact_to_mm_s,
        "operates_over_mm": None if operating is None else list(operating),
        "sensors": [
            {
                "from": first,
                "to": second,
                "distance_mm": legs[0].distance_mm,
                "passes": len(legs),
                "speed_mm_s": [min(one.speed_mm_s for one in legs), max(one.speed_mm_s for one in legs)],
            }
            for (first, second), legs in _pairs(found).items()
        ],
        "left_out": dict(found.left_out),
        "recorded_with_this_file": not found.is_other_file,
        "layout_lines": layout_lines(found),
    }
