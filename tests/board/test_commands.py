"""`run`, `record`, `status`, `operate` as an owner uses them, on a virtual board."""

from __future__ import annotations

import argparse
import io
import json
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

from board.bench import LAYOUT, compiled, w
from reedway import cli
from reedway.board import commands
from reedway.board.orders import Touch, order_table, read_either, read_order, read_touch
from reedway.board.playing import Pacer
from reedway.board.ports import open_port
from reedway.board.virtual import VirtualBoard
from reedway.problems import ReedwayError
from reedway.replay.machines import find_micropython

needs_micropython = pytest.mark.skipif(find_micropython() is None, reason="no MicroPython on this machine")


def reedway(*words: str) -> int:
    """One command of this folder."""
    parser = argparse.ArgumentParser()
    commands.register(parser.add_subparsers(required=True))
    args = parser.parse_args([str(word) for word in words])
    return int(args.run(args))


@pytest.fixture
def layout(tmp_path: Path) -> Path:
    path = tmp_path / "bench.yaml"
    path.write_bytes(LAYOUT)
    return path


def by_hand(monkeypatch: pytest.MonkeyPatch, lines: Sequence[str]) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO("\n".join([*lines, ""])))


@needs_micropython
def test_run_by_hand(
    layout: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    by_hand(monkeypatch, ["service in service", "start", "N9", "N1", "stop"])
    assert reedway("run", str(layout)) == 0
    out, err = capsys.readouterr()
    assert out.startswith("virtual board at /dev/")
    assert "running; Hold" in out and "exit to A: 80 ms" in out
    assert out.rstrip().endswith("track feed stops")
    assert "there is no input or order 'N9'" in err and "N1" in err


@needs_micropython
def test_a_session_that_is_played_gives_the_records_of_the_host(
    layout: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from reedway.cli import main

    log = tmp_path / "evening.jsonl"
    lines = [
        {"reedway_log": 1, "layout": "Bench", "layout_sha256": compiled().layout.sha256}
        | {"firmware": "0.1.0", "started": "2026-11-25T19:30:00+01:00"}
    ]

    def edge(t: int, name: str, value: int) -> None:
        lines.append({"t": t, "kind": "edge", "name": name, "value": value})

    edge(1500, "service", 1)
    lines.append({"t": 1600, "kind": "order", "name": "start", "value": w.NONE})
    for i in range(60):
        name = ("N1", "N3", "N2")[i % 3]
        edge(5000 + 3000 * i, name, 1)
        edge(5002 + 3000 * i, name, 0)
        edge(5003 + 3000 * i, name, 1)
        edge(5090 + 3000 * i, name, 0)
    lines.append({"t": 200000, "kind": "late", "name": "", "value": 100})
    edge(203000, "halt", 1)
    log.write_text("".join(json.dumps(line, separators=(",", ":")) + "\n" for line in lines))
    played = tmp_path / "played.jsonl"
    assert reedway("run", str(layout), "--session", str(log), "--out", str(played)) == 0
    assert main(["replay", str(played), "--layout", str(layout), "--verify"]) == 0
    replayed = tmp_path / "replayed.jsonl"
    assert main(["replay", str(log), "--layout", str(layout), "--out", str(replayed)]) == 0
    same = [line for line in played.read_text().splitlines()[1:] if '"state"' not in line]
    host = replayed.read_text().splitlines()[1:]
    assert same == host[: len(same)] and len(host) - len(same) == 0
    capsys.readouterr()


@needs_micropython
def test_status_and_operate_and_record(
    layout: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert reedway("status", str(layout), "--port", "virtual") == 0
    out = capsys.readouterr().out
    assert out.startswith("before start; firmware 0.1.0 on RP2040\nbegan with: power-on\n")
    assert "  exit: not known, wanted A\n" in out and "  Hold: stops\n" in out
    assert reedway("status", str(layout), "--port", "virtual", "--json") == 0
    assert json.loads(capsys.readouterr().out)["inputs"]["service"] == "out of service"
    with pytest.raises(ReedwayError, match="refused the start"):
        reedway("operate", str(layout), "--port", "virtual", "start")
    with pytest.raises(ReedwayError, match="refused `stop`: the show has not started, and every feed is off"):
        reedway("operate", str(layout), "--port", "virtual", "stop")
    assert reedway("operate", str(layout), "--port", "virtual", "maintenance") == 0
    assert "the board is now: maintenance; it ends with the next reset" in capsys.readouterr().out
    log = tmp_path / "a.jsonl"
    assert reedway("record", str(layout), "--port", "virtual", "--out", str(log), "--for", "0.3") == 0
    assert log.exists()
    with pytest.raises(ReedwayError, match="never goes into an existing file"):
        reedway("record", str(layout), "--port", "virtual", "--out", str(log))


@needs_micropython
def test_a_start_that_cannot_be_says_what_to_do(layout: Path, tmp_path: Path) -> None:
    with pytest.raises(ReedwayError, match="which switch stands otherwise, `reedway record` tells"):
        reedway("operate", str(layout), "--port", "virtual", "start")
    logger = tmp_path / "logger.yaml"
    logger.write_bytes(b"reedway: 1\nlayout: L\nboard: pico\nsensors: {N1: {terminal: sensor 1}}\n")
    with pytest.raises(ReedwayError, match="logger.yaml has none; add one under starts:"):
        reedway("operate", str(logger), "--port", "virtual", "start")
    with VirtualBoard(compiled()) as board, Pacer(board):
        reedway("operate", str(layout), "--port", board.line, "maintenance")
        with pytest.raises(ReedwayError, match="the start: it is in maintenance, not before start"):
            reedway("operate", str(layout), "--port", board.line, "start")


def test_orders_and_touches_are_read_with_a_hint_for_a_slip() -> None:
    names = compiled().names
    assert read_order("Throw  exit to b", names) == (w.O_THROW, 1)
    assert read_order("hold H", names) == (w.O_HOLD, 0)
    assert read_order("start one train", names) == (w.O_START, 0)
    with pytest.raises(ReedwayError, match="there is no order 'throw exti to B'.*throw exit to B"):
        read_order("throw exti to B", names)
    with pytest.raises(
        ReedwayError, match="'throw Exit' is not the whole order; write throw exit to A, throw exit to B"
    ):
        read_order("throw Exit", names)
    with pytest.raises(ReedwayError, match="there is no order 'fly'; the orders: reedway operate --help$"):
        read_order("fly", names)
    assert read_either("stop", names) == (w.O_STOP, 0) and read_either("n2", names) == Touch(1, None)
    with pytest.raises(ReedwayError, match="there is no input or order 'strt'; did you mean start"):
        read_either("strt", names)
    with pytest.raises(ReedwayError, match="'xyz'; inputs are N1, N2, N3, .*; the orders: reedway operate"):
        read_either("xyz", names)
    assert read_touch("n2", names) == Touch(1, None)
    assert read_touch("service out of service", names) == Touch(names.inputs.index("service"), False)


def test_the_help_tells_every_order(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        cli.main(["operate", "--help"])
    told = capsys.readouterr().out
    assert max(map(len, told.splitlines())) <= 80
    names = compiled().names
    places, starts = ("hold", "go", "set on", "lift off"), {f"start {name}" for name in names.starts}
    for order in order_table(names):
        verb = next((verb for verb in places if order.startswith(f"{verb} ") and order != "go on"), "")
        general = f"{verb} PLACE" if verb else "throw TURNOUT to POSITION" if "throw" in order else order
        assert f"\n  {general}  " in told or order in starts and "`start NAME`" in told, order


@pytest.mark.parametrize(
    ("name", "says"),
    [("/dev/no-such-port", "the port cannot be opened"), ("nonsense://x", "the port cannot be opened")],
)
def test_a_port_that_is_not_there_is_one_line(name: str, says: str) -> None:
    with pytest.raises(ReedwayError, match=says):
        open_port(name)
