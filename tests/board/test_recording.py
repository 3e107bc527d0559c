"""`record` in a terminal, as its owner sees it: over a pty, with a virtual board on another."""

from __future__ import annotations

import io
import json
import os
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import pytest

from board.bench import LAYOUT, compiled, w
from reedway import cli
from reedway.board import live
from reedway.board.client import Client
from reedway.board.keyboard import Keyboard
from reedway.board.live import LiveShow
from reedway.board.playing import Pacer
from reedway.board.ports import open_port
from reedway.board.recorder import Recorder
from reedway.board.recording import Recording, Talk, make_folder
from reedway.board.sharing import Door, find_recording, runtime_folder
from reedway.board.timewatch import TimeWatch
from reedway.board.virtual import VirtualBoard
from reedway.boardfile.compile import Compiled, compile_layout
from reedway.layout.load import load_bytes
from reedway.problems import ReedwayError
from reedway.replay.film import Screen
from reedway.replay.machines import find_micropython
from reedway.sessionlog.reader import Line

needs_micropython = pytest.mark.skipif(find_micropython() is None, reason="no MicroPython on this machine")
DRAWN = LAYOUT + b"drawing: |\n  --N1--< Hold >--N2--\n"


@cache
def drawn() -> Compiled:
    return compile_layout(load_bytes("bench.yaml", DRAWN))


@pytest.fixture(autouse=True)
def own_runtime(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "run").mkdir()
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path / "run"))


@pytest.fixture
def paced() -> Iterator[Pacer]:
    with VirtualBoard(drawn()) as board:
        board.set(compiled().names.inputs.index("service"), True)
        with Pacer(board) as pacer:
            yield pacer


@pytest.fixture
def layout(tmp_path: Path) -> Path:
    path = tmp_path / "bench.yaml"
    path.write_bytes(DRAWN)
    return path


def until(holds: Callable[[], bool], seconds: float = 15.0) -> None:
    """Wait for what the board does in its own time."""
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end
        time.sleep(0.02)


class Terminal:
    """A `record` in a terminal of 100 columns."""

    def __init__(self, layout: Path, port: str, log: Path) -> None:
        import pty

        self.master, slave = pty.openpty()
        import fcntl
        import struct
        import termios

        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 100, 0, 0))
        command = [sys.executable, "-m", "reedway", "record", str(layout), "--port", port, "--out", str(log)]
        environment = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "COLUMNS", "LINES")}
        self.child = subprocess.Popen(
            command, stdin=slave, stdout=slave, stderr=slave, env=environment | {"TERM": "xterm"}
        )
        os.close(slave)
        self.seen = ""
        self._thread = threading.Thread(target=self._read, daemon=True)
        self._thread.start()

    def _read(self) -> None:
        """A terminal that nobody reads fills up, and whoever writes to it waits."""
        while True:
            try:
                data = os.read(self.master, 65536)
            except OSError:  # the other end has gone
                return
            self.seen += data.decode()

    def wait_for(self, pattern: str, seconds: float = 15.0) -> None:
        end = time.monotonic() + seconds
        while not re.search(pattern, self.seen):
            assert time.monotonic() < end, f"no {pattern!r} in {self.seen[-2000:]!r}"
            time.sleep(0.02)
        assert re.search(pattern, self.seen), self.seen[-2000:]

    def press(self, keys: str) -> None:
        self.seen = ""
        os.write(self.master, keys.encode())

    def close(self) -> None:
        if self.child.poll() is None:
            self.child.kill()
        self.child.wait()
        self._thread.join(5)
        os.close(self.master)


def reedway(*words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "reedway", *words]
    return subprocess.run(command, capture_output=True, text=True, check=False, timeout=30)


def orders(log: Path) -> list[str]:
    lines = [json.loads(line) for line in log.read_text().splitlines()[1:]]
    return [line["name"] for line in lines if line["kind"] == "order"]


@needs_micropython
def test_the_drawing_lives_keys_order_and_other_terminals_come_in(
    paced: Pacer, layout: Path, tmp_path: Path
) -> None:
    board, log = paced._board, tmp_path / "evening.jsonl"
    terminal = Terminal(layout, board.line, log)
    try:
        terminal.wait_for("began with: power-on")
        terminal.wait_for(r"--N1--<")  # the owner's drawing
        port = ("--port", board.line)
        status = reedway("status", str(layout), *port)
        assert status.returncode == 0 and status.stdout.startswith("before start;"), status.stderr
        started = reedway("operate", str(layout), *port, "start")
        assert "the board is now: running" in started.stdout, started.stderr
        terminal.seen = ""
        terminal.wait_for(r"\x1b\[1;32mHold\x1b\[0m")  # it goes, and is lit
        paced.hit(0)
        terminal.wait_for(r"N1 hit")
        second = reedway("record", str(layout), *port, "--out", str(tmp_path / "b.jsonl"))
        assert second.returncode == 1 and second.stderr.count("\n") == 1
        assert f"a `record` runs there already (process {terminal.child.pid}, into {log})" in second.stderr
        assert not (tmp_path / "b.jsonl").exists()
        terminal.press("?")
        terminal.wait_for("space: stop all")
        terminal.press(" ")
        terminal.wait_for("given: stop all")
        until(lambda: board.out.mode == w.M_STOPPED)
        assert not any(board.feeds())
        refused = reedway("operate", str(layout), *port, "maintenance")
        assert "refused maintenance: it is stopped, not before start; `reedway walk` ends" in refused.stderr
        terminal.wait_for("maintenance refused: only before start")
        terminal.press("a")
        terminal.wait_for("given: acknowledge")
        terminal.press("q")
        terminal.wait_for(r"evening.jsonl: \d+ records")
        assert terminal.child.wait(10) == 0
    finally:
        terminal.close()
    assert orders(log) == ["start", "stop", "maintenance", "acknowledge"]
    assert board.out.mode == w.M_STOPPED  # ending it gave no order
    assert list(runtime_folder().iterdir()) == []


@needs_micropython
def test_one_that_was_killed_blocks_no_other(paced: Pacer, layout: Path, tmp_path: Path) -> None:
    line = paced._board.line
    terminal = Terminal(layout, line, tmp_path / "a.jsonl")
    try:
        terminal.wait_for("began with")
        assert find_recording(line) is not None
        os.kill(terminal.child.pid, signal.SIGKILL)
    finally:
        terminal.close()
    assert find_recording(line) is None and len(list(runtime_folder().iterdir())) == 1
    done = reedway("record", str(layout), "--port", line, "--out", str(tmp_path / "b.jsonl"), "--for", "0.5")
    assert done.returncode == 0 and "b.jsonl: " in done.stdout, done.stderr
    assert reedway("status", str(layout), "--port", line).returncode == 0


def recording(folder: Path, name: str = "log.jsonl") -> Recording:
    recorder = Recorder(drawn(), folder / name)
    return Recording(recorder, folder / name, LiveShow(drawn(), is_quiet=True), Keyboard(False))


class Cable:
    """A virtual board's port that can be pulled out."""

    def __init__(self, line: str) -> None:
        self.line, self.is_in = line, True
        self.on_pull: Callable[[], None] = lambda: None

    def __call__(self) -> Cable:
        if not self.is_in:
            raise ReedwayError("the port cannot be opened")
        self._port = open_port(self.line)
        return self

    def __enter__(self) -> Talk:
        return Talk(Client(self), self.line)

    def __exit__(self, *_: object) -> None:
        self._port.close()

    def read(self, size: int = 1) -> bytes:
        if not self.is_in:
            raise OSError("Input/output error")
        return self._port.read(size)

    def write(self, data: bytes, /) -> int | None:
        return self._port.write(data)

    def close(self) -> None:
        self._port.close()


@needs_micropython
def test_a_port_that_vanishes_in_mid_evening_is_waited_for_and_told(paced: Pacer, tmp_path: Path) -> None:
    cable = Cable(paced._board.line)
    one = recording(tmp_path)
    thread = threading.Thread(target=one.run, args=(cable, time.monotonic() + 3.5), daemon=True)
    thread.start()
    time.sleep(0.7)
    paced.hit(0)
    time.sleep(0.3)
    cable.is_in = False
    time.sleep(0.4)
    paced.hit(2)  # nobody listens
    shared = find_recording(cable.line)
    assert shared is not None
    with pytest.raises(
        ReedwayError, match="the board is not there at the moment; the recording waits for it"
    ):
        shared.status()
    cable.is_in = True
    time.sleep(1.2)
    assert shared.status().mode == w.M_BEFORE
    paced.hit(0)
    thread.join()
    one._recorder.close()
    lines = [json.loads(line) for line in (tmp_path / "log.jsonl").read_text().splitlines()[1:]]
    hits = [line["name"] for line in lines if line["kind"] == "hit"]
    assert hits == ["N1", "N3", "N1"] or hits == ["N1", "N3"]  # rearm may hold the last one back
    remarks = [line["value"] for line in lines if line["name"] == "computer"]
    assert remarks == ["the port has vanished (Input/output error)", "the board is back"]
    assert [line["kind"] for line in lines].count("state") == 1  # it is the same show


@needs_micropython
def test_a_full_disk_is_one_line_and_the_log_stays_whole(
    paced: Pacer, layout: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture
) -> None:
    import errno

    from reedway.sessionlog import writer

    log = tmp_path / "a.jsonl"
    real = writer.LogWriter._write

    def full(self: writer.LogWriter, lines: list[str]) -> None:
        lines = list(lines)
        if '"edge"' in "".join(lines):
            self._file = Full(self._file)  # type: ignore[assignment]
        real(self, lines)

    class Full:
        """Takes ten bytes more and then none."""

        def __init__(self, file) -> None:  # type: ignore[no-untyped-def]
            self.file, self.left = file, 10

        def write(self, data: bytes) -> int:
            if not self.left:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            self.left = 0
            return self.file.write(data[:10])

        def __getattr__(self, name: str) -> object:
            return getattr(self.file, name)

    monkeypatch.setattr(writer.LogWriter, "_write", full)
    threading.Timer(1.0, lambda: paced.hit(0)).start()
    words = ["record", str(layout), "--port", paced._board.line, "--out", str(log), "--for", "8", "--json"]
    assert cli.main(words) == 1
    error = capsys.readouterr().err.splitlines()[-1]
    assert "No space left on device; what was written before is whole; make room and begin a new log" in error
    assert all(json.loads(line) for line in log.read_text().splitlines()) and log.read_text().endswith("\n")
    assert find_recording(paced._board.line) is None


def test_a_folder_that_cannot_be_is_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(ReedwayError, match="the folder for the log cannot be made: .*; name another"):
        make_folder(tmp_path / "file" / "sessions" / "a.jsonl")
    monkeypatch.setattr(os, "access", lambda *_: False)
    with pytest.raises(ReedwayError, match="nothing can be written into this folder; name another"):
        make_folder(tmp_path / "a.jsonl")


def test_strangers_at_the_door_are_sent_away(tmp_path: Path) -> None:
    import socket

    door = Door("/dev/some-port", "a.jsonl", lambda question: {"status": question["what"]})
    note = json.loads(next(runtime_folder().iterdir()).read_text())
    assert next(runtime_folder().iterdir()).stat().st_mode & 0o077 == 0
    end = threading.Event()

    def serve() -> None:
        while not end.wait(0.01):
            door.serve()

    thread = threading.Thread(target=serve)
    thread.start()

    def say(data: bytes) -> bytes:
        with socket.create_connection(("127.0.0.1", note["port"]), timeout=5) as talk:
            talk.sendall(data)
            return talk.makefile("rb").readline()

    try:
        assert b"not allowed" in say(b'{"word":"guessed","what":"status"}\n')
        assert b"not understood" in say(b"GET / HTTP/1.1\n")
        assert say(b"x" * 5000 + b"\n") == b""
        found = find_recording("/dev/some-port")
        assert (
            found is not None and found.log == "a.jsonl" and found.ask(what="status") == {"status": "status"}
        )
    finally:
        end.set()
        thread.join()
        door.close()
    assert find_recording("/dev/some-port") is None


def test_a_clock_that_was_set_and_a_sleep_are_told() -> None:
    wall, steady = [1000.0], [50.0]
    watch = TimeWatch(lambda: wall[0], lambda: steady[0])

    def go(wall_s: float, steady_s: float) -> list[str]:
        wall[0] += wall_s
        steady[0] += steady_s
        return list(watch.look())

    assert go(0.1, 0.1) == go(5, 5) == []
    assert go(3600.1, 0.1) == ["the computer's clock went forward by 1 h 00 min; the board's time went on"]
    assert go(0.1, 0.1) == []
    assert go(-7200, 0.1) == ["the computer's clock went back by 2 h 00 min; the board's time went on"]
    assert go(1200, 1200) == ["the computer slept, or was held up, for 20 min 0 s"]


def test_what_was_said_goes_when_it_is_old(monkeypatch: pytest.MonkeyPatch) -> None:
    now = [100.0]
    monkeypatch.setattr(live, "screen_of", lambda to: Screen(to, moving=True, colours=False))
    out = io.StringIO()
    show = LiveShow(drawn(), out, has_keys=True, clock=lambda: now[0])
    show.rest("recording into a.jsonl")

    def below() -> str:
        now[0] += live.FRAME_S
        out.truncate(0)
        show.look()
        return " ".join(re.sub(r"\x1b\[\d*[A-Za-z]", "", out.getvalue()).splitlines()[-2:]).strip()

    def mode(word: str) -> None:
        now[0] += 1
        show.take(Line(0, 0, int(now[0] * 1000), "mode", word, 0))

    assert below() == "recording into a.jsonl; ? tells the keys"
    show.say("given: stop all")
    mode("stopped")
    assert below() == "given: stop all"
    now[0] += live.SAID_S - 2  # as long as nobody does anything else
    assert below() == "given: stop all"
    mode("running")
    assert below() == "recording into a.jsonl; ? tells the keys"
    show.say("given: acknowledge")
    now[0] += live.SAID_S
    assert below() == "recording into a.jsonl; ? tells the keys"
