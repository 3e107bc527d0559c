"""Times as an owner writes them (`80 ms`, `1.6 s`, `2 min`, `1 h`) to whole milliseconds and back."""

from __future__ import annotations

import re
from fractions import Fraction

UNITS_MS = {"ms": 1, "s": 1000, "min": 60_000, "h": 3_600_000}
_FORM = re.compile(r"([+-]?)([0-9]+(?:\.[0-9]+)?|\.[0-9]+)\s*([^\W\d_]*)", re.ASCII)
# What people write instead; the answer names the right unit, it does not guess.
_MEANT = {
    "msec": "ms",
    "millisecond": "ms",
    "milliseconds": "ms",
    "sec": "s",
    "secs": "s",
    "second": "s",
    "seconds": "s",
    "m": "min",
    "mins": "min",
    "minute": "min",
    "minutes": "min",
    "hr": "h",
    "hour": "h",
    "hours": "h",
}


class NotATime(ValueError):
    """The text is no time; the message says why and what to write."""


def parse_ms(text: str) -> int:
    """Whole milliseconds, at least 0; NotATime when the text is anything else."""
    text = text.strip()
    form = _FORM.fullmatch(text)
    if form is None:
        raise NotATime(f"'{text}' is not a time; {_instead(text)}")
    sign, number, unit = form.groups()
    if unit not in UNITS_MS:
        raise NotATime(_unit_wrong(text, number, unit))
    if sign == "-":
        raise NotATime(f"'{text}' is negative; a time is never below 0; leave the minus out")
    time_ms = Fraction(number) * UNITS_MS[unit]
    if time_ms.denominator != 1:
        raise NotATime(
            f"'{text}' is not a whole number of milliseconds; write for example {round(time_ms)} ms"
        )
    return int(time_ms)


def _unit_wrong(text: str, number: str, unit: str) -> str:
    if not unit:
        return f"'{text}' has no unit; units are ms, s, min, h; write {number} ms or {number} s"
    meant = _MEANT.get(unit.lower()) or (unit.lower() if unit.lower() in UNITS_MS else "")
    hint = f"write {number} {meant}" if meant else f"write for example {number} ms"
    return f"'{text}': '{unit}' is not a unit of time; units are ms, s, min, h; {hint}"


def _instead(text: str) -> str:
    if re.fullmatch(r"[0-9]+,[0-9]+\s*[a-z]+", text):
        return f"write a point, not a comma: {text.replace(',', '.')}"
    clock = re.fullmatch(r"([0-9]{1,4}):([0-9]{2})", text)
    if clock:
        return f"write seconds: {int(clock[1]) * 60 + int(clock[2])} s"
    return "a time is a number and a unit: ms, s, min or h; write for example 80 ms or 1.6 s"


def as_written(time_ms: int) -> str:
    """The shortest way to write a time in one unit, such as `80 ms`, `1.6 s`, `10 min`."""
    for unit in ("h", "min"):
        if time_ms and time_ms % UNITS_MS[unit] == 0:
            return f"{time_ms // UNITS_MS[unit]} {unit}"
    if time_ms < 1000:
        return f"{time_ms} ms"
    whole, rest = divmod(time_ms, 1000)
    return f"{whole}.{rest:03d}".rstrip("0").rstrip(".") + " s"
