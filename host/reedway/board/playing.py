"""Runs a virtual board: at the pace of a clock, or as fast as it goes, with the inputs of a session log."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from reedway.board.client import Client
from reedway.board.ports import open_port
from reedway.board.recorder import Recorder
from reedway.board.virtual import VirtualBoard
from reedway.boardfile.compile import Compiled
from reedway.problems import ReedwayError
from reedway.sessionlog.kinds import BY_BUTTON, KIND_WORDS, w
from reedway.sessionlog.names import Codec, UnknownName
from reedway.sessionlog.reader import LogReader

BEGIN_MS = 1000  # board time at which a virtual board begins
HIT_MS = 60  # a magnet over a sensor, when a hit is typed by hand
PACE_S = 0.002
DRAIN_EVERY = 50  # inputs: far fewer records than the journal holds
DRAIN_S = 20.0
_EDGE, _ORDER, _LATE, _STATE = (KIND_WORDS[k] for k in (w.R_EDGE, w.R_ORDER, w.R_LATE, w.R_STATE))


@dataclass(frozen=True)
class Input:
    """One thing to feed in."""

    t: int
    kind: int  # R_EDGE, R_ORDER or R_LATE
    which: int
    value: int


def session_inputs(log: Path, compiled: Compiled) -> Iterator[Input]:
    """Edges, orders and late scans of a log's first part."""
    codec = Codec(compiled.names)
    for line in LogReader(log):
        if line.kind not in (_EDGE, _ORDER, _LATE) or line.name.endswith(BY_BUTTON):
            continue
        if line.part > 1:
            return
        assert isinstance(line.value, int)
        try:
            kind, which, value = codec.by_number(line.kind, line.name, line.value)
        except UnknownName as problem:
            raise ReedwayError(f"{log}:{line.number}: {problem}") from None
        yield Input(line.t, kind, which, value)


def play(board: VirtualBoard, log: Path, compiled: Compiled, drain: Callable[[], None] | None = None) -> int:
    """Feed a whole session in, as fast as it goes; returns how many inputs."""
    count = 0
    for item in session_inputs(log, compiled):
        if not board.is_begun:
            board.go(max(0, item.t - 1))
        if item.kind == w.R_EDGE:
            board.set(item.which, bool(item.value))
            board.go(item.t)
        elif item.kind == w.R_ORDER:
            board.go(item.t - 1)
            board.order(item.which, item.value)
            board.go(item.t)
        else:
            board.go(item.t - item.value)
            board.late(item.t)
        count += 1
        if drain and count % DRAIN_EVERY == 0:
            drain()
    return count


class Keeper:
    """Keeps the records of a board that is played, while its time stands; without a file does nothing."""

    def __init__(self, board: VirtualBoard, compiled: Compiled, out: Path | None) -> None:
        self._board = board
        self._recorder = Recorder(compiled, out) if out else None
        self._client: Client | None = None
        self._end = threading.Event()
        self._thread = threading.Thread(target=self._work, daemon=True)
        if out:
            self._thread.start()

    def _work(self) -> None:
        while not self._end.wait(PACE_S):
            if self._board.is_begun:
                self._board.work()

    def drain(self) -> None:
        """Take everything that happened so far."""
        if self._recorder is None or not self._board.is_begun:
            return
        if self._client is None:
            self._client = Client(open_port(self._board.line))
            self._recorder.attach(self._client)
        give_up = time.monotonic() + DRAIN_S
        while self._recorder.count + self._recorder.lost < self._board.out.records:
            self._recorder.step()
            if time.monotonic() > give_up:
                raise ReedwayError("the virtual board does not send its records")

    def __enter__(self) -> Keeper:
        return self

    def __exit__(self, *_: object) -> None:
        self._end.set()
        if self._recorder:
            self._thread.join(5)
            self._recorder.close()
        if self._client:
            self._client.close()


class Pacer:
    """Lets a virtual board's time pass like the clock on the wall, in a thread of its own."""

    def __init__(self, board: VirtualBoard) -> None:
        self._board = board
        self._end = threading.Event()
        self.error: ReedwayError | None = None
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._begun = time.monotonic()
        board.go(BEGIN_MS)
        self._thread.start()

    def _now(self) -> int:
        return BEGIN_MS + int((time.monotonic() - self._begun) * 1000)

    def _run(self) -> None:
        while not self._end.wait(PACE_S):
            try:
                self._board.go(max(self._now(), self._board.out.t + 1))
            except ReedwayError as problem:
                self.error = problem
                return

    def set(self, index: int, closed: bool) -> None:
        """Close or open a contact now."""
        self._board.set(index, closed)

    def hit(self, index: int) -> None:
        """A magnet passes: by the board's own time, which goes on in jumps where the machine is slow."""
        for closed in (True, False):
            self.set(index, closed)
            for ms in (1, 1, HIT_MS):  # two scans later at the latest the board has seen it
                self._pass(ms)

    def _pass(self, ms: int) -> None:
        end = self._board.out.t + ms
        while self._board.out.t < end and self.error is None:
            time.sleep(PACE_S)

    def close(self) -> None:
        self._end.set()
        self._thread.join(5)

    def __enter__(self) -> Pacer:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()
