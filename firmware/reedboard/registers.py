"""Lamps and panel on shift registers: two state machines shift, the scan only hands over and takes a word."""

import rp2
from machine import Pin

TYPE_CHECKING = False
if TYPE_CHECKING:
    from rp2.asm_pio import (
        in_,
        jmp,
        label,
        noblock,
        null,
        out,
        pins,
        pull,
        push,
        set,
        wrap,
        wrap_target,
        x,
        x_dec,
    )

SHIFT_HZ = 1_000_000  # half a bit is 2 us: slow enough for any register and half a metre of ribbon
LAMP_MACHINE, PANEL_MACHINE = 4, 5  # on the second block; the first is the one-shot's alone


def lamp_shift() -> None:
    """32 bits out, highest first: bit 0 ends at the first output of the first register; then latch."""
    wrap_target()
    pull().side(0)
    set(x, 31).side(0)
    label("bit")
    out(pins, 1).side(0)[1]
    jmp(x_dec, "bit").side(1)[1]
    set(pins, 1).side(0)[1]
    set(pins, 0).side(0)
    wrap()


def panel_shift() -> None:
    """A word asks for it: load, then 24 bits in; the bit that comes first becomes bit 0."""
    wrap_target()
    pull().side(0)
    set(pins, 0).side(0)[1]
    set(pins, 1).side(0)
    set(x, 23).side(0)
    label("bit")
    in_(pins, 1).side(0)[1]
    jmp(x_dec, "bit").side(1)[1]
    in_(null, 8).side(0)
    push(noblock).side(0)
    wrap()


def lamp_program():  # type: ignore[no-untyped-def]
    """Data: out pin; clock: side pin; latch: set pin."""
    return rp2.asm_pio(
        out_init=rp2.PIO.OUT_LOW,
        set_init=rp2.PIO.OUT_LOW,
        sideset_init=rp2.PIO.OUT_LOW,
        out_shiftdir=rp2.PIO.SHIFT_LEFT,
    )(lamp_shift)


def panel_program():  # type: ignore[no-untyped-def]
    """Data: in pin; clock: side pin; latch (low loads): set pin."""
    return rp2.asm_pio(
        set_init=rp2.PIO.OUT_HIGH,
        sideset_init=rp2.PIO.OUT_LOW,
        in_shiftdir=rp2.PIO.SHIFT_RIGHT,
    )(panel_shift)


class Lamps:
    """Output registers."""

    def __init__(self, data: int, clock: int, latch: int) -> None:
        self.machine = rp2.StateMachine(
            LAMP_MACHINE,
            lamp_program(),
            freq=SHIFT_HZ,
            out_base=Pin(data),
            sideset_base=Pin(clock),
            set_base=Pin(latch),
        )
        self.machine.active(1)
        self.show(0)

    def show(self, word: int) -> None:
        """Light what has a 1. Four words may wait; lamps change less often."""
        if self.machine.tx_fifo() < 4:
            self.machine.put(word)


class Panel:
    """Input registers. A word asks for a sample, here the first; inputs.py takes it and asks for the next."""

    def __init__(self, data: int, clock: int, latch: int) -> None:
        self.machine = rp2.StateMachine(
            PANEL_MACHINE,
            panel_program(),
            freq=SHIFT_HZ,
            in_base=Pin(data, Pin.IN, Pin.PULL_UP),
            sideset_base=Pin(clock),
            set_base=Pin(latch),
        )
        self.machine.active(1)
        self.machine.put(0)
