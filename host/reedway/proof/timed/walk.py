"""Breadth-first search through all states with clocks, many states at a time.

A state is a row of 16-bit numbers: the standing (two of them) and what each clock shows, of which the least
that counts down is always 0: time jumps to where something happens. Clocks that stand at 0 go off one after
the other in every order.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from reedway.proof.search import peak_mb
from reedway.proof.timed.seen import Seen, Words
from reedway.proof.timed.table import Ints, Shorts, Table

HIGH = 32_767
LOOK_EVERY = 1 << 15  # states between two looks at memory and clock
AT_A_TIME = 1 << 14  # states expanded together


@dataclass
class TimedFound:
    """What a search came to; arrays by number of state, in the order of finding."""

    states: int = 0
    transitions: int = 0
    seconds: float = 0.0
    peak_mb: float = 0.0
    bad: str = ""
    bad_from: int = -1  # state from which the bad row leads
    bad_row: int = -1
    cut_off: str = ""
    standing: list[Ints] = field(default_factory=list)  # parts, to be joined
    clocks: list[Shorts] = field(default_factory=list)
    came_from: list[Ints] = field(default_factory=list)
    by_row: list[Ints] = field(default_factory=list)
    edge_from: list[Ints] = field(default_factory=list)
    edge_to: list[Ints] = field(default_factory=list)
    edge_row: list[Ints] = field(default_factory=list)

    def joined(self, part: str) -> Ints:
        """One of the arrays, whole."""
        parts = getattr(self, part)
        if len(parts) > 1:
            parts[:] = [np.concatenate(parts)]
        whole: Ints = parts[0]
        return whole

    def way_to(self, state: int) -> list[tuple[int, int]]:
        """(state before or -1, row) of each step of a shortest way."""
        came_from, by_row = self.joined("came_from"), self.joined("by_row")
        way = []
        while state >= 0:
            way.append((int(came_from[state]), int(by_row[state])))
            state = way[-1][0]
        return way[::-1]

    @property
    def states_per_s(self) -> float:
        return self.states / self.seconds if self.seconds else 0.0


Progress = Callable[[TimedFound], None]


class Walk:
    """One search."""

    def __init__(
        self,
        table: Table,
        states_max: int,
        memory_mb_max: float,
        progress: Progress | None = None,
    ) -> None:
        self.table = table
        self.states_max = states_max
        self.memory_mb_max = memory_mb_max
        self.progress = progress
        self.found = TimedFound()
        self.seen = Seen((table.clocks + 2 + 3) // 4)
        self.began = time.perf_counter()
        self.looked = 0

    def go(self) -> TimedFound:
        """Search everything that can come of the starts."""
        found = self.found
        rows = np.array([self.table.add_row(row, -1) for row in self.table.work.starts()], np.int32)
        nothing = np.zeros((len(rows), self.table.clocks), np.int16)
        level = self._arrive(nothing, rows, np.full(len(rows), -1, np.int32))
        while level[0].size and not found.bad and not found.cut_off:
            level = self._expand(*level)
        self._look()
        return found

    def _expand(self, first: Ints, standing: Ints, clocks: Shorts) -> tuple[Ints, Ints, Shorts]:
        """The new states that one step from these leads to."""
        parts = []
        for at in range(0, len(first), AT_A_TIME):
            part = slice(at, at + AT_A_TIME)
            parts.append(self._step(first[part], standing[part], clocks[part]))
            if self.found.bad or self.found.cut_off:
                break
        return tuple(np.concatenate(arrays) for arrays in zip(*parts, strict=True))  # type: ignore[return-value]

    def _step(self, numbers: Ints, standing: Ints, clocks: Shorts) -> tuple[Ints, Ints, Shorts]:
        origin, rows = self.rows_of(standing, clocks)
        if not self.table.always(rows):
            fits = (clocks[origin] <= self.table.shows_max.array[rows]).all(axis=1)
            fits |= self.table.to.array[rows] < 0
            origin, rows = origin[fits], rows[fits]
        self.found.transitions += len(rows)
        bad = np.flatnonzero(self.table.to.array[rows] < 0)
        if bad.size:
            at = int(bad[0])
            self.found.bad_from, self.found.bad_row = int(numbers[origin[at]]), int(rows[at])
            self.found.bad = self.table.bad[int(rows[at])]
            origin, rows = origin[:0], rows[:0]
        return self._arrive(clocks[origin], rows, numbers[origin])

    def rows_of(self, standing: Ints, clocks: Shorts) -> tuple[Ints, Ints]:
        """Every row that these states have: (place of the state among them, row)."""
        table = self.table
        due = (table.runs.array[standing] != 0) & (clocks == 0)
        origins, rows = [], []
        for clock in np.flatnonzero(due.any(axis=0)).tolist():
            at = np.flatnonzero(due[:, clock]).astype(np.int32)
            which = standing[at]
            table.make_all(which, clock)
            counts = table.count.array[which, clock]
            origin = np.repeat(at, counts)
            within = np.arange(len(origin), dtype=np.int32) - np.repeat(np.cumsum(counts) - counts, counts)
            rows.append((np.repeat(table.first.array[which, clock], counts) + within).astype(np.int32))
            origins.append(origin)
        if not rows:
            return np.zeros(0, np.int32), np.zeros(0, np.int32)
        return np.concatenate(origins), np.concatenate(rows)

    def after(self, clocks: Shorts, rows: Ints) -> tuple[Ints, Shorts, Words]:
        """The states that rows lead to: standing, clocks, and both as words."""
        table = self.table
        standing = table.to.array[rows].astype(np.int32)
        left = np.maximum(clocks * table.keeps.array[rows] + table.adds.array[rows], 0).astype(np.int16)
        runs = table.runs.array[standing] != 0
        least = np.where(runs, left, HIGH).min(axis=1)
        least[least == HIGH] = 0
        left -= runs * least[:, None].astype(np.int16)
        state = np.zeros((len(rows), 4 * self.seen.words), np.int16)
        state[:, :2] = standing.view(np.int16).reshape(-1, 2)
        state[:, 2 : 2 + table.clocks] = left
        return standing, left, state.view(np.uint64)

    def _arrive(self, clocks: Shorts, rows: Ints, origin: Ints) -> tuple[Ints, Ints, Shorts]:
        standing, left, states = self.after(clocks, rows)
        targets, at = self.seen.put(states)
        count = self.seen.count
        found = self.found
        if origin.size and origin[0] >= 0:
            found.edge_from.append(origin.astype(np.int32))
            found.edge_to.append(targets)
            found.edge_row.append(rows)
        found.standing.append(standing[at])
        found.clocks.append(left[at])
        found.came_from.append(origin[at].astype(np.int32))
        found.by_row.append(rows[at])
        if count - self.looked > LOOK_EVERY or count > self.states_max:
            self._look()
        return np.arange(count - len(at), count, dtype=np.int32), standing[at], left[at]

    def _look(self) -> None:
        found = self.found
        found.states = self.looked = self.seen.count
        found.seconds = time.perf_counter() - self.began
        found.peak_mb = peak_mb()
        if found.states > self.states_max and not found.bad:
            found.cut_off = "states"
        elif found.peak_mb > self.memory_mb_max and not found.bad:
            found.cut_off = "memory"
        if self.progress is not None:
            self.progress(found)
