"""What edges and orders that the emulated chip recorded make on the host and on the virtual board."""

from __future__ import annotations

import os
from collections.abc import Iterator
from itertools import groupby

from reedlogic import words as w
from reedway.board.protocol import Line, Splitter, encode
from reedway.board.virtual import VirtualBoard
from reedway.boardfile.compile import Compiled
from reedway.replay.runner import BEGIN, PANEL, UNTIL, Runner

Record = tuple[int, ...]  # time, kind, which, value
BUTTON = 64  # added to an order that a button gave: its edge makes it again
BEFORE_MS = 10  # from the reset to the first record


def inputs_of(records: list[Record]) -> Iterator[tuple[int, list[Record]]]:
    """The edges and the orders of the line, by their millisecond."""
    given = [r for r in records if r[1] == w.R_EDGE or (r[1] == w.R_ORDER and r[2] < BUTTON)]
    for at, together in groupby(given, key=lambda record: record[0]):
        yield at, list(together)


def on_the_host(compiled: Compiled, closed: tuple[int, ...], records: list[Record]) -> list[Record]:
    """The records of a replay of these inputs, to the same time; `closed`: inputs that were at first."""
    written: list[str] = []
    runner = Runner(compiled.plan, written.append)
    panel = sum(1 << which - PANEL for which in closed)
    runner.feed(f"{records[0][0] - BEFORE_MS} {BEGIN} 0 {panel}")
    for _, together in inputs_of(records):
        for record in together:
            runner.feed(" ".join(map(str, record)))
    runner.feed(f"{records[-1][0]} {UNTIL} 0 0")
    runner.serve()
    runner.flush()
    return [tuple(map(int, line.split())) for line in "".join(written).splitlines()]


def on_the_virtual_board(compiled: Compiled, closed: tuple[int, ...], records: list[Record]) -> list[Record]:
    """The same, over the port of a virtual board."""
    with VirtualBoard(compiled) as board:
        for which in closed:
            board.set(which, True)
        board.go(records[0][0] - BEFORE_MS)
        for at, together in inputs_of(records):
            board.go(at - 1)
            for _, kind, which, value in together:
                if kind == w.R_EDGE:
                    board.set(which, value == 1)
                else:
                    board.order(which, value)
            board.go(at)
        board.go(records[-1][0])
        return _read(board)


def _read(board: VirtualBoard) -> list[Record]:
    """All its records; no time passes."""
    port = os.open(board.line, os.O_RDWR | os.O_NONBLOCK | os.O_NOCTTY)
    splitter = Splitter()
    found: list[Record] = []
    try:
        while len(found) < board.out.records:
            before = len(found)
            os.write(port, encode("k", 0, before))
            for _ in range(40):
                board.work()
                try:
                    data = os.read(port, 4096)
                except BlockingIOError:
                    continue
                lines = [item for item in splitter.feed(data) if isinstance(item, Line)]
                found += [tuple(line.numbers()[1:]) for line in lines if line.kind == "r"]
            assert len(found) > before, "the virtual board sends no records"
        return found
    finally:
        os.close(port)
