"""In maintenance nothing stays on without a computer that says it is there."""

from __future__ import annotations

import io
import math
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from board import miswired
from board.bench import Bench, w
from board.host import Host
from board.miswired import LAYOUT
from reedboard.board import WATCH_MS
from reedboard.link import PROTOCOL
from reedlogic.ring import MASK
from reedway.board import client, protocol
from reedway.board.client import Client
from reedway.board.ports import open_port
from reedway.board.virtual import VirtualBoard
from reedway.board.walking import owner, wires
from reedway.board.walking.owner import Owner
from reedway.board.walking.watching import EVERY_S, LIFE_S, Watch
from reedway.board.walking.wires import Wires
from reedway.replay.machines import find_micropython
from reedway.sessionlog.names import Codec
from reedway.sessionlog.tell import Teller

needs_board = pytest.mark.skipif(find_micropython() is None, reason="no MicroPython on this machine")
HOLD, TRACK = 1, 3  # values of the order that feeds them
UNWATCHED = (w.R_ORDER, w.O_UNWATCHED, WATCH_MS)
WAIT_S = 30.0


class Maintained:
    """A bench in maintenance, and its computer."""

    def __init__(self, now: int = 1000) -> None:
        self.bench = Bench(now)
        self.host = Host(self.bench)
        self.host.say("h", PROTOCOL)
        self.order(w.O_MAINTENANCE, 0)

    def order(self, order: int, value: int) -> None:
        self.host.say("o", order, value)
        self.bench.run(1)

    def watch(self) -> None:
        self.bench.pins.to_board.extend(protocol.encode("w", 0))
        self.host.hear()

    def feeds(self) -> int:
        return int(self.bench.board.logic.feeds)

    def went_off(self) -> list[int]:
        """When the board has taken everything off."""
        return [record[0] for record in self.bench.records() if record[1:] == UNWATCHED]


@pytest.mark.parametrize("now", [1000, MASK - 2500, MASK - 800, MASK - 1])
def test_what_is_on_goes_off_at_the_bound_and_not_before(now: int) -> None:
    """Also where the clock's ring comes round: before the order, within the wait, at its end."""
    one = Maintained(now)
    one.order(w.O_FEED, HOLD)  # heard one scan before it is carried out
    heard = one.bench.now - 1
    one.bench.run(WATCH_MS - 2)
    assert one.feeds() == 1 and one.bench.is_high("Hold")
    one.bench.run(1)
    assert one.feeds() == 0 and not one.bench.is_high("Hold")
    assert one.went_off() == [(heard + WATCH_MS) & MASK]
    one.bench.run(WATCH_MS * 2)
    assert len(one.went_off()) == 1  # told once


def test_whoever_says_that_he_is_there_keeps_it_on() -> None:
    one = Maintained()
    one.order(w.O_FEED, HOLD)
    for _ in range(10):
        one.bench.run(WATCH_MS - 2)
        assert one.feeds() == 1
        one.watch()
    one.bench.run(WATCH_MS)
    assert one.feeds() == 0


def test_a_recording_alone_keeps_nothing_on() -> None:
    one = Maintained()
    one.order(w.O_FEED, HOLD)
    for _ in range(5):
        one.bench.run(WATCH_MS // 4)
        one.host.confirm(0)
    assert one.feeds() == 0


def test_lamps_go_out_and_a_throw_that_waits_does_not_come() -> None:
    for is_there in (True, False):
        one = Maintained()
        while not one.bench.board.keeper.deferred:
            one.order(w.O_THROW, 0)
            one.bench.run(800)
        one.order(w.O_LIGHT, 1)
        done = len(one.bench.pins.pulses)
        for _ in range(10):
            if is_there:
                one.watch()
            one.bench.run(WATCH_MS - 1)
        assert len(one.bench.pins.pulses) == done + is_there
        assert one.bench.board.lamps == is_there and bool(one.bench.pins.lamp_word) == is_there
        assert one.bench.board.logic.fault < 0


def test_a_pulse_that_runs_keeps_its_length() -> None:
    """The computer dies as it has given the order: the one-shot has the whole pulse already."""
    one = Maintained()
    one.order(w.O_FEED, HOLD)
    one.bench.run(WATCH_MS - 40)
    one.bench.board.ask(w.O_THROW, 1)  # heard by nobody's line
    one.bench.run(300)
    ends = [record for record in one.bench.records() if record[1] in (w.R_PULSE, w.R_PULSE_END)]
    assert one.feeds() == 0 and ends[1][0] - ends[0][0] == 80 and ends[0][3] == 80


def test_a_button_feeds_nothing_while_no_computer_is_there() -> None:
    """As if a panel had a button `go H`: the order comes from the logic's own side."""
    one = Maintained()
    one.bench.run(WATCH_MS)
    one.bench.board.logic.words[w.W_GO] = 1
    one.bench.run(1)
    assert one.feeds() == 0 and len(one.went_off()) == 1


def test_a_fault_that_is_acknowledged_brings_no_feed_back() -> None:
    one = Maintained()
    one.order(w.O_FEED, HOLD)
    one.bench.board.logic.raise_fault(one.bench.now, w.F_LATE, 0)
    one.bench.run(WATCH_MS)
    one.order(w.O_ACKNOWLEDGE, 0)
    one.bench.run(5)
    assert one.bench.board.logic.mode == w.M_MAINTENANCE and one.feeds() == 0


def test_a_show_needs_no_computer() -> None:
    bench = Bench()
    bench.start()
    bench.run(3 * WATCH_MS)
    assert bench.is_high("Hold") and bench.board.unwatched == 0


def test_log_and_status_tell_it() -> None:
    assert WATCH_MS == protocol.WATCH_MS
    one = Maintained()
    one.order(w.O_FEED, TRACK)
    one.bench.run(WATCH_MS)
    compiled = miswired.compiled()
    word, name, value = Codec(compiled.names).by_name(*UNWATCHED)
    assert Codec(compiled.names).by_number(word, name, value) == UNWATCHED
    told = Teller(compiled.names).tell(word, name, value)
    assert told == "no computer heard for 2000 ms in maintenance: every feed and lamp goes off"
    status = next(line for line in one.host.say("q") if line.kind == "q")
    assert status.numbers()[-2] == 1


# -- walk on a virtual board ------------------------------------------------------------------------------


def until(holds: Callable[[], bool]) -> None:
    end = time.monotonic() + WAIT_S
    while not holds():
        assert time.monotonic() < end
        time.sleep(0.005)


class Clock:
    """The virtual board's time, no faster than that of the wall until the test says so."""

    def __init__(self, board: VirtualBoard) -> None:
        self.board = board
        self.step_ms = 2
        self._end = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)

    def _run(self) -> None:
        while not self._end.wait(0.002):
            self.board.go(self.board.out.t + self.step_ms)

    def __enter__(self) -> Clock:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._end.set()
        self._thread.join(5)


class Thinker(io.StringIO):
    """The terminal of an owner who thinks until it is enough, and then presses Enter."""

    def __init__(self, enough: threading.Event) -> None:
        super().__init__()
        self.enough = enough

    def isatty(self) -> bool:
        return True

    def __iter__(self) -> Iterator[str]:  # type: ignore[override]
        self.enough.wait(2 * WAIT_S)
        yield "\n"


class Fed:
    """Every block fed in maintenance; then the board's time goes on with each look of the watching thread."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, board: VirtualBoard, for_ms: int) -> None:
        self.board, self.for_ms = board, for_ms
        self.is_fast, self.enough = threading.Event(), threading.Event()
        self.looks = lambda: None  # what the program does between two of them
        clock = Clock(board).__enter__()
        monkeypatch.setattr(wires, "Watch", lambda say: Watch(say, self.wait, lambda: board.out.t / 1000))
        self.client = Client(open_port(board.line))
        self.client.hello()
        self.wires = Wires(self.client, miswired.compiled())
        self.wires.begin()
        self.wires.feed_all(True)
        until(lambda: all(board.feeds()))
        clock.__exit__()
        self.begun = board.out.t
        self.is_fast.set()

    def wait(self, seconds: float) -> bool:
        if self.is_fast.is_set() and not self.enough.is_set():
            self.looks()
            self.board.go(self.board.out.t + int(seconds * 1000))
            if self.went_ms() > self.for_ms or not all(self.board.feeds()):
                self.enough.set()
            return False
        time.sleep(0.002)
        return False

    def went_ms(self) -> int:
        return self.board.out.t - self.begun


@needs_board
def test_five_minutes_of_thinking_leave_the_feeds_on(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(owner, "LOOK_S", 0.001)
    with VirtualBoard(miswired.compiled()) as board:
        fed = Fed(monkeypatch, board, 300_000)
        thinks = threading.Event()

        def alive(*seconds: float) -> None:
            fed.wires.alive(*seconds)
            thinks.set()

        def looks() -> None:
            assert thinks.wait(WAIT_S)
            thinks.clear()

        fed.looks = looks
        one = Owner(Thinker(fed.enough), io.StringIO())
        one.alive = alive
        one.enter("Enter:")
        assert all(board.feeds()) and fed.went_ms() > 300_000
        fed.wires._watch.end()
        board.go(board.out.t + int(EVERY_S * 1000))  # what was said last
        assert all(board.feeds())
        board.go(board.out.t + WATCH_MS)
        assert not any(board.feeds())
        fed.client.close()


@needs_board
def test_a_walk_whose_program_hangs_leaves_no_feed_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """It neither waits for its owner nor talks to the board: the watching thread falls silent too."""
    with VirtualBoard(miswired.compiled()) as board:
        fed = Fed(monkeypatch, board, 60_000)
        assert fed.enough.wait(WAIT_S)
        assert not any(board.feeds())
        step_ms = EVERY_S * 1000
        assert LIFE_S * 1000 - step_ms < fed.went_ms() <= LIFE_S * 1000 + WATCH_MS + 2 * step_ms
        fed.wires._watch.end()
        fed.client.close()


def test_the_longest_talk_with_the_board_is_no_hanging() -> None:
    assert client.TRIES * client.ANSWER_S < LIFE_S


def test_an_owner_who_is_read_from_a_pipe_may_be_silent_as_long_as_he_likes() -> None:
    said: list[float | None] = []
    one = Owner(io.StringIO("\n"), io.StringIO())
    one.alive = lambda for_s=None: said.append(for_s)
    one.enter("Enter:")
    assert said == [math.inf, None]


@needs_board
def test_a_walk_that_is_suspended_or_killed_in_mid_lap_leaves_no_feed_on(tmp_path: Path) -> None:
    layout = tmp_path / "walk.yaml"
    layout.write_bytes(LAYOUT)
    words = ["walk", str(layout), "--only", "trains", "--wait", "20", "--port"]
    with VirtualBoard(miswired.compiled()) as board, Clock(board) as clock:
        program = (
            "import argparse, sys; from reedway.board.walking import commands as c; "
            "p = argparse.ArgumentParser(); c.register(p.add_subparsers()); "
            "a = p.parse_args(sys.argv[1:]); a.run(a)"
        )
        env = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)}
        walk = subprocess.Popen(
            [sys.executable, "-c", program, *words, board.line],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env=env,
        )
        assert walk.stdin and walk.stdout
        limit = threading.Timer(WAIT_S, walk.kill)
        limit.start()
        try:
            for text, sent in (("\n\n\n", signal.SIGSTOP), ("go\n", signal.SIGKILL)):
                walk.send_signal(signal.SIGCONT)
                walk.stdin.write(text)
                walk.stdin.flush()
                clock.step_ms = 2
                until(lambda: all(board.feeds()))
                if sent == signal.SIGKILL:
                    assert any("meanwhile the board took everything off" in line for line in walk.stdout)
                walk.send_signal(sent)
                at = board.out.t
                clock.step_ms = 50
                until(lambda: not any(board.feeds()))
                assert board.out.t - at <= WATCH_MS + 3 * clock.step_ms
        finally:
            limit.cancel()
            walk.kill()
            walk.communicate()
