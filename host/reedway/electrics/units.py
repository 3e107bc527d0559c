"""Values with units as an owner writes them (`4.5 ohm`, `24 AWG`, `T 1 A`) to numbers in base units.

A key's `words` are (base unit, least, most), the limits as an owner would write them.
"""

from __future__ import annotations

import math
import re

from reedway.electrics.fuses import Fuse
from reedway.electrics.wires import awg_mm2

# Kinds of value for the table of keys.
AMOUNT = "value with a unit"
SPAN = "value or span"  # 2 mT, or 2 mT to 4 mT
SIZE = "size"  # 6 x 20 mm
GAUGE = "wire gauge"  # 0.5 mm2 or 24 AWG
FUSE = "fuse"  # T 1 A
KINDS = (AMOUNT, SPAN, SIZE, GAUGE, FUSE)

# Base unit -> spelling -> factor. Every spelling of one base unit is of one dimension.
UNITS: dict[str, dict[str, float]] = {
    "ohm": {"ohm": 1, "Ω": 1, "mohm": 1e-3, "mΩ": 1e-3, "kohm": 1e3, "kΩ": 1e3},
    "V": {"V": 1, "mV": 1e-3},
    "A": {"A": 1, "mA": 1e-3},
    "uF": {"uF": 1, "µF": 1, "μF": 1, "mF": 1e3, "nF": 1e-3},
    "mm": {"mm": 1, "cm": 10, "m": 1000},
    "m": {"m": 1, "cm": 0.01, "mm": 0.001},
    "g": {"g": 1, "kg": 1000},
    "°C": {"°C": 1, "C": 1},
    "K": {"K": 1},
    "mT": {"mT": 1, "T": 1000, "G": 0.1},
    "Hz": {"Hz": 1},
    "m/s": {"m/s": 1, "cm/s": 0.01, "mm/s": 0.001},
    "m/s2": {"m/s2": 1, "m/s²": 1, "cm/s2": 0.01, "mm/s2": 0.001},
}
WHAT = {
    "ohm": "a resistance",
    "V": "a voltage",
    "A": "a current",
    "uF": "a capacitance",
    "mm": "a length",
    "m": "a length",
    "g": "a mass",
    "°C": "a temperature",
    "K": "a rise in temperature",
    "mT": "a magnetic field",
    "Hz": "a frequency",
    "m/s": "a speed",
    "m/s2": "an acceleration",
}
_NUMBER = r"[+-]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)"
FUSE_RANGES = "F 125 mA to 10 A, T 50 mA to 6.3 A, TH 1 A to 6.3 A, UL 50 mA to 10 A"
FUSE_LETTERS = ("F", "T", "TH", "UL")


class NotAnAmount(ValueError):
    """The text is no such value; the message says what is wrong, what is allowed, what to do."""


def parse(kind: str, words: tuple[str, ...], example: str, text: str) -> object:
    """The value of a key of one of KINDS; NotAnAmount when the text is anything else."""
    if kind == FUSE:
        return _fuse(text)
    if kind == GAUGE:
        return _gauge(text)
    if kind == SIZE:
        return _size(text, words, example)
    if kind == SPAN:
        low, joined, high = text.partition(" to ")
        pair = (_amount(low, words, example), _amount(high if joined else low, words, example))
        if pair[0] > pair[1]:
            raise NotAnAmount(f"'{text}' goes down; the smaller comes first; write {high} to {low}")
        return pair
    return _amount(text, words, example)


def limits(words: tuple[str, ...]) -> str:
    """`0.1 ohm to 10 kohm`."""
    return f"{words[1]} to {words[2]}" if len(words) == 3 else ""


def _amount(text: str, words: tuple[str, ...], example: str) -> float:
    base = words[0]
    value = _in_base(text, base, example)
    low, high = (_in_base(limit, base, example) for limit in words[1:3])
    if not low <= value <= high:
        raise NotAnAmount(
            f"'{text}' is out of range; allowed are {limits(words)}; write for example {example}"
        )
    return value


def _in_base(text: str, base: str, example: str) -> float:
    form = re.fullmatch(rf"({_NUMBER})\s*(\S*)", text.strip())
    allowed = f"units are {', '.join(UNITS[base])}; write for example {example}"
    if form is None:
        comma = " with a point, not a comma" if re.match(r"[0-9]+,[0-9]", text.strip()) else ""
        raise NotAnAmount(f"'{text}' is not {WHAT[base]}; a number and a unit{comma}; {allowed}")
    number, unit = form.groups()
    if not unit:
        raise NotAnAmount(f"'{text}' has no unit; {allowed}")
    if unit not in UNITS[base]:
        other = next((WHAT[known] for known, all_of in UNITS.items() if unit in all_of), None)
        what = f"is {other}, not {WHAT[base]}" if other else f"has the unit '{unit}', which is not known"
        raise NotAnAmount(f"'{text}' {what}; {allowed}")
    return float(number) * UNITS[base][unit]


def _size(text: str, words: tuple[str, ...], example: str) -> tuple[float, ...]:
    sides, _, unit = text.rpartition(" ")
    parts = re.split(r"\s*[x×]\s*", sides)
    if not 2 <= len(parts) <= 3 or not all(re.fullmatch(_NUMBER, part) for part in parts):
        raise NotAnAmount(f"'{text}' is no size; two or three numbers with x between; write {example}")
    return tuple(_amount(f"{part} {unit}", words, example) for part in parts)


def _gauge(text: str) -> float:
    """Cross-section in mm2."""
    american = re.fullmatch(r"([0-9]{1,2}) ?AWG|AWG ?([0-9]{1,2})", text)
    if american:
        gauge = int(american[1] or american[2])
        if 10 <= gauge <= 34:
            return awg_mm2(gauge)
        raise NotAnAmount(f"'{text}' is out of range; allowed are 10 AWG to 34 AWG; write for example 24 AWG")
    square = re.fullmatch(rf"({_NUMBER}) ?(?:mm2|mm²)", text)
    if not square:
        raise NotAnAmount(f"'{text}' is no wire gauge; units are mm2, mm², AWG; write for example 0.5 mm2")
    value = float(square[1])
    if not 0.02 <= value <= 6:
        raise NotAnAmount(
            f"'{text}' is out of range; allowed are 0.02 mm2 to 6 mm2; write for example 0.5 mm2"
        )
    return value


def _fuse(text: str) -> Fuse:
    allowed = f"a letter ({', '.join(FUSE_LETTERS)}) and a rating; write for example T 1 A"
    form = re.fullmatch(rf"([A-Z]{{1,2}}) ?({_NUMBER}) ?(m?)A", text)
    if form is None or form[1] not in FUSE_LETTERS:
        raise NotAnAmount(f"'{text}' is no fuse; {allowed}")
    fuse = Fuse(form[1], float(form[2]) * (1e-3 if form[3] else 1))
    try:
        fuse.kind()
    except ValueError as why:
        raise NotAnAmount(f"'{text}': {why}; allowed are {FUSE_RANGES}; write T 1 A") from None
    return fuse


def shown(value: float, unit: str, digits: int = 3) -> str:
    """`1.68 V`: a value to so many significant digits, never in powers of ten."""
    if not math.isfinite(value):
        return "without end" if value > 0 else "none"
    if value == 0:
        return f"0 {unit}"
    places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:.{places}f}"
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text} {unit}"
