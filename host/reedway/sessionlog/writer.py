"""Appends to a session log and flushes as things happen; what was written before is never touched."""

from __future__ import annotations

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


def text_line(text: str) -> str:
    """The line of what the board printed and is no record of ours."""
    return f'{{"t":null,"kind":"{TEXT}","name":"","value":{json.dumps(text, ensure_ascii=False)}}}'


class LogWriter:
    """An open log. A file that exists is gone on with when it is of the same layout; else refused."""

    def __init__(self, path: str | os.PathLike[str], header: Header, codec: Codec) -> None:
        self._codec = codec
        path = os.fspath(path)
        try:
            self._file = open(path, "a+b")  # noqa: SIM115 - open for one evening
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
        self._file.write("".join(line + "\n" for line in lines).encode())
        self._file.flush()

    def records(self, records: Iterable[Record]) -> None:
        """Append what happened."""
        line = self._codec.line
        self._write(line(*record) for record in records)

    def state(self, t: int, snapshot: list[int]) -> None:
        """Append a snapshot: after a gap, or at the beginning."""
        self._write([state_line(t, snapshot)])

    def text(self, text: str) -> None:
        """Append what the board printed."""
        self._write([text_line(text)])

    def close(self) -> None:
        self._file.close()

    def __enter__(self) -> LogWriter:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
