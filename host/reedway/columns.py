"""Tables and sentences for a terminal of 80 columns, or as wide as it is."""

from __future__ import annotations

import re
import shutil
import sys
from collections.abc import Sequence
from textwrap import fill, wrap

COLUMNS = 80
GAP = "  "
NAME_MIN = 8  # a column of names is not made narrower
HEAD_LINES = (1, 2, 3)
_UNIT = re.compile(r"(?<=\d) (?=(?:mm2?|ms|s|h|%|°C|m?[VAWJ]|k?ohm)(?![a-z]))")
_STUCK = "\N{NO-BREAK SPACE}"  # no place to cut at

Row = Sequence[str]


def fitted(text: str) -> str:
    """Text whose lines may be long: cut on a terminal, left whole for a file or another program."""
    if not sys.stdout.isatty():
        return text
    columns = shutil.get_terminal_size().columns
    return "\n".join(cut(line, columns) for line in text.split("\n"))


def cut(line: str, columns: int = COLUMNS) -> str:
    """A line of text cut to the terminal; what goes on stands a little farther in, a number with its unit."""
    if len(line) <= columns:
        return line
    indent = " " * (len(line) - len(line.lstrip()))
    whole = fill(
        _UNIT.sub(_STUCK, line.strip()),
        columns,
        initial_indent=indent,
        subsequent_indent=f"{indent}  ",
        break_long_words=False,
        break_on_hyphens=False,
    )
    return whole.replace(_STUCK, " ")


def table(head: Row, rows: Sequence[Row]) -> list[str]:
    """Columns as wide as they need; the first two to the left, the others to the right.

    Where that is too wide for the terminal the heads stand in lines one below the other, then the names too.
    """
    cells = [max((len(row[i]) for row in rows), default=0) for i in range(len(head))]
    for count in HEAD_LINES:
        wide = [max(cell, _narrowest(text, count)) for cell, text in zip(cells, head, strict=True)]
        if _width(wide) <= COLUMNS:
            break
    for i in sorted((0, 1), key=lambda i: -wide[i])[: len(wide)]:
        wide[i] = max(min(wide[i], NAME_MIN), wide[i] - max(0, _width(wide) - COLUMNS))
    return [line for row in (head, *rows) for line in _lines(row, wide, is_head=row is head)]


def _width(wide: Sequence[int]) -> int:
    return sum(wide) + len(GAP) * len(wide)


def _narrowest(text: str, count: int) -> int:
    """The width at which a head needs so many lines at most."""
    longest = max(map(len, text.split()), default=0)
    return next((w for w in range(longest, len(text)) if len(wrap(text, w)) <= count), len(text))


def _lines(row: Row, wide: Sequence[int], is_head: bool) -> list[str]:
    """One row; a head stands low, names begin at the top."""
    parts = [
        wrap(cell, max(1, at), break_on_hyphens=False) or [""] for cell, at in zip(row, wide, strict=True)
    ]
    high = max(map(len, parts))
    lines = []
    for n in range(high):
        shown = []
        for i, part in enumerate(parts):
            at = n - (high - len(part) if is_head else 0)
            cell = part[at] if 0 <= at < len(part) else ""
            shown.append(cell.ljust(wide[i]) if i < 2 else cell.rjust(wide[i]))
        lines.append(GAP + GAP.join(shown).rstrip())
    return lines
