"""The first line of a session log: which layout, which firmware, and the clock time at which t was 0."""

from __future__ import annotations

import json
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any

from reedway.problems import ReedwayError

FORMAT = 1
_BEGINS = 'a session log begins with a line {"reedway_log":1,...}'
_KEYS = ("layout", "layout_sha256", "firmware", "started")


INPUTS = "inputs"  # names in the order of a state's contacts: who was closed when the log began


@dataclass(frozen=True)
class Header:
    """What the first line says; `started` is ISO 8601, the clock time at which the board's t was 0."""

    layout: str
    layout_sha256: str
    firmware: str
    started: str
    more: dict[str, Any] = field(default_factory=dict)  # what else stands there, such as "note"

    def line(self) -> str:
        """The first line, without its end."""
        fields = {"reedway_log": FORMAT} | {key: getattr(self, key) for key in _KEYS} | self.more
        return json.dumps(fields, separators=(",", ":"), ensure_ascii=False)

    def of_layout(self, layout: str, layout_sha256: str, firmware: str) -> Header:
        """The header of a replay through this layout and firmware."""
        return replace(self, layout=layout, layout_sha256=layout_sha256, firmware=firmware)

    def clock(self, t: int) -> str:
        """Clock time of board time t with its milliseconds, such as 19:34:12.345."""
        try:
            moment = datetime.fromisoformat(self.started) + timedelta(milliseconds=t)
        except (ValueError, OverflowError):  # no clock time known: the time since t was 0
            seconds, ms = divmod(t, 1000)
            return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}.{ms:03d}"
        return f"{moment:%H:%M:%S}.{moment.microsecond // 1000:03d}"

    def date(self, t: int) -> str:
        """The day of board time t, such as 2026-11-25; empty where no clock time is known."""
        try:
            return f"{datetime.fromisoformat(self.started) + timedelta(milliseconds=t):%Y-%m-%d}"
        except (ValueError, OverflowError):
            return ""


def parse_header(path: str, raw: bytes) -> Header:
    """The header in the first line of a file, or one line that says why this is no log we can read."""
    if not raw:
        raise ReedwayError(f"{path}:1: the file is empty; {_BEGINS}")
    try:
        fields = json.loads(raw.decode("utf-8"))
    except (UnicodeDecodeError, ValueError, RecursionError):
        fields = None
    if not isinstance(fields, dict) or "reedway_log" not in fields:
        raise ReedwayError(f"{path}:1: not a session log; {_BEGINS}")
    number = fields["reedway_log"]
    if not isinstance(number, int) or isinstance(number, bool) or number < 1:
        raise ReedwayError(f"{path}:1: not a session log: its format is {number!r}; known is {FORMAT}")
    if number > FORMAT:
        raise ReedwayError(
            f"{path}:1: written in format {number} by a newer Reedway; "
            f"this one reads format {FORMAT}; update Reedway"
        )
    for key in _KEYS:
        if not isinstance(fields.get(key), str):
            raise ReedwayError(
                f"{path}:1: the first line of the log lacks '{key}'; it was damaged or written by hand"
            )
    more = {key: value for key, value in fields.items() if key not in ("reedway_log", *_KEYS)}
    return Header(**{key: fields[key] for key in _KEYS}, more=more)
