"""Exports read back by readers that are not ours: the csv module, and pyvcd for the Value Change Dump."""

from __future__ import annotations

import csv
import json
import os
from collections import defaultdict
from pathlib import Path

import pytest
from vcd.reader import ScopeDecl, TokenKind, VarDecl, tokenize

from reedway import cli
from reedway.resources import config_folder
from replay.random_logs import make
from sessionlog.made import record, write_log

SESSIONS = sorted((config_folder() / "sessions").glob("*.jsonl"))
SEEDS = range(25)
Changes = dict[tuple[str, str], list[tuple[int, str]]]


@pytest.fixture(scope="module")
def random_logs(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    folder = tmp_path_factory.mktemp("random")
    return [make(seed, folder, state_at=seed % 2 * 40).log for seed in SEEDS]


def export(*words: str | os.PathLike[str]) -> int:
    return cli.main(["export", *map(os.fspath, words)])


def raw(log: Path) -> list[dict]:
    return [json.loads(line) for line in log.read_text(encoding="utf-8").splitlines()[1:]]


def running(lines: list[dict]) -> list[int]:
    """Time that goes on over resets."""
    times, add = [], 0
    for line in lines:
        t = line["t"] + add
        if times and t < times[-1]:
            add += times[-1] - t
            t = times[-1]
        times.append(t)
    return times


def read_vcd(path: Path) -> tuple[Changes, dict[tuple[str, str], str], int]:
    """Changes and first values of each wire, and the last time, as pyvcd understands the file."""
    changes: Changes = defaultdict(list)
    first: dict[tuple[str, str], str] = {}
    wires: dict[str, tuple[str, str]] = {}
    scope, t, is_dump = "", -1, False
    with open(path, "rb") as file:
        for token in tokenize(file):
            data = token.data
            if token.kind is TokenKind.TIMESCALE:
                assert (data.magnitude, data.unit.value) == (1, "ms")
            elif isinstance(data, ScopeDecl):
                scope = data.ident
            elif isinstance(data, VarDecl):
                assert data.size == 1 and data.id_code not in wires
                wires[data.id_code] = (scope, data.reference)
            elif token.kind is TokenKind.CHANGE_TIME:
                assert data > t
                t = data
            elif token.kind is TokenKind.DUMPVARS:
                is_dump = True
            elif token.kind is TokenKind.END:
                is_dump = False
            elif token.kind is TokenKind.CHANGE_SCALAR and is_dump:
                first[wires[data.id_code]] = data.value
            elif token.kind is TokenKind.CHANGE_SCALAR:
                changes[wires[data.id_code]].append((t, data.value))
    assert first.keys() == set(wires.values())
    return changes, first, t


TWO_WAY = {"edge": "contacts", "relay": "relays", "feed": "feeds", "lamp": "lamps", "go": "wanted"}
TWO_WAY |= {"supply": "supplies", "change": "sensors", "hit": "sensors", "opening": "sensors"}
TWO_WAY |= {"pulse": "coils", "pulse end": "coils"}


def expected(log: Path) -> Changes:
    """What the records of a log do to each thing that is on or off."""
    found: Changes = defaultdict(list)
    lines = [line for line in raw(log) if line["t"] is not None]
    for t, line in zip(running(lines), lines, strict=True):
        kind = line["kind"]
        if kind in TWO_WAY:
            level = {"hit": 1, "opening": 0, "pulse": 1, "pulse end": 0}.get(kind, line["value"])
            found[TWO_WAY[kind], line["name"]].append((t, str(level)))
    return found


def plain(name: str) -> str:
    return "".join(c if c.isascii() and (c.isalnum() or c == "_") else "_" for c in name)


def check_vcd(log: Path, vcd: Path, parts: int) -> int:
    changes, first, last = read_vcd(vcd)
    lines = [line for line in raw(log) if line["t"] is not None]
    assert last == running(lines)[-1]
    count = 0
    for (scope, name), moves in expected(log).items():
        got = (
            changes[scope, plain(name)] if plain(name)[0] not in "0123456789" else changes[scope, "_" + name]
        )
        wanted = [moves[0]] + [b for a, b in zip(moves, moves[1:], strict=False) if a[1] != b[1]]
        if parts == 1:
            assert got == wanted, f"{log.name}: {scope} {name}"
            assert first[scope, plain(name)] != wanted[0][1]
        else:  # at a new part the levels may be set without a record, never lost
            rest = iter(got)
            assert all(move in rest for move in wanted), f"{log.name}: {scope} {name}"
        count += len(wanted)
    return count


@pytest.mark.parametrize("log", SESSIONS, ids=lambda path: path.stem)
def test_every_transition_of_a_session_is_in_its_dump(log: Path, tmp_path: Path) -> None:
    vcd = tmp_path / "out.vcd"
    assert export(log, "--vcd", vcd) == 0
    assert check_vcd(log, vcd, parts=1) > 20


def test_every_transition_of_random_logs_is_in_their_dumps(random_logs: list[Path], tmp_path: Path) -> None:
    total = 0
    for number, log in enumerate(random_logs):
        vcd = tmp_path / f"{number}.vcd"
        assert export(log, "--vcd", vcd) == 0
        parts = sum(line["kind"] == "state" for line in raw(log))
        total += check_vcd(log, vcd, parts)
    assert total > 2000


def test_every_record_is_a_line_of_the_table(random_logs: list[Path], tmp_path: Path) -> None:
    for number, log in enumerate([*SESSIONS, *random_logs]):
        out = tmp_path / f"{number}.csv"
        assert export(log, "--csv", out) == 0
        with open(out, newline="", encoding="utf-8") as file:
            rows = list(csv.DictReader(file, strict=True))
        lines = raw(log)
        assert len(rows) == len(lines)
        for row, line, t in zip(rows, lines, running(lines), strict=True):
            assert (row["kind"], row["name"]) == (line["kind"], line["name"])
            value = line["value"]
            assert row["value"] == ("" if line["kind"] == "state" else str(value))
            assert row["seconds"] == f"{t // 1000}.{t % 1000:03d}"


def test_odd_names_texts_and_the_clock_survive_the_table(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = [
        record(1005, "note", 'said "so", twice\nand again'),
        json.dumps({"t": None, "kind": "text", "name": "", "value": "Traceback, most recent\n"}),
        record(16_200_000, "hit", "Ö sensor"),
        json.dumps({"t": 500, "kind": "state", "name": "", "value": [1, 2, 3]}),
        json.dumps(
            {"t": None, "kind": "text", "name": "clock", "value": "500 2026-11-26T01:00:00.000+01:00"}
        ),
        record(1500, "opening", "Ö sensor"),
    ]
    log = write_log(tmp_path / "a.jsonl", *lines)
    assert export(log, "--csv", tmp_path / "a.csv") == 0
    data = (tmp_path / "a.csv").read_bytes()
    assert data.count(b"\r\n") == len(lines) + 1  # RFC 4180: every row ends with CR LF
    rows = list(csv.reader(data.decode().splitlines(keepends=True)))
    assert rows[1] == ["2026-11-25 19:30:01.005", "1.005", "note", 'said "so", twice\nand again', "0"]
    assert rows[2][:2] == ["", ""] and rows[3][0] == "2026-11-26 00:00:00.000"
    assert rows[4][2:] == ["state", "", ""]  # the numbers are left out, and it is said
    told = "  the numbers of a state, which only replay reads, are left out; the log has them"
    assert capsys.readouterr().out.splitlines() == [f"{tmp_path / 'a.csv'}: 6 records", told]
    assert rows[6][:2] == ["2026-11-26 01:00:01.000", "16201.000"]  # after a reset: the clock that was noted


def test_names_that_a_dump_cannot_hold_are_made_unlike_and_said(tmp_path: Path) -> None:
    lines = [record(10, "edge", "a b", 1), record(11, "edge", "a_b", 1), record(12, "edge", "1$end", 1)]
    log = write_log(tmp_path / "a.jsonl", *lines)
    assert export(log, "--vcd", tmp_path / "a.vcd") == 0
    changes, _first, _last = read_vcd(tmp_path / "a.vcd")
    assert changes == {
        ("contacts", "a_b"): [(10, "1")],
        ("contacts", "a_b_2"): [(11, "1")],
        ("contacts", "_1_end"): [(12, "1")],
    }
    assert "$comment contacts.a_b is a b $end" in (tmp_path / "a.vcd").read_text()


def test_after_a_reset_nothing_is_known_that_was_not_told(tmp_path: Path) -> None:
    lines = [record(10, "relay", "R", 1), record(20, "feed", "B", 1)]
    lines += [json.dumps({"t": 5, "kind": "state", "name": "", "value": [0]}), record(30, "feed", "B", 1)]
    log = write_log(tmp_path / "a.jsonl", *lines)
    assert export(log, "--vcd", tmp_path / "a.vcd") == 0
    changes, first, last = read_vcd(tmp_path / "a.vcd")
    assert changes["relays", "R"] == [(10, "1"), (20, "x")] and first["relays", "R"] == "0"
    assert changes["feeds", "B"] == [(20, "1"), (20, "0"), (45, "1")] and last == 45


def test_nothing_is_ever_replaced(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log = write_log(tmp_path / "a.jsonl", record(10, "hit", "N1"))
    before = log.read_bytes()
    other = tmp_path / "there.csv"
    other.write_text("mine")
    folder = tmp_path / "folder"
    folder.mkdir()
    for words, says in (
        (["--csv", str(log)], "is the log that is read; choose another file"),
        (["--csv", str(other)], "is there already; an export never replaces a file"),
        (["--vcd", str(folder)], "is there already"),
        (["--vcd", str(tmp_path / "no" / "a.vcd")], "cannot be written: No such file or directory"),
        ([], "say what to write"),
        (["--csv", str(tmp_path / "x"), "--vcd", str(tmp_path / "x")], "name the same file"),
        (["--csv", "-", "--json"], "no --json"),
    ):
        assert export(log, *words) == 1
        error = capsys.readouterr().err
        assert says in error and error.count("\n") == 1
    assert log.read_bytes() == before and other.read_text() == "mine" and not (tmp_path / "x").exists()


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no /dev/full here")
def test_a_full_disk_is_one_line_and_leaves_no_half_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import builtins

    real, out = open, tmp_path / "a.csv"

    def to_a_full_disk(path: object, mode: str = "r", *rest: object, **named: object) -> object:
        if mode != "x":
            return real(path, mode, *rest, **named)  # type: ignore[call-overload]
        out.write_text("")
        return real("/dev/full", "w", **named)  # type: ignore[call-overload]

    log = write_log(tmp_path / "a.jsonl", *(record(10 + i, "note", "x" * 200) for i in range(200)))
    monkeypatch.setattr(builtins, "open", to_a_full_disk)
    assert export(log, "--csv", out) == 1
    assert capsys.readouterr().err == f"--csv {out} cannot be written: No space left on device\n"
    assert not out.exists()


def test_what_can_be_read_is_written_and_the_rest_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = write_log(tmp_path / "a.jsonl", record(10, "hit", "N1"), "garbage", record(20, "opening", "N1"))
    assert export(log, "--csv", "-") == 1
    out, err = capsys.readouterr()
    assert len(out.splitlines()) == 3 and ":3: not a record of a session log" in err
    assert export(log, "--vcd", tmp_path / "a.vcd", "--json") == 1
    found = json.loads(capsys.readouterr().out)
    assert found["vcd"] == {"file": str(tmp_path / "a.vcd"), "wires": 1, "changes": 2}
