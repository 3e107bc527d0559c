"""A picture of one session over time: a row for each sensor, block and turnout, in constant memory."""

from __future__ import annotations

from dataclasses import dataclass, field

from reedway.sessionlog.kinds import w

BINS = 512  # the time so far in so many steps; when it is more, two steps become one
OPEN, CLOSED, AT_REST = 0, 1, 2
STOP, GO = 0, 1
FIRST, SECOND, MOVING, UNKNOWN = 0, 1, 2, 3
SENSOR, BLOCK, TURNOUT = "sensor", "block", "turnout"
LEGEND = {
    SENSOR: "| hit   = closed   # magnet at rest",
    BLOCK: "= go   - part of the time   . stop",
    TURNOUT: "_ first position   / second   x thrown   ? not known",
}


@dataclass
class Row:
    """What one thing was, as milliseconds in each state in each step."""

    kind: str
    state: int
    since: int
    ms: list[list[int]] = field(default_factory=list)  # [state][step]
    marks: list[int] = field(default_factory=lambda: [0] * BINS)  # hits or throws in each step

    def __post_init__(self) -> None:
        self.ms = [[0] * BINS for _ in range({SENSOR: 3, BLOCK: 2, TURNOUT: 4}[self.kind])]


class Strip:
    """Rows in the order in which their things first come; feed it every record, then draw."""

    def __init__(self) -> None:
        self.rows: dict[tuple[str, str], Row] = {}
        self.start = -1
        self.now = -1
        self.bin_ms = 1
        self._closed: set[str] = set()  # sensors that have not opened since their hit

    def take(self, t: int, kind: str, name: str, value: int) -> None:
        """One record."""
        if self.start < 0:
            self.start = t
        self.now = t
        while t - self.start >= BINS * self.bin_ms:
            self._halve()
        if kind == "hit":
            self._closed.add(name)
            self._set(t, SENSOR, name, CLOSED, OPEN)
            self._mark(t, SENSOR, name)
        elif kind == "opening":
            self._closed.discard(name)
            row = self.rows.get((SENSOR, name))
            if row is None or row.state == CLOSED:
                self._set(t, SENSOR, name, OPEN, CLOSED)
        elif kind == "rest":
            self._set(t, SENSOR, name, AT_REST, CLOSED)
        elif kind == "clear" and value == w.C_REST:
            self._set(t, SENSOR, name, CLOSED if name in self._closed else OPEN, AT_REST)
        elif kind == "feed":
            self._set(t, BLOCK, name, GO if value else STOP, STOP if value else GO)
        elif kind == "throw":
            self._set(t, TURNOUT, name, MOVING, UNKNOWN)
            self._mark(t, TURNOUT, name)
        elif kind == "position":
            self._set(t, TURNOUT, name, min(value, SECOND), UNKNOWN)

    def close(self, t: int) -> None:
        """The end, or a reset: what was, was until now."""
        after = {SENSOR: OPEN, BLOCK: STOP, TURNOUT: UNKNOWN}
        for row in self.rows.values():
            self._spend(row, t)
            row.state = after[row.kind]

    def _set(self, t: int, kind: str, name: str, state: int, before: int) -> None:
        row = self.rows.get((kind, name))
        if row is None:  # its first change tells what it was before
            row = self.rows[kind, name] = Row(kind, before, self.start)
        self._spend(row, t)
        row.state = state

    def _mark(self, t: int, kind: str, name: str) -> None:
        self.rows[kind, name].marks[(t - self.start) // self.bin_ms] += 1

    def _spend(self, row: Row, t: int) -> None:
        """Write the time up to t into the steps that it covers."""
        spent = row.ms[row.state]
        at = row.since - self.start
        end = t - self.start
        while at < end:
            step = at // self.bin_ms
            until = min(end, (step + 1) * self.bin_ms)
            spent[step] += until - at
            at = until
        row.since = t

    def _halve(self) -> None:
        """Two steps become one, so that twice the time fits."""
        for row in self.rows.values():
            row.marks = _paired(row.marks)
            row.ms = [_paired(steps) for steps in row.ms]
        self.bin_ms *= 2

    def draw(self, columns: int) -> dict[tuple[str, str], str]:
        """The rows as text of so many characters."""
        steps = (self.now - self.start) // self.bin_ms + 1
        columns = min(columns, steps)
        drawn = {}
        for key, row in self.rows.items():
            marks = _columns(row.marks, steps, columns)
            ms = [_columns(spent, steps, columns) for spent in row.ms]
            cells = zip(marks, *ms, strict=True)
            drawn[key] = "".join(_CELL[row.kind](cell[0], cell[1:]) for cell in cells)
        return drawn


def _paired(steps: list[int]) -> list[int]:
    return [steps[i] + steps[i + 1] for i in range(0, BINS, 2)] + [0] * (BINS // 2)


def _columns(steps: list[int], used: int, columns: int) -> list[int]:
    """The used steps gathered into columns of nearly equal width."""
    gathered = [0] * columns
    for step in range(used):
        gathered[step * columns // used] += steps[step]
    return gathered


def _sensor_cell(hits: int, ms: tuple[int, ...]) -> str:
    if ms[AT_REST] > ms[OPEN] + ms[CLOSED]:
        return "#"
    if hits:
        return "|"
    return "=" if ms[CLOSED] > ms[OPEN] else "."


def _block_cell(_: int, ms: tuple[int, ...]) -> str:
    if not ms[GO]:
        return "."
    return "=" if not ms[STOP] else "-"


def _turnout_cell(throws: int, ms: tuple[int, ...]) -> str:
    if throws:
        return "x"
    if ms[UNKNOWN] + ms[MOVING] > ms[FIRST] + ms[SECOND]:
        return "?"
    return "/" if ms[SECOND] > ms[FIRST] else "_"


_CELL = {SENSOR: _sensor_cell, BLOCK: _block_cell, TURNOUT: _turnout_cell}
