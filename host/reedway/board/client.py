"""The computer's end of the talk: commands that are answered or said again, and everything else in order."""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

from reedway.board.ports import Port, read_some, write_all
from reedway.board.protocol import PROTOCOL, Line, Splitter, encode
from reedway.problems import ReedwayError

ANSWER_S = 0.5
TRIES = 6
STATE_S = 10.0
RESULTS = {
    1: "not now: trains run",
    2: "the board did not understand it",
    3: "the board expected another command",
}
CAUSES = (
    "power-on",
    "watchdog: the scans had stopped",
    "soft reset",
    "reset asked for",
    "maintenance asked for",
    "unknown",
)


@dataclass(frozen=True)
class Hello:
    """Who is there and why."""

    firmware: str
    chip: str
    layout_sha256: str
    cause: int
    kept_fault: int
    time: int
    mode: int


@dataclass(frozen=True)
class Status:
    """How things stand, in words of bits."""

    time: int
    mode: int
    raw: int
    panel: int
    feeds: int
    lamps: int
    position: int
    known: int
    wanted: int
    held: int
    end: int  # number of the record to come
    oldest: int  # number of the oldest record kept
    late_scans: int
    refused: int
    unwatched: int  # times that in maintenance everything went off because no computer was heard
    fault: int  # that stands: cause * 128 + index + 1, or 0


@dataclass(frozen=True)
class State:
    """A snapshot of the logic, and the number of the first record after it."""

    record: int
    time: int
    numbers: list[int]


class Client:
    """One talk over one open port."""

    def __init__(self, port: Port, clock: Callable[[], float] = time.monotonic) -> None:
        self._port = port
        self._clock = clock
        self._splitter = Splitter()
        self._sequence = 0
        self._pen = threading.Lock()  # a line is written whole: watch() comes from another thread
        self.inbox: deque[Line | str] = deque()  # records and device text, in their order
        self.on_poll: Callable[[], None] = lambda: None  # called whenever somebody listens to the board
        self.unasked: list[Line] = []  # a hello that came while something else was asked: the board was reset

    def poll(self) -> list[Line]:
        """Read what has come; answers and the like are returned, the rest goes into the inbox."""
        self.on_poll()
        found = []
        for item in self._splitter.feed(read_some(self._port)):
            if isinstance(item, str) or item.kind == "r":
                self.inbox.append(item)
            else:
                found.append(item)
        return found

    def _write(self, line: bytes) -> None:
        with self._pen:
            write_all(self._port, line)

    def _send(self, kind: str, *numbers: int) -> None:
        self._write(encode(kind, self._sequence, *numbers))

    def command(self, kind: str, *numbers: int, wants: str = "") -> list[Line]:
        """Say it until it is answered; returns the lines of kind `wants` that came with the answer."""
        self._sequence = self._sequence + 1 & 255
        for _ in range(TRIES):
            self._send(kind, *numbers)
            end = self._clock() + ANSWER_S
            answered = False
            kept: list[Line] = []
            while self._clock() < end:
                for line in self.poll():
                    if line.kind == "a" and line.fields[0] == self._sequence:
                        result = int(line.fields[1])
                        if result == 3:
                            self._begin_count()
                            break
                        if result:
                            raise ReedwayError(RESULTS.get(result, f"the board refused it ({result})"))
                        answered = True
                    elif line.kind == wants:
                        kept.append(line)
                    elif line.kind == "h":
                        self.unasked.append(line)
                if answered and (kept or not wants):
                    return kept
        raise ReedwayError("the board does not answer; does Reedway's firmware run on it?")

    def say(self, kind: str) -> None:
        """Say it once: a board that resets gives no answer."""
        self._sequence = self._sequence + 1 & 255
        self._send(kind)

    def _begin_count(self) -> None:
        """The board counts differently: say hello, and go on with the next number."""
        self._send("h", PROTOCOL)
        self._sequence = self._sequence + 1 & 255

    def hello(self) -> Hello:
        """Begin the talk."""
        fields = self.command("h", PROTOCOL, wants="h")[-1].fields
        if fields[0] != PROTOCOL:
            older = isinstance(fields[0], int) and fields[0] < PROTOCOL
            cure = "load the firmware again" if older else "update Reedway on this computer"
            raise ReedwayError(f"the board speaks protocol {fields[0]}, this Reedway {PROTOCOL}; {cure}")
        cause, fault, at, mode = (int(value) for value in fields[4:])
        return Hello(str(fields[1]), str(fields[2]), str(fields[3]), cause, fault, at, mode)

    def status(self) -> Status:
        return Status(*self.command("q", wants="q")[-1].numbers())

    def state(self, birth: bool) -> State:
        """A snapshot: as it is now, or of the first look after the reset."""
        parts = [line.numbers() for line in self.command("s", *([0] if birth else []), wants="s")]
        end = self._clock() + STATE_S
        while not self._is_whole(parts):
            if self._clock() > end:
                raise ReedwayError("the board's state did not come whole; try again")
            parts += [line.numbers() for line in self.poll() if line.kind == "s"]
        record, at = parts[0][:2]
        numbers = [value for part in sorted(parts, key=lambda part: part[3]) for value in part[4:]]
        return State(record, at, numbers)

    @staticmethod
    def _is_whole(parts: list[tuple[int, ...]]) -> bool:
        return sum(len(part) - 4 for part in parts) >= parts[0][2]

    def confirm(self, number: int) -> None:
        """We have all records before this one; send on from here."""
        self._write(encode("k", 0, number))

    def watch(self) -> None:
        """In maintenance: what was switched on may stay on for WATCH_MS more. From any thread."""
        self._write(encode("w", 0))

    def order(self, order: int, value: int) -> None:
        """One order of the operator."""
        self.command("o", order, value)

    def close(self) -> None:
        self._port.close()
