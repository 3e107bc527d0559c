"""Numbers of the command line within their bounds; what is wrong is told in one line."""

from __future__ import annotations

import re
from argparse import ArgumentTypeError
from collections.abc import Callable

_COMMA = re.compile(r"[+-]?\d+,\d+")


def number(low: float, high: float, above: bool = False) -> Callable[[str], float]:
    """For `type=`: a number from low (or above it) to high."""

    def read(text: str) -> float:
        if _COMMA.fullmatch(text.strip()):
            raise ArgumentTypeError(f"write a point, not a comma: {text.strip().replace(',', '.')}")
        try:
            value = float(text)
        except ValueError:
            raise ArgumentTypeError(f"'{text}' is no number; {allowed}") from None
        if not low <= value <= high or above and value == low:
            raise ArgumentTypeError(f"'{text}' is not allowed; {allowed}")
        return value

    allowed = f"more than {low:g}, at most {high:g}" if above else f"{low:g} to {high:g}"
    return read


def whole(low: int, high: int) -> Callable[[str], int]:
    """For `type=`: a whole number from low to high."""

    def read(text: str) -> int:
        try:
            value = int(text)
        except ValueError:
            raise ArgumentTypeError(f"'{text}' is no whole number; {low} to {high}") from None
        if not low <= value <= high:
            raise ArgumentTypeError(f"'{text}' is not allowed; {low} to {high}")
        return value

    return read
