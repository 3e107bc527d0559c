"""What a log may look like, and the one line that is said of each thing wrong in it."""

import tracemalloc
from pathlib import Path

import pytest

from reedway.problems import ReedwayError
from reedway.sessionlog.reader import LogReader
from sessionlog.made import HEADER, record, write_log

HIT = record(10, "hit", "N1")


def read(path: Path) -> tuple[list[tuple[int, str, str]], list[str], list[str]]:
    reader = LogReader(path)
    found = [(line.t, line.kind, line.name) for line in reader]
    serious = [str(c).removeprefix(f"{path}:") for c in reader.findings.serious]
    return found, serious, [str(c).removeprefix(f"{path}:") for c in reader.findings.notices]


def test_a_log_is_read_with_its_header(tmp_path: Path) -> None:
    path = write_log(
        tmp_path / "a.jsonl", HIT, record(12, "note", 'said "so"'), record(12, "state", "", [1, 2])
    )
    reader = LogReader(path)
    assert reader.header == HEADER
    assert [(line.number, line.part, line.t, line.value) for line in reader] == [
        (2, 0, 10, 0),
        (3, 0, 12, 0),
        (4, 1, 12, [1, 2]),
    ]


def test_clock_time_is_the_start_and_the_board_time() -> None:
    assert HEADER.clock(252_345) == "19:34:12.345"
    unknown = HEADER.__class__("a", "b", "c", "some evening")
    assert unknown.clock(3_725_004) == "01:02:05.004"


def test_a_torn_last_line_is_left_out_and_said(tmp_path: Path) -> None:
    path = write_log(tmp_path / "a.jsonl", HIT, '{"t":12,"kind":"hi', end="")
    assert read(path) == (
        [(10, "hit", "N1")],
        [],
        ["3: the last line is torn and left out; all before it is read"],
    )


def test_line_ends_follow_json_lines(tmp_path: Path) -> None:
    """jsonlines.org: UTF-8 without byte order mark, \\n or \\r\\n, the last one optional, no blank line."""
    path = write_log(tmp_path / "a.jsonl", HIT)
    whole = path.read_bytes()
    path.write_bytes(whole.replace(b"\n", b"\r\n"))
    assert read(path)[0] == [(10, "hit", "N1")]
    path.write_bytes(whole.rstrip(b"\n"))
    assert read(path) == ([(10, "hit", "N1")], [], [])
    path.write_bytes(whole.replace(b"\n", b"\n\n", 1))
    assert read(path)[1] == ["2: not a record of a session log; this line is left out"]
    path.write_bytes(b"\xef\xbb\xbf" + whole)
    with pytest.raises(ReedwayError, match=r":1: begins with a byte order mark"):
        LogReader(path)


@pytest.mark.parametrize(
    ("first", "says"),
    [
        (b"", "the file is empty"),
        (b"reedway: 1\n", "not a session log"),
        (b"\x00\xff\x00\n", "not a session log"),
        (b"[" * 100_000, "not a session log"),
        (b"17\n", "not a session log"),
        (b'{"reedway_log":true}\n', "its format is True"),
        (b'{"reedway_log":2,"layout":"a"}\n', "written in format 2 by a newer Reedway; .* update Reedway"),
        (b'{"reedway_log":1,"layout":"a"}\n', "the first line of the log lacks 'layout_sha256'"),
    ],
)
def test_what_is_no_log_is_refused_in_one_line(tmp_path: Path, first: bytes, says: str) -> None:
    path = tmp_path / "a.jsonl"
    path.write_bytes(first)
    with pytest.raises(ReedwayError, match=f":1: .*{says}|:1: {says}") as caught:
        LogReader(path)
    assert "\n" not in str(caught.value)


def test_a_missing_log_is_one_line(tmp_path: Path) -> None:
    with pytest.raises(ReedwayError, match="there is no such file; give the path of a session log"):
        LogReader(tmp_path / "none.jsonl")


@pytest.mark.parametrize(
    ("line", "says"),
    [
        (record(5, "hit", "N1"), "time goes back from 10 to 5 ms without a state record"),
        (record(11, "hot", "N1"), "'hot' is no kind of record; did you mean hit?"),
        (record(11, "kinds", "N1"), "'kinds' is no kind of record"),
        (record(11, "hit", "N1", -1), "the value is not a whole number"),
        (record(11, "hit", "N1", True), "the value is not a whole number"),
        (record(11, "state", "", 3), "a state is a list of whole numbers"),
        (record(11, "text", "", "hello"), "a text has t null"),
        (record(10**12, "hit", "N1"), "t is not a whole number of milliseconds up to"),
        ('{"t":1.5,"kind":"hit","name":"N1","value":0}', "t is not a whole number of milliseconds"),
        ('{"t":11,"kind":["hit"],"name":"N1","value":0}', "the kind is .*, not a word"),
        ('{"t":11,"kind":"hit","name":3,"value":0}', "the name is not a text"),
        ('{"t":11,"kind":"hit","name":"N1"}', "a record has t, kind, name and value"),
        (
            '{"t":11,"kind":"hit","name":"\ud800x'.encode("utf-8", "surrogatepass").decode("latin-1"),
            "not a record",
        ),
    ],
)
def test_what_is_wrong_in_a_line_is_said_with_its_number(tmp_path: Path, line: str, says: str) -> None:
    path = write_log(tmp_path / "a.jsonl", HIT, line, record(20, "hit", "N1"))
    found, serious, notices = read(path)
    assert [t for t, _, _ in found][-1] == 20
    assert len(serious) == 1
    assert serious[0].startswith("3: ")
    assert says.split(".*")[0] in serious[0]
    assert notices == []


def test_a_state_may_set_time_back(tmp_path: Path) -> None:
    path = write_log(tmp_path / "a.jsonl", HIT, record(2, "state", "", []), record(3, "hit", "N1"))
    assert read(path)[1] == []
    assert [line.part for line in LogReader(path)] == [0, 1, 1]


def test_device_text_is_kept(tmp_path: Path) -> None:
    path = write_log(
        tmp_path / "a.jsonl", '{"t":null,"kind":"text","name":"","value":"MPY: soft reboot"}', HIT
    )
    assert [(line.t, line.value) for line in LogReader(path)] == [(-1, "MPY: soft reboot"), (10, 0)]


def test_many_bad_lines_make_a_screenful_at_most(tmp_path: Path) -> None:
    path = write_log(tmp_path / "a.jsonl", *["rubbish"] * 500)
    reader = LogReader(path)
    assert list(reader) == []
    assert len(reader.findings.lines()) == 21
    assert reader.findings.lines()[-1].endswith("and 480 more lines like these")


def test_a_long_log_needs_constant_memory(tmp_path: Path) -> None:
    path = write_log(tmp_path / "a.jsonl", *(record(t, "edge", "N1", t & 1) for t in range(20_000)))
    tracemalloc.start()
    count = sum(1 for _ in LogReader(path))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert count == 20_000
    assert peak < 500_000  # the file is 0.9 MB
