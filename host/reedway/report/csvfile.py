"""A log as a table of comma-separated values (RFC 4180): one record a line."""

from __future__ import annotations

import csv
from typing import TextIO

from reedway.sessionlog.clocks import Clocks
from reedway.sessionlog.kinds import TEXT
from reedway.sessionlog.reader import LogReader

COLUMNS = ("clock", "seconds", "kind", "name", "value")


def write_csv(reader: LogReader, out: TextIO) -> int:
    """Write every line that can be read; returns how many. Open `out` with newline=''.

    `clock` is 2026-11-25 19:30:00.000, `seconds` goes on over resets; both are empty for text from the board,
    which has no time. A state is its numbers with blanks between.
    """
    table = csv.writer(out)  # the module's own default is RFC 4180: CR LF, quotes doubled
    table.writerow(COLUMNS)
    clocks = Clocks(reader.header)
    count = 0
    for line in reader:
        clocks.take(line)
        clock = seconds = ""
        if line.kind != TEXT:
            moment = clocks.moment()
            if moment is not None:
                clock = f"{moment:%Y-%m-%d %H:%M:%S}.{moment.microsecond // 1000:03d}"
            seconds = f"{clocks.running_ms // 1000}.{clocks.running_ms % 1000:03d}"
        value = " ".join(map(str, line.value)) if isinstance(line.value, list) else line.value
        table.writerow((clock, seconds, line.kind, line.name, value))
        count += 1
    return count
