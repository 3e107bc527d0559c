"""The writer appends, flushes, and goes on with a torn log; the reader reads back what was written."""

from pathlib import Path

import pytest

from reedlogic import words as w
from reedway.problems import ReedwayError
from reedway.sessionlog.header import Header
from reedway.sessionlog.names import Codec
from reedway.sessionlog.reader import LogReader
from reedway.sessionlog.writer import LogWriter
from sessionlog.made import HEADER, NAMES

CODEC = Codec(NAMES)


def test_what_is_written_is_there_at_once(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    with LogWriter(path, HEADER, CODEC) as log:
        log.state(3, [1, 2, 3])
        log.records([(10, w.R_HIT, 0, 0), (10, w.R_THROW, 1, 1)])
        log.text('MPY: "soft"\treboot\x1b')
        found = [(line.t, line.kind, line.name, line.value) for line in LogReader(path)]  # not closed yet
    assert found == [
        (3, "state", "", [1, 2, 3]),
        (10, "hit", "N1", 0),
        (10, "throw", "entry", 1),
        (-1, "text", "", 'MPY: "soft"\treboot\x1b'),
    ]


def test_a_log_is_gone_on_with_also_after_a_torn_line(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    with LogWriter(path, HEADER, CODEC) as log:
        log.records([(10, w.R_HIT, 0, 0), (11, w.R_HIT, 0, 0)])
    path.write_bytes(path.read_bytes()[:-9])
    with LogWriter(path, HEADER, CODEC) as log:
        log.records([(12, w.R_HIT, 0, 0)])
    reader = LogReader(path)
    assert [line.t for line in reader] == [10, 12]
    assert [c.line for c in reader.findings.serious] == [3]


def test_a_log_of_another_layout_or_no_log_is_not_touched(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    LogWriter(path, HEADER, CODEC).close()
    before = path.read_bytes()
    with pytest.raises(ReedwayError, match="is a log of another layout"):
        LogWriter(path, Header("Other", "cd" * 32, "0.1.0", ""), CODEC)
    assert path.read_bytes() == before
    path.write_text("my letter\n")
    with pytest.raises(ReedwayError, match="not a session log"):
        LogWriter(path, HEADER, CODEC)
    assert path.read_text() == "my letter\n"


def test_a_folder_that_is_not_there_is_one_line(tmp_path: Path) -> None:
    with pytest.raises(ReedwayError, match="cannot be written: No such file"):
        LogWriter(tmp_path / "none" / "a.jsonl", HEADER, CODEC)
