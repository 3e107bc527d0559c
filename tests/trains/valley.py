"""A small layout of the valley with trains and lengths; the line and its figures are invented."""

from __future__ import annotations

from reedway.layout.load import load_bytes
from reedway.layout.model import Layout
from reedway.problems import Complaint, LayoutError

VALLEY = """\
reedway: 1
layout: Lindholt loop
board: pico
sensors:
  N1: {terminal: sensor 1}
  N2: {terminal: sensor 2}
  N3: {terminal: sensor 3}
turnouts:
  exit: {positions: [A, B], coils: [coil 1, coil 2], power_routing: true}
  entry: {positions: [A, B], coils: [coil 3, coil 4]}
gangs:
  ends: [exit, entry]
blocks:
  Mill: {terminal: feed 1}
places:
  track A: {}
  Mill Halt: {block: Mill}
rules:
  - at: N1 hit
    do: [throw ends to B]
  - at: N2 hit
    do: [Mill stops]
vehicles:
  railcar body: {length: 300 mm, motor: true, pick_ups: 30 mm to 270 mm, magnet: 60 mm}
  engine: {length: 120 mm, motor: true, pick_ups: 15 mm to 105 mm, magnet: 30 mm, magnet_fits: 9 mm to 99 mm}
  car: {length: 130 mm}
trains:
  railcar:
    vehicles: [railcar body]
    speed: 250 mm/s to 360 mm/s
    when_cut: runs on so far
    run_on: 45 mm to 60 mm
  goods train:
    vehicles: [engine, car, car, car, car, car, car]
    speed: 150 mm/s to 240 mm/s
    acceleration: 200 mm/s2
    when_cut: runs on so long
    run_on_time: 200 ms
lengths:
  track A: {length: 2.2 m, dead_end: 550 mm, fouling_point: 20 mm, cut_by: N1}
  Mill Halt: {length: 1.6 m, dead_end: 500 mm}
  exit: {length: 250 mm}
spots:
  N1: {place: track A, beyond_gap: 50 mm, clear_of: entry}
  N2: {place: Mill Halt, set_back: 1080 mm}
  N3: {clear_of: exit, beyond: 1 m, next_spot: 700 mm}
"""


def spoiled(*changes: tuple[str, str]) -> str:
    """The layout with each first text, which is there once, put otherwise."""
    text = VALLEY
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def loaded(text: str = VALLEY) -> Layout:
    return load_bytes("my.yaml", text.encode())


def complaints(text: str) -> list[Complaint]:
    """What the loader says; none when it says nothing."""
    try:
        loaded(text)
    except LayoutError as error:
        return error.complaints
    return []


def line_of(part: str, text: str = VALLEY) -> int:
    return text[: text.index(part)].count("\n") + 1
