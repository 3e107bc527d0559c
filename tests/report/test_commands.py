"""The report as the owner sees it: text, JSON, several logs, bad logs, a long one."""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path

import pytest

from reedway.problems import ReedwayError
from reedway.report.commands import register
from reedway.resources import config_folder
from sessionlog.made import HEADER, record, write_log

SESSIONS = config_folder() / "sessions"
REST = [
    record(1000, "edge", "N1", 1),
    record(1005, "hit", "N1"),
    record(1005, "throw", "exit", 1),
    record(1005, "pulse", "exit to B", 80),
    record(1085, "pulse end", "exit to B"),
    record(1085, "position", "exit", 1),
    record(21_005, "rest", "N1"),
    record(21_005, "caution", "N1", 1),
    record(251_000, "edge", "N1", 0),
    record(251_020, "opening", "N1"),
    record(253_020, "clear", "N1", 1),
]


def run(*argv: str) -> int:
    parser = argparse.ArgumentParser()
    register(parser.add_subparsers())
    args = parser.parse_args(["report", *argv])
    return int(args.run(args))


def test_a_magnet_at_rest_is_told_beside_what_a_relay_would_have_done(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = write_log(tmp_path / "a.jsonl", *REST)
    assert run(str(path)) == 0
    out = capsys.readouterr().out
    joined = " ".join(out.split())
    held = "N1: closed 4 min 10 s: a relay would have held the coil 4 min 10 s; Reedway: 0.080 s"
    assert held in joined
    assert "19:30:21 caution: magnet at rest on N1, stood 3 min 52 s" in out
    assert "exit 1 0 0 0" in joined
    assert "exit to B 1 0.080 s 0.080 s" in joined


def test_buttons_that_give_orders_are_told_apart(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    presses = [record(t, "hit", "stop all") for t in (10, 20)]
    orders = [record(t, "order", "stop, by button") for t in (10, 20)]
    path = write_log(
        tmp_path / "a.jsonl", presses[0], orders[0], presses[1], orders[1], record(30, "hit", "N1")
    )
    run(str(path))
    out = capsys.readouterr().out
    assert "Buttons pressed: stop all 2" in out
    assert [line.split()[0] for line in out.splitlines() if "|" in line] == ["N1", "|"]


def test_json_is_a_list_of_sessions(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    paths = [str(write_log(tmp_path / name, *REST)) for name in ("a.jsonl", "b.jsonl")]
    assert run(*paths, "--json") == 0
    found = json.loads(capsys.readouterr().out)
    assert [session["log"] for session in found] == paths
    assert found[0]["relays"]["N1"]["held_longest_ms"] == 250_000
    assert found[0]["relays"]["N1"]["pulse_longest_ms"] == 80


def test_torn_is_said_and_damaged_is_an_error(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    torn = write_log(tmp_path / "torn.jsonl", *REST, '{"t":260', end="")
    assert run(str(torn)) == 0
    captured = capsys.readouterr()
    assert captured.err == f"{torn}:13: the last line is torn and left out; all before it is read\n"
    assert "11 records" in captured.out
    bad = write_log(tmp_path / "bad.jsonl", *REST[:3], "rubbish", *REST[3:])
    assert run(str(bad)) == 1
    captured = capsys.readouterr()
    assert captured.err == f"{bad}:5: not a record of a session log; this line is left out\n"
    assert "11 records" in captured.out


def test_what_is_no_log_is_one_line(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_text("reedway: 1\n")
    with pytest.raises(ReedwayError, match=r"a.yaml:1: not a session log; a session log begins with"):
        run(str(path))


def test_an_empty_evening_is_reported(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(str(write_log(tmp_path / "a.jsonl", end="\n"))) == 0
    assert "0 records" in capsys.readouterr().out


@pytest.mark.parametrize("path", sorted(SESSIONS.glob("*.jsonl")), ids=lambda path: path.stem)
def test_every_shipped_session_is_reported_in_80_columns(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(str(path)) == 0
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 80
    assert lines[1] == "(invented)"


def test_a_long_log_goes_fast(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """40,000 lines in a small part of the time that a million may take."""
    path = tmp_path / "a.jsonl"
    with open(path, "w", encoding="utf-8") as file:
        file.write(HEADER.line() + "\n")
        for t in range(0, 400_000, 40):
            file.write(record(t, "edge", "N1", 1) + "\n" + record(t + 5, "hit", "N1") + "\n")
            file.write(record(t + 9, "edge", "N1", 0) + "\n" + record(t + 30, "opening", "N1") + "\n")
    begun = time.process_time()
    assert run(str(path)) == 0
    assert time.process_time() - begun < 4
    assert "40,000 records" in capsys.readouterr().out
