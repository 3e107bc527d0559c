"""The one-hot one-shot: a state machine that raises one coil pin, counts, lowers it, and then pauses.

The processor hands over one word: coil index in bits 0 to 3, milliseconds - 1 in bits 4 to 11; the rest is
ignored. Whatever the word, at most one pin goes high, for 1 to 256 ms, and then eight times as long none.
It needs nothing more from the processor: a hang, an endless loop or interrupts off change nothing.
What would break it is banned by tests/board/test_source_bans.py.
"""

import rp2
from machine import Pin

from reedlogic.bare import bare, ptr32

from .chips import PIO0, mem32

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

TICKS_HZ = 256_000  # 256 cycles a millisecond; 125 and 150 MHz divide by it exactly in 1/256
TICKS_MAX = 256  # milliseconds: 8 bits, counted from 1
COILS_MAX = 14
STATE_MACHINE = 0
# Words of the PIO's registers, from its first: FIFO states, what state machine 0 takes, the levels that the
# block gives its pins, where state machine 0 stands.
FSTAT, TXF0, DBG_PADOUT, SM0_ADDR = 1, 4, 15, 53
TX0_EMPTY = 24  # bit of FSTAT


def one_shot() -> None:
    """The program, 30 instructions. Cycles are 1/256 ms; [31] makes an instruction last 32 of them."""
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
    nop()[31]
    nop()[31]
    nop()[31]
    nop()[31]
    nop()[31]
    nop()[31]
    jmp(x_dec, "pulse")[31]
    label("pause")
    out(pins, 2)  # lower: the 16 bits that are left are all 0, two for each of 8 rounds
    mov(x, y)
    label("round")
    nop()[31]
    nop()[31]
    nop()[31]
    nop()[31]
    nop()[31]
    nop()[31]
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


@bare
def word(index: int, pulse_ms: int) -> int:
    """What is handed over for one pulse."""
    return index | ((pulse_ms - 1) << 4)


class OneShot:
    """Coil pins first_gpio and up. They become outputs here, low, and no other part touches them."""

    def __init__(self, first_gpio: int, coils: int) -> None:
        self.machine = rp2.StateMachine(
            STATE_MACHINE, assemble(coils), freq=TICKS_HZ, out_base=Pin(first_gpio)
        )
        self.machine.active(1)
        self.registers = PIO0
        self.home = -1  # where it waits for a word

    def find_home(self) -> None:
        """Before the first word it does nothing but wait for one."""
        self.home = mem32[PIO0 + 4 * SM0_ADDR]

    def is_high(self) -> bool:
        """True while a pin is high: there is no other program in this block."""
        return mem32[PIO0 + 4 * DBG_PADOUT] != 0

    def fire(self, index: int, pulse_ms: int) -> bool:
        """Hand over one pulse; False, and nothing, while another word waits or is worked on."""
        return hand_over(self.registers, self.home, word(index, pulse_ms)) != 0


@bare
def hand_over(registers: ptr32, home: int, given: int) -> int:
    """Give the state machine a word if it is at home and none waits for it; 1 when it was given."""
    if registers[SM0_ADDR] != home or not (registers[FSTAT] >> TX0_EMPTY) & 1:
        return 0
    registers[TXF0] = given
    return 1
