"""Recording from a virtual board: every record once, whatever happens to the cable, the board or us."""

from __future__ import annotations

import json
import os
import random
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from board.bench import LAYOUT, compiled, w
from reedway.board.client import Client
from reedway.board.playing import Pacer
from reedway.board.ports import open_port
from reedway.board.recorder import Recorder
from reedway.board.virtual import VirtualBoard
from reedway.replay.machines import find_micropython

pytestmark = pytest.mark.skipif(find_micropython() is None, reason="no MicroPython on this machine")
N1, N3 = 0, 2
KILLS = int(os.environ.get("REEDWAY_KILLS", "4"))  # up to 600


@pytest.fixture
def board() -> Iterator[VirtualBoard]:
    with VirtualBoard(compiled()) as virtual:
        virtual.set(compiled().names.inputs.index("service"), True)
        yield virtual


def lines(path: Path) -> list[dict]:
    return [json.loads(line) for line in path.read_text().splitlines()]


def record_for(recorder: Recorder, seconds: float) -> None:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        recorder.step()


def test_a_log_from_the_first_look_on_replays_to_the_letter(board: VirtualBoard, tmp_path: Path) -> None:
    log = tmp_path / "evening.jsonl"
    with Pacer(board) as pacer:
        client = Client(open_port(board.line))
        recorder = Recorder(compiled(), log)
        recorder.attach(client)
        client.order(w.O_START, w.NONE)
        record_for(recorder, 1.6)
        pacer.hit(N1)
        record_for(recorder, 0.5)
        recorder.close()
        client.close()
        total = board.out.records
    found = lines(log)
    assert found[1]["kind"] == "state" and found[0]["layout_sha256"] == compiled().layout.sha256
    assert len(found) == 2 + total
    verify(log, tmp_path)


def test_a_pulse_that_was_not_taken_is_given_again_and_its_log_replays(
    board: VirtualBoard, tmp_path: Path
) -> None:
    log = tmp_path / "evening.jsonl"
    with Pacer(board):
        client = Client(open_port(board.line))
        recorder = Recorder(compiled(), log)
        recorder.attach(client)
        board.stick(True)  # the one-shot is not idle
        client.order(w.O_START, w.NONE)
        record_for(recorder, 0.6)
        assert board.out.mode == w.M_FAULT and not client.status().known & 1
        board.stick(False)
        client.order(w.O_ACKNOWLEDGE, w.NONE)
        record_for(recorder, 0.6)
        assert board.out.mode == w.M_RUNNING and client.status().known & 1
        recorder.close()
        client.close()
    told = [(line["kind"], line["name"]) for line in lines(log)[1:]]
    coil = next(name for kind, name in told if kind == "pulse")
    assert told.count(("pulse", coil)) == told.count(("pulse end", coil)) == 2
    verify(log, tmp_path)


def verify(log: Path, folder: Path) -> None:
    layout = folder / "bench.yaml"
    layout.write_bytes(LAYOUT)
    done = subprocess.run(
        [sys.executable, "-m", "reedway", "replay", str(log), "--layout", str(layout), "--verify"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_a_log_begun_in_mid_show_begins_with_what_the_board_has(board: VirtualBoard, tmp_path: Path) -> None:
    with Pacer(board) as pacer:
        first = Client(open_port(board.line))
        other = Recorder(compiled(), tmp_path / "first.jsonl")
        other.attach(first)
        first.order(w.O_START, w.NONE)
        record_for(other, 1.6)
        other.close()
        first.close()
        pacer.hit(N3)  # nobody listens
        time.sleep(0.1)
        client = Client(open_port(board.line))
        log = tmp_path / "second.jsonl"
        recorder = Recorder(compiled(), log)
        recorder.attach(client)
        record_for(recorder, 0.3)
        pacer.hit(N1)
        record_for(recorder, 0.4)
        recorder.close()
        client.close()
    kinds = [line["kind"] for line in lines(log)[1:]]
    assert kinds[0] == "lost" and "state" in kinds
    before, after = kinds[: kinds.index("state")], kinds[kinds.index("state") :]
    assert "hit" in before and "pulse" in after
    layout = tmp_path / "bench.yaml"
    layout.write_bytes(LAYOUT)
    done = subprocess.run(
        [sys.executable, "-m", "reedway", "replay", str(log), "--layout", str(layout), "--verify"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_unplugged_and_plugged_in_again_nothing_is_lost_or_doubled(
    board: VirtualBoard, tmp_path: Path
) -> None:
    log = tmp_path / "evening.jsonl"
    recorder = Recorder(compiled(), log)
    with Pacer(board) as pacer:
        client = Client(open_port(board.line))
        recorder.attach(client)
        client.order(w.O_START, w.NONE)
        record_for(recorder, 1.2)
        for _ in range(3):
            client.close()
            pacer.hit(N1)
            client = Client(open_port(board.line))
            recorder.attach(client)
            record_for(recorder, 0.3)
        recorder.close()
        client.close()
        total = board.out.records
    found = lines(log)
    assert [line.get("kind") for line in found].count("state") == 1
    assert len(found) == 2 + total


def test_what_was_ordered_just_before_the_end_is_on_record(board: VirtualBoard, tmp_path: Path) -> None:
    with Pacer(board):
        client = Client(open_port(board.line))
        for n in range(8):
            log = tmp_path / f"{n}.jsonl"
            recorder = Recorder(compiled(), log)
            recorder.attach(client)
            client.order(w.O_START if n == 0 else w.O_ACKNOWLEDGE if n % 2 else w.O_STOP, w.NONE)
            assert recorder.finish()
            recorder.close()
            orders = [line["name"] for line in lines(log)[1:] if line["kind"] == "order"]
            assert orders[-1] == ("start" if n == 0 else "acknowledge" if n % 2 else "stop")
        client.close()


def test_a_board_whose_time_stands_does_not_hold_the_end_up(board: VirtualBoard, tmp_path: Path) -> None:
    board.go(1000)
    now = 0.0

    def clock() -> float:
        nonlocal now
        now += 0.05
        board.work()
        return now

    client = Client(open_port(board.line), clock)
    recorder = Recorder(compiled(), tmp_path / "a.jsonl", clock)
    recorder.attach(client)
    assert not recorder.finish()
    recorder.close()
    client.close()


def test_a_reset_in_mid_recording_begins_a_new_part(board: VirtualBoard, tmp_path: Path) -> None:
    log = tmp_path / "evening.jsonl"
    recorder = Recorder(compiled(), log)
    with Pacer(board) as pacer:
        client = Client(open_port(board.line))
        recorder.attach(client)
        pacer.hit(N1)
        record_for(recorder, 0.3)
        client.command("z")  # the board begins anew, and says hello unasked
        record_for(recorder, 0.5)
        pacer.hit(N3)
        record_for(recorder, 0.3)
        recorder.close()
        client.close()
        total = board.out.records
    kinds = [line["kind"] for line in lines(log)[1:]]
    assert kinds.count("state") == 2 and kinds[0] == "state"
    second = kinds[1:][kinds[1:].index("state") + 1 :]
    assert second[0] == "text"  # the clock time of the new part
    assert len(second[1:]) == total and "hit" in second


KILLED = """
import os, signal, sys
sys.path[:0] = {paths!r}
from pathlib import Path
from board.bench import compiled
from reedway.board.client import Client
from reedway.board.ports import open_port
from reedway.board.recorder import Recorder
recorder = Recorder(compiled(), Path(sys.argv[2]))
recorder.attach(Client(open_port(sys.argv[1])))

def dies(*_):
    if recorder.count >= 5:
        os.kill(os.getpid(), signal.SIGKILL)
    return done(*_)

if sys.argv[3] == "write":
    done, recorder.log.records = recorder.log.records, dies
elif sys.argv[3] == "confirm":
    done, recorder._confirm = recorder._confirm, dies
print("ready", flush=True)
while True:
    recorder.step()
"""


class Killed:
    """A recorder killed while records come: its file, and what another one then gets from the board."""

    def __init__(self, board: VirtualBoard, folder: Path, wait_ms: int, dies_before: str = "") -> None:
        log = folder / "evening.jsonl"
        script = KILLED.format(paths=[path for path in sys.path if path])
        words = [sys.executable, "-c", script, board.line, str(log), dies_before]
        with Pacer(board) as pacer, subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as child:
            assert child.stdout and child.stdout.readline() == "ready\n"
            end = time.monotonic() + wait_ms / 1000
            while time.monotonic() < end and child.poll() is None:
                pacer.set(N1, True)
                time.sleep(0.008)
                pacer.set(N1, False)
                time.sleep(0.008)
            self.died = child.poll() is not None
            child.kill()
            child.wait()
            client = Client(open_port(board.line))
            client.hello()
            self.forgotten = client.status().oldest
            second = Recorder(compiled(), folder / "second.jsonl")
            second.attach(client)
            assert second.finish()
            second.close()
            client.close()
        self.written = [json.loads(line) for line in log.read_bytes().rsplit(b"\n", 1)[0].splitlines()][2:]
        said = lines(folder / "second.jsonl")[1:]
        self.kept = [line for line in said if line["kind"] not in ("state", "lost")]

    def judge(self) -> None:
        both = len(self.written) - self.forgotten
        assert both >= 0, "a record that the board forgot is not in the file"
        assert self.written[self.forgotten :] == self.kept[:both], "file and board tell different things"


@pytest.mark.parametrize("wait_ms", random.Random(1).sample(range(600), KILLS))
def test_killed_at_any_moment_what_the_board_forgot_is_in_the_file(
    board: VirtualBoard, tmp_path: Path, wait_ms: int
) -> None:
    Killed(board, tmp_path, wait_ms).judge()


@pytest.mark.parametrize("before", ["write", "confirm"])
def test_killed_between_writing_and_confirming_nothing_is_lost(
    board: VirtualBoard, tmp_path: Path, before: str
) -> None:
    killed = Killed(board, tmp_path, 10_000, before)
    killed.judge()
    assert killed.died and len(killed.written) >= 5 and killed.kept
    assert (len(killed.written) > killed.forgotten) == (before == "confirm")
