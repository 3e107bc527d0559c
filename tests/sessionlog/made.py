"""A small invented layout's names and a few lines of a log, for tests that need no real layout."""

from __future__ import annotations

import json
from pathlib import Path

from reedway.boardfile.names import Names
from reedway.sessionlog.header import Header

HEADER = Header("Lindholt Valley", "ab" * 32, "0.1.0", "2026-11-25T19:30:00+01:00")
NAMES = Names(
    layout="Lindholt Valley",
    inputs=["N1", "Ö sensor", *[""] * 28, "go on switch"],
    relays=[f"R{i}" for i in range(40)],
    blocks=["Hold", "track feed"],
    places=["H", "on"],
    turnouts=[["exit", "A", "B"], ["entry", "A", "B"]],
    timers=["let out"],
    lamps=["L1"],
    notes=['said "so"', "twice", "twice"],
    cautions=["held up"],
    faults=["both blocks taken"],
    starts=["three trains"],
    coils=["exit to A", "", "exit to B", "entry to A", "entry to B"],
    standing=[["CALL in", 12]],
)


def record(t: int, kind: str, name: str, value: object = 0) -> str:
    return json.dumps({"t": t, "kind": kind, "name": name, "value": value}, separators=(",", ":"))


def write_log(path: Path, *lines: str, header: Header = HEADER, end: str = "\n") -> Path:
    path.write_text("\n".join([header.line(), *lines]) + end, encoding="utf-8")
    return path
