"""The Lindholt Valley line in miniature, as YAML: one thing of every kind, with rules put in by each test."""

from __future__ import annotations

from functools import cache

from reedway.boardfile.compile import Compiled, compile_layout
from reedway.layout.load import load_bytes
from reedway.layout.model import Layout
from reedway.problems import LayoutError

HEAD = """\
reedway: 1
layout: Valley
board: pico
sensors:
  N1: {terminal: sensor 1}
  N2: {terminal: sensor 2, at_rest: never}
  N3: {terminal: sensor 3, rearm: 0 s}
detectors:
  siding full: {terminal: sensor 4}
switches:
  siding: {terminal: panel 1, on: in service, off: out of service}
  third train: {terminal: panel 2, on: present, off: absent}
buttons:
  hand go: {terminal: panel 3}
  halt: {terminal: panel 4, order: stop}
contacts:
  exit contact: {terminal: sensor 5}
track_power: {terminal: sensor 6}
supplies:
  bank: {recharge: 1500 ms, lead: 20 ms, trail: 30 ms, terminal: supply 1}
turnouts:
  exit: {positions: [A, B], coils: [coil 1, coil 2], supply: bank, contacts: {B: exit contact}}
  entry: {positions: [A, B], coils: [coil 3, coil 4], pulse: 100 ms, relay_operate: 10 ms}
  yard: {coils: [coil 5, coil 6]}
gangs:
  ends: [exit, entry]
blocks:
  Hold: {terminal: feed 1}
  Loop: {terminal: feed 2}
track_feed: {terminal: track feed}
places:
  H: {block: Hold}
  L: {block: Loop}
  Yard track: {}
relays:
  CALL: {}
  SENT: {safe: in}
  FULL: {pulled_in_while: [siding full occupied, CALL in]}
timers:
  let out: 4 s
  watch: 2 min
lamps:
  L1: {terminal: lamp 1}
  L2: {terminal: lamp 2, shows: H goes}
"""
STARTS = """\
starts:
  two: {trains: [H, L], switches: [siding in service], relays_in: [CALL], turnouts: [ends to B], go: [Hold]}
"""


def text_of(rules: str, head: str = HEAD) -> str:
    body = f"rules:\n{rules}" if rules else ""
    return head + body + STARTS


def layout_of(rules: str, head: str = HEAD) -> Layout:
    return load_bytes("valley.yaml", text_of(rules, head).encode())


def compiled(rules: str = "", head: str = HEAD) -> Compiled:
    """Compiled once for all tests: do not change it."""
    return _compiled(text_of(rules, head))


@cache
def _compiled(text: str) -> Compiled:
    return compile_layout(load_bytes("valley.yaml", text.encode()))


def complaints(rules: str, head: str = HEAD) -> list[str]:
    """`line: message` of each complaint, lines counted from the first line of the rules."""
    first = head.count("\n") + 1  # the line `rules:`
    try:
        compile_layout(layout_of(rules, head))
    except LayoutError as error:
        return [f"{c.line - first}: {c.message}" for c in error.complaints]
    return []
