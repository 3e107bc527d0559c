"""A ring of blocks as an ordinary layout: a train enters the next block only when it is empty.

Invented. What it has to come to is counted by hand: the trains keep their order round the ring, so N trains
in K blocks stand in N * C(K, N) ways, and a step is a train with an empty block before it:
N * K * C(K - 2, N - 1) of them. Where every block is full nothing moves.
"""

from __future__ import annotations

from contextlib import ExitStack
from functools import lru_cache
from math import comb
from unittest.mock import patch

from reedway.boardfile.compile import Compiled, compile_layout
from reedway.boardfile.pins import USABLE
from reedway.layout.load import load_bytes

BLOCKS_ON_A_BOARD = len(USABLE) // 2  # a sensor and a feed each


def states_of(blocks: int, trains: int) -> int:
    return trains * comb(blocks, trains)


def transitions_of(blocks: int, trains: int) -> int:
    return trains * blocks * comb(blocks - 2, trains - 1)


def ring_text(blocks: int, trains: int) -> str:
    """The layout file."""
    order = [(i, i % blocks + 1) for i in range(1, blocks + 1)]
    lines = ["reedway: 1", "layout: Ring of blocks", "board: pico", "safe_rules: written"]
    if blocks <= BLOCKS_ON_A_BOARD:
        pins = [f"  sensor {i}: GPIO {USABLE[i - 1]}" for i, _ in order]
        pins += [f"  feed {i}: GPIO {USABLE[-i]}" for i, _ in order]
        lines += ["terminals:", *pins]
    lines.append("sensors:")
    lines += [f"  S{j}: {{terminal: sensor {j}, tail_clear_of: P{i}}}" for i, j in order]
    lines += ["blocks:", *(f"  B{i}: {{terminal: feed {i}}}" for i, _ in order)]
    lines += ["places:", *(f"  P{i}: {{block: B{i}}}" for i, _ in order)]
    lines += ["relays:", *(f"  T{i}: {{}}" for i, _ in order)]
    lines += ["track:", *(f"  P{i}: {{to: P{j}, entrance: S{i}}}" for i, j in order), "rules:"]
    for i, j in order:
        lines += [f"  - at: S{j} hit", f"    while: [T{i} in, T{j} out]"]
        lines += [f"    do: [drop out T{i}, pull in T{j}]"]
    for i, j in order:
        lines += [f"  - as_soon_as: [T{i} in, T{j} out]", f"    do: [B{i} goes]"]
        lines += [f"  - as_soon_as: [T{i} in, T{j} in]", f"    do: [B{i} stops]"]
        lines += [f"  - as_soon_as: [T{i} out]", f"    do: [B{i} stops]"]
    at = ", ".join(f"P{i}" for i in range(1, trains + 1))
    relays = ", ".join(f"T{i}" for i in range(1, trains + 1))
    lines += ["starts:", f"  all: {{trains: [{at}], relays_in: [{relays}]}}"]
    return "\n".join(lines) + "\n"


@lru_cache(maxsize=200)
def ring(blocks: int, trains: int) -> Compiled:
    """The ring through loader and compiler, as `prove` takes it."""
    with ExitStack() as stack:
        if blocks > BLOCKS_ON_A_BOARD:  # no board has the pins; the rules are the same
            for module in ("reedway.layout.load", "reedway.boardfile.compile"):
                stack.enter_context(patch(f"{module}.check_pins", lambda layout: []))
            stack.enter_context(patch("reedway.boardfile.compile.pin_rows", lambda numbering: []))
        return compile_layout(load_bytes("ring.yaml", ring_text(blocks, trains).encode()))
