"""A small good layout file, and how to spoil it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from reedway.layout.load import load_bytes
from reedway.layout.model import Layout
from reedway.layout.yamltext import CoreLoader, Source
from reedway.problems import Complaint, LayoutError

CONFIG = Path(__file__).resolve().parents[2] / "config"
EXAMPLES = sorted(CONFIG.glob("*.yaml"))

SMALL = """\
reedway: 1
layout: Lindholt loop
board: pico
sensors:
  N1: {terminal: sensor 1}
  N2: {terminal: sensor 2, rearm: 3 s, at_rest: never}
switches:
  siding: {terminal: panel 1, on: in service, off: out of service}
turnouts:
  exit: {positions: [A, B], coils: [coil 1, coil 2]}
  entry: {positions: [A, B], coils: [coil 3, coil 4]}
gangs:
  ends: [exit, entry]
blocks:
  Hold: {terminal: feed 1}
places:
  H: {block: Hold}
relays:
  CALL: {}
timers:
  let out: 4 s
rules:
  - at: N1 hit
    while: [siding in service]
    do: [throw ends to B, pull in CALL]
starts:
  one train:
    trains: [H]
    relays_in: [CALL]
    go: [Hold]
"""


def loaded(text: str) -> Layout:
    return load_bytes("my.yaml", text.encode())


def complaints(text: str | bytes) -> list[Complaint]:
    """What the loader says; fails when it says nothing."""
    try:
        load_bytes("my.yaml", text if isinstance(text, bytes) else text.encode())
    except LayoutError as error:
        assert error.complaints
        return error.complaints
    raise AssertionError("the loader found nothing wrong")


def only(text: str | bytes) -> Complaint:
    found = complaints(text)
    assert len(found) == 1, "\n".join(map(str, found))
    return found[0]


def spoiled(old: str, new: str, text: str = SMALL) -> str:
    assert text.count(old) == 1, old
    return text.replace(old, new)


def line_of(part: str, text: str = SMALL) -> int:
    """Line of the first occurrence, counted by hand."""
    return text[: text.index(part)].count("\n") + 1


def as_data(text: str) -> Any:
    """The file as an editor sees it."""
    loader = CoreLoader(text)
    loader.source = Source("", b"", text)
    return loader.get_single_data()
