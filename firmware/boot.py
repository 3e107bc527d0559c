"""First thing after every reset, also a soft one: no break-in, every pin an input, and why we are here.

Imports nothing of Reedway, so that it works whatever else is on the board. Its numbers of marks and causes
are those of reedboard/marks.py; a test compares them.
"""

import micropython

micropython.kbd_intr(-1)  # Ctrl-C on the line is a byte like any other

import sys  # noqa: E402
import time  # noqa: E402

from machine import Pin, mem32  # noqa: E402

# A coil pin that a soft reset left high goes low here: an input with the pull-down of the reset state.
for _gpio in range(23):
    Pin(_gpio, Pin.IN, Pin.PULL_DOWN)
for _gpio in (26, 27, 28):
    Pin(_gpio, Pin.IN, Pin.PULL_DOWN)

_IS_RP2350 = "RP2350" in sys.implementation._machine
if _IS_RP2350:
    # Erratum E9: with its input enabled a pin can hold itself at 2.2 V against its pull-down.
    for _gpio in range(29):
        if _gpio < 23 or _gpio > 25:
            mem32[0x40038004 + 4 * _gpio + 0x3000] = 0x40  # pads: clear input enable

_SCRATCH = 0x400D800C if _IS_RP2350 else 0x4005800C
_word = mem32[_SCRATCH]
_last_scan = mem32[_SCRATCH + 4]
_now = time.ticks_ms() & 0x1FFFFFFF  # type: ignore[operator] # the ring of the scans' time
_mark = _word >> 12 & 15
if _word >> 16 != 0x2D57:
    reset_cause = 0  # power-on
elif _mark == 2:
    reset_cause = 3  # reset asked for
elif _mark == 3:
    reset_cause = 4  # maintenance asked for
elif _now >= _last_scan:
    reset_cause = 2  # soft reset: the clock went on
else:
    reset_cause = 1 if _mark == 1 else 5  # watchdog bite, or unknown
kept_fault = _word & 0xFFF if _word >> 16 == 0x2D57 else 0
mem32[_SCRATCH] = 0x2D57 << 16 | kept_fault
mem32[_SCRATCH + 4] = 0

# The white button, held while the board's LED is lit in the first second: maintenance, whatever is on the
# board. (Held before that, the chip itself shows up as a drive.)
maintenance = reset_cause == 4
_led = Pin(25, Pin.OUT, value=1)
if not maintenance and reset_cause != 2:
    import rp2

    for _ in range(20):
        if rp2.bootsel_button():
            maintenance = True
            break
        time.sleep_ms(50)
_led.value(0)
