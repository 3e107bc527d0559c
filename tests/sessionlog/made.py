"""A small invented layout's names and a few lines of a log, for tests that need no real layout."""

from __future__ import annotations

import json
from pathlib import Path
from types import SimpleNamespace

from reedway.sessionlog.header import Header

HEADER = Header("Lindholt Valley", "ab" * 32, "0.1.0", "2026-11-25T19:30:00+01:00")
NAMES = SimpleNamespace(
    inputs={0: "N1", 1: "Ö sensor", 30: "go on switch"},
    relays=[f"R{i}" for i in range(40)],
    blocks=["Hold", "track feed"],
    places=["H", "on"],
    turnouts=["exit", "entry"],
    timers=["let out"],
    lamps=["L1"],
    notes=['said "so"', "twice", "twice"],
    cautions=["held up"],
    faults=["both blocks taken"],
    starts=["three trains"],
    supplies=[""],
    coils=["coil 1", "coil 2", "coil 3", "coil 4"],
    standing=["CALL in (line 12)"],
)


def record(t: int, kind: str, name: str, value: object = 0) -> str:
    return json.dumps({"t": t, "kind": kind, "name": name, "value": value}, separators=(",", ":"))


def write_log(path: Path, *lines: str, header: Header = HEADER, end: str = "\n") -> Path:
    path.write_text("\n".join([header.line(), *lines]) + end, encoding="utf-8")
    return path
