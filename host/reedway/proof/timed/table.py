"""The rows of a clockwork as arrays: standings by number, and for each clock of each the rows it leads to."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from reedway.proof.timed.clockwork import Clockwork
from reedway.proof.timed.standing import ALWAYS, Row, Standing
from reedway.proof.told import Told

Ints = NDArray[np.int32]
Shorts = NDArray[np.int16]
NOT_MADE = -1


class Growing:
    """An array that rows are appended to."""

    def __init__(self, columns: int, kind: type[np.signedinteger] = np.int32) -> None:
        shape = (64, columns) if columns else (64,)
        self.array: NDArray[np.signedinteger] = np.zeros(shape, kind)
        self.count = 0

    def add(self, value: int | Sequence[int]) -> int:
        """Append one; returns its number."""
        if self.count == len(self.array):
            more = np.zeros_like(self.array)
            self.array = np.concatenate([self.array, more])
        self.array[self.count] = value
        self.count += 1
        return self.count - 1


class Table:
    """Made as far as it is asked for."""

    def __init__(self, work: Clockwork) -> None:
        self.work = work
        self.clocks = clocks = work.clocks
        self.standings: list[Standing] = []
        self.numbers: dict[Standing, int] = {}
        self.runs = Growing(clocks, np.int8)  # of each standing: which clocks count down
        self.first = Growing(clocks)  # of each standing and clock: its first row
        self.count = Growing(clocks)  # ... and how many
        self.to = Growing(0)  # of each row; -1: bad
        self.keeps = Growing(clocks, np.int16)
        self.adds = Growing(clocks, np.int16)
        self.shows_max = Growing(clocks, np.int16)
        self.moves = Growing(0)  # of each row: the train that comes on, or -1
        self.told: list[Told] = []
        self.bad: list[str] = []

    def standing(self, standing: Standing) -> int:
        number = self.numbers.get(standing)
        if number is None:
            number = self.numbers[standing] = len(self.standings)
            self.standings.append(standing)
            self.runs.add(self.work.running(standing))
            self.first.add([NOT_MADE] * self.clocks)
            self.count.add([0] * self.clocks)
        return number

    def add_row(self, row: Row, clock: int) -> int:
        """Append a row; returns its number."""
        if row.to is None:
            number = self.to.add(-1)
            for array in (self.keeps, self.adds, self.shows_max):
                array.add([0] * self.clocks)
        else:
            number = self.to.add(self.standing(row.to))
            self.keeps.add(row.keeps)
            self.adds.add(row.adds)
            self.shows_max.add(row.shows_max)
        is_train = 0 <= clock < self.work.timer_at and not row.told.text.startswith("comes to stand")
        self.moves.add(clock if is_train else -1)
        self.told.append(row.told)
        self.bad.append(row.bad)
        return number

    def make(self, number: int, clock: int) -> None:
        """The rows of a standing for one clock."""
        rows = self.work.rows(self.standings[number], clock)
        self.first.array[number, clock] = self.to.count
        self.count.array[number, clock] = len(rows)
        for row in rows:
            self.add_row(row, clock)

    def make_all(self, numbers: Ints, clock: int) -> None:
        """Those that are not made yet."""
        missing = numbers[self.first.array[numbers, clock] == NOT_MADE]
        for number in np.unique(missing).tolist():
            self.make(number, clock)

    def always(self, rows: Ints) -> bool:
        """Are these rows possible whatever the clocks have shown?"""
        return bool((self.shows_max.array[rows] == ALWAYS).all())
