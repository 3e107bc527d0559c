"""Reads a session log line by line in constant memory; what cannot be read is said and skipped."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterator
from typing import IO, NamedTuple

from reedway.layout.near import did_you_mean
from reedway.problems import ReedwayError
from reedway.sessionlog.findings import Findings
from reedway.sessionlog.header import Header, parse_header
from reedway.sessionlog.kinds import KINDS, STATE, TEXT
from reedway.sessionlog.progress import Progress

LINE_BYTES_MAX = 1 << 20
T_MS_MAX = 10**12 - 1  # 31 years
_PROGRESS_LINES = 4096
# The form the writer gives a record; anything else goes through the JSON parser.
_PLAIN = re.compile(
    rb'\{"t":(0|[1-9]\d{0,11}),"kind":"([a-z ]+)","name":"([^"\\\x00-\x1f]*)","value":(0|[1-9]\d{0,14})\}'
)


class Line(NamedTuple):
    """One record of a log by its names; `number` is its line in the file, `part` counts the starts afresh."""

    number: int
    part: int
    t: int  # -1 for text from the board, which has no time
    kind: str
    name: str
    value: int | str | list[int]


def read_header(path: str | os.PathLike[str]) -> Header:
    """The header alone."""
    reader = LogReader(path)
    reader.close()
    return reader.header


class LogReader:
    """A log: its header at once, then its records by iterating. `findings` fills while it is read."""

    def __init__(self, path: str | os.PathLike[str]) -> None:
        self.path = os.fspath(path)
        self.findings = Findings(self.path)
        self.lines = 0
        try:
            self._file = open(self.path, "rb")  # noqa: SIM115 - closed when the last record is read
            self._bytes = os.fstat(self._file.fileno()).st_size
            self.header: Header = parse_header(self.path, _first_line(self._file, self.path))
        except FileNotFoundError:
            raise ReedwayError(
                f"{self.path}: there is no such file; give the path of a session log"
            ) from None
        except OSError as problem:
            raise ReedwayError(f"{self.path}: cannot be read: {problem.strerror}") from None

    def close(self) -> None:
        """For who does not read the records."""
        self._file.close()

    def __iter__(self) -> Iterator[Line]:
        number, part, last, done = 1, 0, -1, 0
        with self._file, Progress(f"reading {os.path.basename(self.path)}", self._bytes) as progress:
            while raw := self._file.readline(LINE_BYTES_MAX):
                number += 1
                done += len(raw)
                if number % _PROGRESS_LINES == 0:
                    progress.at(done)
                line = self._parse(raw, number, part)
                if line is None:
                    continue
                if line.t >= 0:
                    if line.kind == STATE:
                        part += 1
                    elif line.t < last:
                        self.findings.add(
                            number, f"time goes back from {last} to {line.t} ms without a state record"
                        )
                        part += 1
                    last = line.t
                    if line.part != part:
                        line = line._replace(part=part)
                yield line
        self.lines = number

    def _parse(self, raw: bytes, number: int, part: int) -> Line | None:
        match = _PLAIN.fullmatch(raw.rstrip(b"\r\n"))
        if match is not None:
            t, kind, name, value = match.groups()
            try:
                line = Line(number, part, int(t), kind.decode(), name.decode(), int(value))
            except UnicodeDecodeError:
                self.findings.add(number, "not UTF-8 text; this line is left out")
                return None
            if line.kind in KINDS and line.kind != STATE:
                return line
        return self._parse_slowly(raw, number, part)

    def _parse_slowly(self, raw: bytes, number: int, part: int) -> Line | None:
        """A state, a text, another way of writing a record, or something wrong, which is said."""
        try:
            fields = json.loads(raw.decode("utf-8"))
        except (UnicodeDecodeError, ValueError, RecursionError):
            if not raw.endswith(b"\n") and len(raw) < LINE_BYTES_MAX:
                self.findings.notice(number, "the last line is torn and left out; all before it is read")
            else:
                self.findings.add(number, "not a record of a session log; this line is left out")
            return None
        wrong = _what_is_wrong(fields)
        if wrong:
            self.findings.add(number, wrong)
            return None
        t = -1 if fields["t"] is None else fields["t"]
        return Line(number, part, t, fields["kind"], fields["name"], fields["value"])


def _first_line(file: IO[bytes], path: str) -> bytes:
    raw = file.readline(LINE_BYTES_MAX)
    if raw.startswith(b"\xef\xbb\xbf"):
        raise ReedwayError(f"{path}:1: begins with a byte order mark; a session log is UTF-8 without one")
    return raw


def _is_count(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and value >= 0


def _wrong_kind(kind: object) -> str:
    if not isinstance(kind, str):
        return f"the kind is {json.dumps(kind)[:40]}, not a word; this line is left out"
    return f"'{kind[:40]}' is no kind of record; {did_you_mean(kind[:40], [*KINDS, TEXT])}"


def _what_is_wrong(fields: object) -> str:
    """One sentence about a line that is JSON and no record; empty when it is one."""
    if not isinstance(fields, dict) or not {"t", "kind", "name", "value"} <= fields.keys():
        return "a record has t, kind, name and value; this line is left out"
    kind, value = fields["kind"], fields["value"]
    if not isinstance(kind, str) or (kind not in KINDS and kind != TEXT):
        return _wrong_kind(kind)
    if not isinstance(fields["name"], str):
        return "the name is not a text; this line is left out"
    if kind == TEXT:
        is_text = fields["t"] is None and isinstance(value, str)
        return "" if is_text else "a text has t null and a text as its value; this line is left out"
    if not _is_count(fields["t"]) or fields["t"] > T_MS_MAX:
        return f"t is not a whole number of milliseconds up to {T_MS_MAX}; this line is left out"
    if kind == STATE:
        is_list = isinstance(value, list) and all(_is_count(item) for item in value)
        return "" if is_list else "a state is a list of whole numbers; this line is left out"
    return "" if _is_count(value) else "the value is not a whole number; this line is left out"
