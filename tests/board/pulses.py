"""Runs the one-shot's assembled words in an independent emulator of the state machine (package pioemu)."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from functools import cache

import pioemu

from board import pioasm

pioasm.install()

from reedboard import oneshot  # noqa: E402 - the board's modules must be importable first

CYCLES_MS = oneshot.TICKS_HZ // 1000
FIRST_GPIO = 2
COILS = 6


@cache
def program(coils: int = COILS) -> pioasm.Program:
    """The words from the firmware's own source."""
    assembled = oneshot.assemble(coils)
    assert isinstance(assembled, pioasm.Program)
    return assembled


@dataclass(frozen=True)
class Change:
    """The pins from this cycle on."""

    at: int
    pins: int


@dataclass(frozen=True)
class Run:
    """What the pins did while the words were worked on."""

    changes: list[Change]
    idle_at: int  # the cycle at which the machine waits for a word again

    def pulses(self) -> list[tuple[int, int, int]]:
        """(pins, begin, end) of each stretch with a pin high."""
        found = []
        for i, change in enumerate(self.changes):
            end = self.changes[i + 1].at if i + 1 < len(self.changes) else self.idle_at
            if change.pins:
                found.append((change.pins, change.at, end))
        return found


def run(words: list[int], coils: int = COILS, garbage: int = 0) -> Run:
    """Hand over all words at once (more than the firmware ever does) and run until idle again."""
    assembled = program(coils)
    options = assembled.options
    state = pioemu.State(transmit_fifo=deque(words), x_register=garbage, y_register=garbage)
    changes: list[Change] = []
    pins = 0
    for _before, after in pioemu.emulate(
        assembled.words,
        stop_when=lambda _opcode, now: now.program_counter == 0 and not now.transmit_fifo,
        initial_state=state,
        shift_isr_right=options["in_shiftdir"] == pioasm.Pio.SHIFT_RIGHT,
        shift_osr_right=options["out_shiftdir"] == pioasm.Pio.SHIFT_RIGHT,
        out_base=FIRST_GPIO,
        out_count=len(options["out_init"]),
        wrap_target=assembled.wrap_target,
        wrap_top=assembled.wrap,
    ):
        if after.pin_values != pins:
            pins = after.pin_values
            # pioemu adds an instruction's delay to its end; the pins change in its first cycle
            changes.append(Change(after.clock, pins))
        state = after
    return Run(changes, state.clock)
