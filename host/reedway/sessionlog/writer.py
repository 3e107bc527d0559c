"""Appends to a session log and flushes as things happen; what was written before is never touched."""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Iterable
from types import TracebackType

from reedway.problems import ReedwayError
from reedway.sessionlog.header import Header, parse_header
from reedway.sessionlog.kinds import STATE, TEXT
from reedway.sessionlog.names import Codec

Record = tuple[int, int, int, int]  # t, kind, which, value


def state_line(t: int, snapshot: list[int]) -> str:
    """The line of a snapshot, from which a replay can begin."""
    numbers = ",".join(map(str, snapshot))
    return f'{{"t":{t},"kind":"{STATE}","name":"","value":[{numbers}]}}'


def text_line(text: str, name: str = "") -> str:
    """The line of what the board printed and is no record of ours; with a name, what the computer remarks."""
    return f'{{"t":null,"kind":"{TEXT}","name":"{name}","value":{json.dumps(text, ensure_ascii=False)}}}'


class LogWriter:
    """An open log. A file that exists is gone on with when it is of the same layout; else refused."""

    def __init__(self, path: str | os.PathLike[str], header: Header, codec: Codec) -> None:
        self._codec = codec
        self._path = path = os.fspath(path)
        try:
            self._file = open(path, "a+b", buffering=0)  # noqa: SIM115 - open for one evening
            if self._file.tell():
                self._go_on(path, header)
            else:
                self._write([header.line()])
        except OSError as problem:
            raise ReedwayError(f"{path}: cannot be written: {problem.strerror}") from None

    def _go_on(self, path: str, header: Header) -> None:
        self._file.seek(0)
        try:
            old = parse_header(path, self._file.readline(1 << 20))
            if old.layout_sha256 != header.layout_sha256:
                raise ReedwayError(f"{path}: is a log of another layout ({old.layout}); choose another file")
        except ReedwayError:
            self._file.close()
            raise
        self._file.seek(-1, os.SEEK_END)
        if self._file.read(1) != b"\n":  # torn by whoever wrote it last
            self._file.write(b"\n")

    def _write(self, lines: Iterable[str]) -> None:
        """All lines, or on a full disk none of them: what stood before stays whole."""
        data = "".join(line + "\n" for line in lines).encode()
        size = self._file.seek(0, os.SEEK_END)
        try:
            while data:
                data = data[self._file.write(data) or 0 :]
        except OSError as problem:
            with contextlib.suppress(OSError):
                self._file.truncate(size)
            raise ReedwayError(
                f"{self._path}: cannot be written: {problem.strerror}; what was written before is whole; "
                "make room and begin a new log, the board keeps its last records until then"
            ) from None

    def records(self, records: Iterable[Record]) -> None:
        """Append what happened."""
        line = self._codec.line
        self._write(line(*record) for record in records)

    def state(self, t: int, snapshot: list[int]) -> None:
        """Append a snapshot: after a gap, or at the beginning."""
        self._write([state_line(t, snapshot)])

    def text(self, text: str, name: str = "") -> None:
        """Append what the board printed, or with a name a remark of the computer (clocks.py)."""
        self._write([text_line(text, name)])

    def close(self) -> None:
        self._file.close()

    def __enter__(self) -> LogWriter:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
