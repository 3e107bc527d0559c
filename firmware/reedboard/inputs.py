"""The inputs and the short scan, as instructions of the processor with bare addresses (viper).

The interpreter keeps an address as an object and takes 4 us to read a register; this takes a tenth of that.
"""

from array import array

import micropython
from micropython import const

from .chips import GPIO_IN, GPIO_OUT_XOR, PIO1, SCRATCH

# ruff: noqa: F821 (ptr32 is the compiler's own)

ALL_GPIO = const((1 << 29) - 1)
ALL_PANEL = const((1 << 24) - 1)
PANEL_SCANS = const(3)  # now & this is 0 in every fourth scan, which looks at the panel too
# Places in the table: addresses first.
IN = const(0)
XOR = const(1)
STAMP = const(2)
PIO = const(3)
MASK = const(4)
SEEN = const(5)
ARM = const(6)
PANEL_MASK = const(7)
PANEL = const(8)
PANEL_SEEN = const(9)
# Words of the PIO's registers, from its first: FIFO states, and what state machine 1 takes and gives.
FSTAT = const(1)
TXF1 = const(5)
RXF1 = const(9)
RX1_EMPTY = const(9)  # bit


class Inputs:
    """Levels of all inputs, and whether they are what the logic was given last. Allocates nothing."""

    def __init__(self, terminals) -> None:  # type: ignore[no-untyped-def]
        table = array("I", [0] * 10)
        table[IN], table[XOR], table[STAMP], table[PIO] = GPIO_IN, GPIO_OUT_XOR, SCRATCH + 4, PIO1
        table[MASK] = terminals.input_mask
        table[ARM] = 0 if terminals.is_shadow else terminals.arm
        table[PANEL_MASK] = terminals.panel_mask
        table[SEEN] = ALL_GPIO  # the logic begins with every contact open
        table[PANEL] = table[PANEL_SEEN] = ALL_PANEL
        self.table = table

    @micropython.viper
    def gpio(self) -> int:
        """Levels of all GPIO in one register read."""
        table = ptr32(self.table)
        levels = ptr32(table[IN])[0] & ALL_GPIO
        table[SEEN] = levels
        return levels

    @micropython.viper
    def panel(self) -> int:
        """Levels of the panel inputs, as the last look asked for them; 1 is an open contact."""
        table = ptr32(self.table)
        pio = ptr32(table[PIO])
        if not pio[FSTAT] >> RX1_EMPTY & 1:
            table[PANEL] = pio[RXF1]
            pio[TXF1] = 0
        levels = table[PANEL]
        table[PANEL_SEEN] = levels
        return levels

    @micropython.viper
    def moved(self) -> bool:
        """True when the inputs are not what the logic was given last."""
        table = ptr32(self.table)
        if (ptr32(table[IN])[0] ^ table[SEEN]) & table[MASK]:
            return True
        if table[PANEL_MASK]:
            pio = ptr32(table[PIO])
            if not pio[FSTAT] >> RX1_EMPTY & 1:
                table[PANEL] = pio[RXF1]
                pio[TXF1] = 0
            if (table[PANEL] ^ table[PANEL_SEEN]) & table[PANEL_MASK]:
                return True
        return False

    @micropython.viper
    def quiet(self, now: int) -> bool:
        """A short scan: True when the inputs are what the logic was given last; then it is completed here.

        The arm line moves, and the time is kept as that of a good scan; feeding the watchdog is left.
        """
        table = ptr32(self.table)
        if (ptr32(table[IN])[0] ^ table[SEEN]) & table[MASK]:
            return False
        if not now & PANEL_SCANS and table[PANEL_MASK]:
            pio = ptr32(table[PIO])
            if not pio[FSTAT] >> RX1_EMPTY & 1:
                table[PANEL] = pio[RXF1]
                pio[TXF1] = 0
                if (table[PANEL] ^ table[PANEL_SEEN]) & table[PANEL_MASK]:
                    return False
        if table[ARM]:
            ptr32(table[XOR])[0] = table[ARM]
        ptr32(table[STAMP])[0] = now
        return True

    @micropython.viper
    def toggle(self, mask: int):  # type: ignore[no-untyped-def]
        """Turn these outputs over in one write: no gap in those that stay."""
        ptr32(ptr32(self.table)[XOR])[0] = mask

    @micropython.viper
    def stamp(self, now: int):  # type: ignore[no-untyped-def]
        """Keep the time of a good scan over a reset."""
        ptr32(ptr32(self.table)[STAMP])[0] = now
