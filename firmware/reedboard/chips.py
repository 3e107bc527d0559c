"""Register addresses of the two chips, and the one door to them.

Sources: RP2040 data sheet, sections 2.3.1.7 (SIO), 3.7 (PIO), 4.7.6 (watchdog), 2.19.6 (IO, pads);
RP2350 data sheet, sections 3.1.11, 11.7, 12.9.7, 9.11.
"""

import sys

from machine import mem32

__all__ = ["IS_RP2350", "mem32"]

IS_RP2350 = "RP2350" in getattr(sys.implementation, "_machine", "")

SIO = 0xD0000000
GPIO_IN = SIO + 0x04
# The RP2350 has 48 GPIO in its larger package, so each register of the RP2040 became two.
GPIO_OUT_XOR = SIO + (0x28 if IS_RP2350 else 0x1C)

PIO0 = 0x50200000
PIO1 = 0x50300000

WATCHDOG = 0x400D8000 if IS_RP2350 else 0x40058000
SCRATCH = WATCHDOG + 0x0C  # eight words that outlive every reset but power-off; the boot ROM uses 2 to 7
