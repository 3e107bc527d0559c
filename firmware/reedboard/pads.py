"""Erratum E9 of the RP2350; boot.py imports this after it has made every pin an input.

With its input enabled a pin of that chip can hold itself at 2.2 V against its pull-down, and so a transistor
half on: here each pad's input enable goes off. What reads a pin later turns that one on again.
"""

import sys

from machine import mem32

PADS_CLEAR = 0x40038000 + 0x3000  # the copy of the pads' registers in which a write clears bits
INPUT_ENABLE = 0x40

if "RP2350" in sys.implementation._machine:
    for gpio in range(29):
        mem32[PADS_CLEAR + 4 + 4 * gpio] = INPUT_ENABLE
