"""`walk` on a virtual board whose wires go astray: each fault found, and the line to change named."""

from __future__ import annotations

import io
import json
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from board import miswired
from board.miswired import LAYOUT, Hand, Wiring, line_of
from reedlogic import words as w
from reedway.board.client import Client
from reedway.board.playing import Pacer
from reedway.board.ports import open_port
from reedway.board.virtual import VirtualBoard
from reedway.board.walking import beforehand, laps, rounds
from reedway.cli import main
from reedway.replay.machines import find_micropython

needs_board = pytest.mark.skipif(find_micropython() is None, reason="no MicroPython on this machine")


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """An owner with quick hands."""
    monkeypatch.setattr(rounds, "SETTLE_S", 0.05)
    monkeypatch.setattr(rounds, "LOOK_S", 0.01)
    monkeypatch.setattr(laps, "LOOK_S", 0.01)


class Walked:
    """One walk after another on one virtual board."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self.layout = folder / "walk.yaml"
        self.layout.write_bytes(LAYOUT)
        self.answers = folder / "walk.walk.json"
        self.patch = monkeypatch
        self.board = VirtualBoard(miswired.compiled())
        self.pacer = Pacer(self.board)

    def walk(self, wiring: Wiring, *words: str, stdin: io.StringIO | None = None) -> tuple[int, Any, Hand]:
        """(exit code, JSON, the hand); the talk is on the error stream."""
        out, talk = io.StringIO(), io.StringIO()
        hand = Hand(talk, self.board, self.pacer, wiring)
        self.talk = talk
        self.patch.setattr(sys, "stdin", stdin or hand)
        self.patch.setattr(sys, "stdout", out)
        self.patch.setattr(sys, "stderr", talk)
        code = main(["walk", str(self.layout), "--port", self.board.line, "--wait", "1", "--json", *words])
        return code, json.loads(out.getvalue()) if out.getvalue() else None, hand

    def close(self) -> None:
        self.pacer.close()
        self.board.close()


@pytest.fixture
def walked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Walked]:
    one = Walked(tmp_path, monkeypatch)
    yield one
    one.close()


def found(told: Any) -> dict[str, tuple[str, str, list[int]]]:
    return {row["about"]: (row["what"], row["change"], row["lines"]) for row in told["findings"]}


@needs_board
def test_a_layout_that_is_wired_right_is_proved_whole(walked: Walked) -> None:
    code, told, hand = walked.walk(Wiring())
    assert (code, told["findings"], told["not_proved"]) == (0, [], []), walked.talk.getvalue()
    assert len(told["proved"]) == 16
    assert hand.pulses == ["exit to A", "exit to B", "entry to A", "entry to B"]
    for _ in range(100):
        if walked.board.out.mode != w.M_MAINTENANCE:
            break
        time.sleep(0.02)
    assert not any(walked.board.feeds()) and walked.board.out.mode == w.M_BEFORE
    code, told, hand = walked.walk(Wiring())  # the answers are kept: nothing is asked again
    assert code == 0 and hand.pulses == [] and "16 of 16 are proved from before" in walked.talk.getvalue()
    code, told, hand = walked.walk(Wiring(), "--only", "turnouts")
    assert code == 0 and hand.pulses == ["exit to A", "exit to B", "entry to A", "entry to B"]


@needs_board
def test_every_fault_is_found_and_its_line_named(walked: Walked) -> None:
    wiring = Wiring(
        reeds={"N1": 2, "N2": 1, "N3": 0, "N4": None},
        coils={0: ("exit", "B"), 1: ("exit", "A"), 2: ("entry", "A"), 3: ("entry", "A")},
        rails=["Hold", "Bridge", "Mill", "track feed"],
        lamps=["Hold lamp", "running lamp"],
        blind=frozenset({"N2"}),
    )
    code, told, _ = walked.walk(wiring)
    faults = found(told)
    assert code == 1
    what, change, lines = faults["sensor N1"]
    assert what == "N3 closed in its place" and lines == [line_of("N1:"), line_of("N3:")]
    assert f"`terminal: sensor 3` in line {line_of('N1:')} (N1)" in change
    assert f"`terminal: sensor 1` in line {line_of('N3:')} (N3)" in change
    assert faults["sensor N4"][0] == "nothing closed: dead" and faults["sensor N4"][2] == [line_of("N4:")]
    what, change, lines = faults["turnout exit"]
    assert "its coils are exchanged" in what and lines == [line_of("exit:")]
    assert f"write `coils: [coil 2, coil 1]` in line {line_of('exit:')}" in change
    assert faults["turnout entry"][0] == "did not move to B" and "coil 4" in faults["turnout entry"][1]
    what, change, lines = faults["block Mill"]
    assert what == "the rail of Bridge went live in its place"
    assert lines == [line_of("Mill:"), line_of("Bridge:")] and "exchange the two wires" in change
    assert faults["lamp running lamp"][2] == [line_of("running lamp:"), line_of("Hold lamp:")]
    assert {row["what"] for row in told["findings"] if row["about"] == "railcar"} == {
        "not seen by N2",
        "not seen by N4",
    }
    assert set(told["proved"]) >= {"sensor N2", "block Hold", "track feed", "button halt", "switch service"}
    # mended, only what was wrong is asked again
    code, told, hand = walked.walk(Wiring())
    assert (code, told["findings"], told["not_proved"]) == (0, [], []), walked.talk.getvalue()
    assert "sensor N2" not in walked.talk.getvalue().split("inputs at rest")[-1].split("Lamps")[0]


@needs_board
def test_a_walk_can_be_left_and_gone_on_with(walked: Walked) -> None:
    code, told, _ = walked.walk(Wiring(), stdin=io.StringIO("\n\nskip\nback\nskip\nquit\n"))
    assert code == 0 and told["proved"] == ["inputs at rest"] and "sensor N1" in told["not_proved"]
    assert json.loads(walked.answers.read_text())["seen"]
    code, told, _ = walked.walk(Wiring(), stdin=io.StringIO(""))  # nobody there
    assert code == 0 and told["proved"] == ["inputs at rest"]
    assert "1 of 16 are proved from before" in walked.talk.getvalue()


@needs_board
def test_a_sensor_closed_at_rest_is_told(walked: Walked) -> None:
    walked.pacer.set(1, True)
    code, told, _ = walked.walk(Wiring(), stdin=io.StringIO("\n\n\nquit\n"))
    assert code == 1 and found(told)["sensor N2"][0] == "closed with nothing there"
    walked.pacer.set(1, False)


@needs_board
def test_a_running_show_and_damaged_answers_are_refused(
    walked: Walked, capsys: pytest.CaptureFixture[str]
) -> None:
    walked.answers.write_text("{}")
    code, told, _ = walked.walk(Wiring())
    assert (code, told) == (1, None) and "these are not the answers of a walk" in walked.talk.getvalue()
    code, told, _ = walked.walk(Wiring(), "--anew", stdin=io.StringIO("quit\n"))
    assert code == 0
    walked.answers.unlink()
    walked.layout.write_bytes(LAYOUT + b"\n# another\n")
    code, told, _ = walked.walk(Wiring())
    assert code == 1 and "put this one on it with `reedway load" in walked.talk.getvalue()
    walked.layout.write_bytes(LAYOUT)
    walked.board.order(w.O_START, w.NONE)
    _wait_for(walked.board, w.M_RUNNING)
    code, told, hand = walked.walk(Wiring())
    assert code == 1 and "the show is on (the board is running)" in walked.talk.getvalue()
    assert walked.board.out.mode == w.M_RUNNING
    walked.board.order(w.O_STOP, 0)
    _wait_for(walked.board, w.M_STOPPED)
    code, told, _ = walked.walk(Wiring())
    assert code == 1 and "at stop and the board holds" in walked.talk.getvalue()
    _take_records(walked.board)
    code, told, _ = walked.walk(Wiring(), stdin=io.StringIO("quit\n"))
    assert code == 1 and "the show still stands at stop" in walked.talk.getvalue()
    code, told, _ = walked.walk(Wiring(), stdin=io.StringIO("\n\n\nquit\n"))
    assert code == 0 and told["proved"] == ["inputs at rest"] and "Walk ends it" in walked.talk.getvalue()


@needs_board
def test_a_fault_ends_by_a_reset_that_the_owner_agrees_to(
    walked: Walked, monkeypatch: pytest.MonkeyPatch
) -> None:
    walked.board.stick(True)  # the one-shot is not idle at the first pulse
    walked.board.order(w.O_START, w.NONE)
    _wait_for(walked.board, w.M_FAULT)
    code, told, _ = walked.walk(Wiring())
    assert code == 1 and "stands at a fault and the board holds" in walked.talk.getvalue()
    _take_records(walked.board)
    code, told, _ = walked.walk(Wiring(), stdin=io.StringIO("quit\n"))
    assert code == 1 and "nothing was touched; the board still stands at the fault" in walked.talk.getvalue()
    assert walked.board.out.mode == w.M_FAULT
    with monkeypatch.context() as patch:
        patch.setattr(beforehand, "_reset", lambda _: None)  # as if the same fault came again at once
        patch.setattr(beforehand, "BACK_S", 0.1)
        code, told, _ = walked.walk(Wiring(), stdin=io.StringIO("\n"))
    assert code == 1 and "the board stands at a fault again; `reedway status`" in walked.talk.getvalue()
    walked.board.stick(False)
    code, told, _ = walked.walk(Wiring(), stdin=io.StringIO("\n\n\nquit\n"))
    assert code == 0 and told["proved"] == ["inputs at rest"]
    assert "Walk ends it, and the show with it, by a reset" in walked.talk.getvalue()


def _take_records(board: VirtualBoard) -> None:
    client = Client(open_port(board.line))
    client.hello()
    client.confirm(client.status().end)
    client.status()
    client.close()


def _wait_for(board: VirtualBoard, mode: int) -> None:
    for _ in range(100):
        if board.out.mode == mode:
            return
        time.sleep(0.02)
    raise AssertionError(f"mode {board.out.mode}, not {mode}")


class Terminal(io.StringIO):
    """Lines that a hand types at a terminal, and then no more."""

    def isatty(self) -> bool:
        return True

    def __iter__(self) -> Iterator[str]:  # type: ignore[override]
        yield from self.getvalue().splitlines()
        threading.Event().wait()


@needs_board
def test_at_a_terminal_the_board_is_heard_while_nobody_types(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """On a virtual board a name that is typed is a magnet waved there."""
    layout = tmp_path / "two.yaml"
    head = b"reedway: 1\nlayout: Two\nboard: pico\nsensors:\n"
    layout.write_bytes(head + b"  N1: {terminal: sensor 1}\n  N2: {terminal: sensor 2}\n")
    typed = Terminal("\n\nN1\nN1\nagain\nN2\n\nrailcar\n\nN1\nN2\n")
    monkeypatch.setattr(sys, "stdin", typed)
    assert main(["walk", str(layout), "--port", "virtual"]) == 0
    out = capsys.readouterr().out
    assert "N1 closed in its place" in out and "proved: 4 of 4" in out and "no fault stands" in out
