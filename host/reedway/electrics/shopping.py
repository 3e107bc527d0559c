"""One line of a shopping list, standard ratings to round up to, and like lines put together."""

from __future__ import annotations

import math
from dataclasses import dataclass

TRANSISTOR_V = (30.0, 40.0, 60.0, 100.0, 150.0, 200.0)  # usual ratings of MOSFETs and diodes; common practice
QUARTER_W = "0.25 W"


@dataclass(frozen=True)
class Part:
    """One line of the list; `why` says where the rating comes from or what it is for."""

    count: int
    what: str
    rating: str
    why: str


def merged(found: list[Part]) -> list[Part]:
    """Like parts in one line, in the order they first come."""
    counts: dict[tuple[str, str, str], int] = {}
    for part in found:
        key = (part.what, part.rating, part.why)
        counts[key] = counts.get(key, 0) + part.count
    return [Part(count, *key) for key, count in counts.items()]


def rated_v(volts: float) -> str:
    """The next usual rating of a transistor or diode, as text."""
    return f"{next((v for v in TRANSISTOR_V if v >= volts), volts):.0f} V"


def rated_a(amps: float) -> str:
    """Whole amperes above one, tenths below, rounded up."""
    return f"{math.ceil(amps - 1e-9)} A" if amps > 1 else f"{math.ceil(10 * amps - 1e-9) / 10:.1f} A"


def resistor(count: int, value: str, why: str) -> Part:
    return Part(count, "resistor", f"{value}, {QUARTER_W}", why)
