"""The pin module of a board folder: Python that people can read and both interpreters can import."""

from __future__ import annotations

import ast
from pathlib import Path

from reedlogic import boardfile as b
from reedway.boardfile.pintable import Row, flat_table, table_hash
from reedway.boardfile.terminals import BOARDS, USABLE
from reedway.problems import ReedwayError

ROLES = {
    "INPUT": b.P_INPUT,
    "COIL": b.P_COIL,
    "FEED": b.P_FEED,
    "SUPPLY": b.P_SUPPLY,
    "ARM": b.P_ARM,
    "LAMP_LINE": b.P_LAMP_LINE,
    "PANEL_LINE": b.P_PANEL_LINE,
    "LAMP": b.P_LAMP,
    "PANEL": b.P_PANEL,
    "SHADOW": b.P_SHADOW,
}
_ROLE_NAMES = {role: name for name, role in ROLES.items()}
_HEAD = '''\
"""Every terminal of this layout and its pin. Written by reedway build; change the layout file, not this."""

LAYOUT = {layout}
LAYOUT_SHA256 = "{sha256}"
BOARD = "{board}"  # {board_name}: {used} of {usable} pins used, free: {free}

# What a terminal is, as the board file counts it. For LAMP and PANEL the second column is the place on the
# shift registers, counted from 0; for all others it is the GPIO.
{roles}

IN = "in"
OUT = "out"
UP = "up"  # pull-up: an open contact reads 1, a closed one 0; so for inputs the safe level is 1
NONE = "none"  # at reset every pin is an input with its weak pull-down; outputs are off at 0

TERMINALS = (
    # terminal, GPIO, what, number, direction, pull, safe level
'''
_TAIL = """\
)

# The board file repeats table and hash. If they differ from these, the board keeps everything off.
TABLE = tuple([number for row in TERMINALS for number in row[1:4]])
HASH = ({high}, {low})
"""


def pin_module(rows: list[Row], layout: str, sha256: str, board: str) -> str:
    """The text of pins.py."""
    used = {row.where for row in rows if not row.on_register}
    free = [str(gpio) for gpio in USABLE if gpio not in used]
    high, low = table_hash(flat_table(rows))
    text = _HEAD.format(
        layout=ascii(layout),
        sha256=sha256,
        board=board,
        board_name=BOARDS[board],
        used=len(used),
        usable=len(USABLE),
        free=", ".join(free) or "none",
        roles="\n".join(f"{name} = {number}" for name, number in ROLES.items()),
    )
    return text + "".join(_line(row) for row in rows) + _TAIL.format(high=high, low=low)


def _line(row: Row) -> str:
    pull = "UP" if row.pull == "up" else "NONE"
    cells = (f'"{row.terminal}"', row.where, _ROLE_NAMES[row.role], row.number, row.direction.upper(), pull)
    padded = " ".join(f"{cell},".ljust(size) for cell, size in zip(cells, (14, 3, 11, 3, 4, 5), strict=True))
    return f"    ({padded} {row.safe}),  # {row.what}\n"


def read_table(path: Path) -> tuple[int, ...]:
    """TABLE of a pin module, read without running it."""
    try:
        tree = ast.parse(path.read_text(encoding="utf-8"))
        rows = next(
            node.value
            for node in tree.body
            if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "TERMINALS"
        )
        return tuple(_number(cell) for row in _cells(rows) for cell in _cells(row)[1:4])
    except (OSError, SyntaxError, ValueError, StopIteration, KeyError) as error:
        problem = str(error) or "no rows of terminals"
        raise ReedwayError(f"{path}: this is no pin module of a board folder ({problem})") from error


def _cells(row: ast.expr) -> list[ast.expr]:
    if not isinstance(row, ast.Tuple):
        raise ValueError(f"line {row.lineno} is no row")
    return row.elts


def _number(cell: ast.expr) -> int:
    if isinstance(cell, ast.Name):
        return ROLES[cell.id]
    if isinstance(cell, ast.Constant) and isinstance(cell.value, int):
        return cell.value
    raise ValueError(f"line {cell.lineno} has something else than numbers")
