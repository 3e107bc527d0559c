"""First words with the emulated board."""

from __future__ import annotations

from typing import Any

from pico.bench import gpio
from pico.chip import Chip
from reedlogic import words as w
from reedway.board.protocol import PROTOCOL

ARM, HOLD = gpio("arm"), gpio("feed 1")
BOOT_MS = 5000
POWER_ON, BITE, SOFT = 0, 1, 2


def booted(chip: Chip) -> Chip:
    """Wait until scans run, then ask who it is."""
    seen = len(chip.edges)
    assert chip.until(lambda: any(edge.gpio == ARM for edge in chip.edges[seen:]), BOOT_MS, 20), chip.texts
    chip.sequence = 0
    chip.lines.clear()
    chip.say("h", PROTOCOL)
    assert chip.until(lambda: any(line.kind == "h" for line in chip.lines), 300)
    return chip


def hello(chip: Chip) -> tuple[Any, ...]:
    """Fields of the last hello."""
    return [line.fields for line in chip.lines if line.kind == "h"][-1]


def started(chip: Chip) -> Chip:
    """A show that runs: turnout known, block fed."""
    chip.say("o", w.O_START, w.NONE)
    assert chip.until(lambda: chip.is_high(HOLD), 300)
    chip.run(5)
    return chip
