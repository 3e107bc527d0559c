"""The virtual board: firmware on MicroPython, pins and clock in our hands, the line over a real port."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Iterator

import pytest

from board.bench import Bench, compiled, w
from reedway.board.client import Client
from reedway.board.ports import open_port
from reedway.board.protocol import Line, Splitter, encode
from reedway.board.showing import status_json, status_lines
from reedway.board.virtual import VirtualBoard
from reedway.replay.machines import find_micropython

pytestmark = pytest.mark.skipif(find_micropython() is None, reason="no MicroPython on this machine")
SWITCH = 30


@pytest.fixture
def board() -> Iterator[VirtualBoard]:
    with VirtualBoard(compiled()) as virtual:
        index = compiled().names.inputs.index("service")
        virtual.set(index, True)
        virtual.go(1000)
        yield virtual


def started(board: VirtualBoard) -> VirtualBoard:
    board.go(1030)
    board.order(w.O_START, w.NONE)
    board.go(3030)
    return board


def test_a_show_starts_and_a_hit_throws(board: VirtualBoard) -> None:
    out = started(board).out
    assert [(pulse.coil, pulse.ms) for pulse in out.pulses] == [(0, 80), (2, 50)]
    assert board.feeds() == [True, True] and out.mode == w.M_RUNNING
    board.set(0, True)
    board.go(4000)
    assert board.go(4004).pulses == []
    assert [(p.t, p.coil, p.ms) for p in board.go(4005).pulses] == [(4005, 1, 80)]


def read_lines(board: VirtualBoard, port: int, seconds: float = 5.0) -> list[Line]:
    """What comes over the line while the board idles; until it is quiet."""
    splitter = Splitter()
    found: list[Line] = []
    end = time.monotonic() + seconds
    quiet = 0
    while time.monotonic() < end and quiet < 3:
        board.go(board.out.t + 1)
        try:
            data = os.read(port, 4096)
        except BlockingIOError:
            data = b""
        quiet = 0 if data else quiet + 1
        found += [item for item in splitter.feed(data) if isinstance(item, Line)]
    return found


def test_the_line_is_a_port_like_a_boards(board: VirtualBoard) -> None:
    started(board)
    port = os.open(board.line, os.O_RDWR | os.O_NONBLOCK | os.O_NOCTTY)
    try:
        os.write(port, encode("h", 1, 1))
        lines = read_lines(board, port)
        assert [line.kind for line in lines][-2:] == ["a", "h"]
        hello = lines[-1]
        assert hello.fields[3] == compiled().layout.sha256
        os.write(port, encode("k", 0, 0))
        records = [line.numbers() for line in read_lines(board, port) if line.kind == "r"]
        assert [record[0] for record in records] == list(range(len(records)))
        assert (w.R_ORDER, w.O_START, w.NONE) in [record[2:] for record in records]
    finally:
        os.close(port)


def test_the_same_edges_make_the_same_records_as_on_this_interpreter(board: VirtualBoard) -> None:
    started(board)
    bench = Bench()
    bench.run(30)
    bench.board.ask(w.O_START, w.NONE)
    bench.run(2000)
    steps = [(5, "N1"), (90, "N1"), (700, "N3"), (760, "N3"), (2500, "N2"), (2590, "N2"), (4700, "N1")]
    closed: set[str] = set()
    for at, name in steps:
        closed ^= {name}
        bench.run(3030 + at - 1 - bench.now)
        (bench.close if name in closed else bench.open)(name)
        bench.run(1)
        board.set(compiled().names.inputs.index(name), name in closed)
        board.go(3030 + at)
    bench.run(5000)
    assert board.go(bench.now).records == bench.board.journal_feed.end() > 30
    port = os.open(board.line, os.O_RDWR | os.O_NONBLOCK | os.O_NOCTTY)
    got: list[tuple[int, ...]] = []
    try:
        while len(got) < board.out.records:
            os.write(port, encode("k", 0, len(got)))
            new = [line.numbers()[1:] for line in read_lines(board, port) if line.kind == "r"]
            assert new
            got += new
    finally:
        os.close(port)
    assert got == bench.records()


def test_a_late_scan_and_a_stuck_one_shot_are_what_they_are(board: VirtualBoard) -> None:
    started(board)
    before = board.out.records
    assert board.late(3130).records == before + 1
    board.stick(True)
    board.set(0, True)
    board.go(3200)
    assert board.go(3300).mode == w.M_FAULT
    assert board.feeds() == [False, False]


def test_status_names_the_fault_that_stands_until_it_is_acknowledged(board: VirtualBoard) -> None:
    names, client = compiled().names, Client(open_port(board.line))
    worker = threading.Event()

    def work() -> None:
        while not worker.wait(0.002):
            board.work()

    thread = threading.Thread(target=work)
    thread.start()
    try:
        hello = client.hello()
        assert status_json(hello, client.status(), names)["fault"] == ""
        board.stick(True)
        board.order(w.O_START, w.NONE)
        board.go(1100)
        said = status_lines(hello, client.status(), names)[0]
        assert said.startswith("fault: coil keeper out of step at exit; firmware ")
        assert status_json(hello, client.status(), names)["fault"] == "coil keeper out of step at exit"
        board.stick(False)
        board.order(w.O_ACKNOWLEDGE, 0)
        board.go(1200)
        assert status_json(hello, client.status(), names)["fault"] == ""
    finally:
        worker.set()
        thread.join()
        client.close()


def test_garbage_on_the_line_changes_nothing(board: VirtualBoard) -> None:
    started(board)
    port = os.open(board.line, os.O_RDWR | os.O_NONBLOCK | os.O_NOCTTY)
    try:
        os.write(port, b"\x03\x03\x01import machine\r\n\x04" * 20)
        board.go(3100)
        assert board.go(3200).mode == w.M_RUNNING and board.feeds() == [True, True]
    finally:
        os.close(port)
