"""The one-hot one-shot: a state machine that raises one coil pin, counts, lowers it, and then pauses.

The processor hands over one word: coil index in bits 0 to 3, milliseconds - 1 in bits 4 to 11; the rest is
ignored. Whatever the word, at most one pin goes high, for 1 to 256 ms, and then eight times as long none.
It needs nothing more from the processor: a hang, an endless loop or interrupts off change nothing.
What would break it is banned by tests/board/test_source_bans.py.
"""

import rp2
from machine import Pin

from .chips import SHOT_ADDR, mem32

TYPE_CHECKING = False  # mypy takes it for True; `typing` is not on the board
if TYPE_CHECKING:
    from rp2.asm_pio import (
        in_,
        isr,
        jmp,
        label,
        mov,
        nop,
        not_osre,
        null,
        osr,
        out,
        pins,
        pull,
        set,
        wrap,
        wrap_target,
        x,
        x_dec,
        y,
    )

TICKS_HZ = 64_000  # 64 cycles a millisecond; 125 and 150 MHz divide by it exactly in 1/256
TICKS_MAX = 256  # milliseconds: 8 bits, counted from 1
COILS_MAX = 14
STATE_MACHINE = 0


def one_shot() -> None:
    """The program, 18 instructions. Cycles are 1/64 ms; [31] makes an instruction last 32 of them."""
    wrap_target()
    pull()  # idle: waits here for a word
    set(y, 1)
    mov(isr, y)  # the one hot bit ...
    out(x, 4)
    jmp("shifted")
    label("shift")
    in_(null, 1)  # ... moved up once for each index
    label("shifted")
    jmp(x_dec, "shift")
    out(y, 8)
    mov(x, y)
    mov(osr, isr)
    out(pins, 16)  # raise; a bit beyond the last coil has no pin
    label("pulse")
    nop()[31]
    jmp(x_dec, "pulse")[31]
    label("pause")
    out(pins, 2)  # lower: the 16 bits that are left are all 0, two for each of 8 rounds
    mov(x, y)
    label("round")
    nop()[31]
    jmp(x_dec, "round")[31]
    jmp(not_osre, "pause")
    wrap()


def assemble(coils: int):  # type: ignore[no-untyped-def]
    """The program for so many coil pins."""
    return rp2.asm_pio(
        out_init=(rp2.PIO.OUT_LOW,) * coils,  # type: ignore[arg-type] # the stub knows lists only
        in_shiftdir=rp2.PIO.SHIFT_LEFT,
        out_shiftdir=rp2.PIO.SHIFT_RIGHT,
    )(one_shot)


def word(index: int, pulse_ms: int) -> int:
    """What is handed over for one pulse."""
    return index | (pulse_ms - 1) << 4


class OneShot:
    """Coil pins first_gpio and up. They become outputs here, low, and no other part touches them."""

    def __init__(self, first_gpio: int, coils: int) -> None:
        self.machine = rp2.StateMachine(
            STATE_MACHINE, assemble(coils), freq=TICKS_HZ, out_base=Pin(first_gpio)
        )
        self.machine.active(1)
        self.home = -1  # where it waits for a word; found at the first look, before any word

    def is_idle(self) -> bool:
        """True when no word waits and none is worked on: only then a word may be handed over."""
        address = mem32[SHOT_ADDR]
        if self.home < 0:
            self.home = address
        return address == self.home and not self.machine.tx_fifo()

    def fire(self, index: int, pulse_ms: int) -> None:
        """Hand over one pulse."""
        self.machine.put(word(index, pulse_ms))
