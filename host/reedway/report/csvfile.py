"""A log as a table of comma-separated values (RFC 4180): one record a line."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from typing import TextIO

from reedway.sessionlog.clocks import Clocks
from reedway.sessionlog.kinds import TEXT
from reedway.sessionlog.reader import LogReader

COLUMNS = ("clock", "seconds", "kind", "name", "value")


@dataclass(frozen=True)
class Table:
    """How many rows were written, and in how many of them the numbers of a state are left out."""

    records: int
    states: int


def write_csv(reader: LogReader, out: TextIO) -> Table:
    """Write every line that can be read. Open `out` with newline=''.

    `clock` is 2026-11-25 19:30:00.000, `seconds` goes on over resets; both are empty for text from the board,
    which has no time. A state has its row and no value: its many numbers are for `replay` only.
    """
    table = csv.writer(out)  # the module's own default is RFC 4180: CR LF, quotes doubled
    table.writerow(COLUMNS)
    clocks = Clocks(reader.header)
    count = states = 0
    for line in reader:
        clocks.take(line)
        clock = seconds = ""
        if line.kind != TEXT:
            moment = clocks.moment()
            if moment is not None:
                clock = f"{moment:%Y-%m-%d %H:%M:%S}.{moment.microsecond // 1000:03d}"
            seconds = f"{clocks.running_ms // 1000}.{clocks.running_ms % 1000:03d}"
        is_state = isinstance(line.value, list)
        table.writerow((clock, seconds, line.kind, line.name, "" if is_state else line.value))
        count += 1
        states += is_state
    return Table(count, states)
