"""Finds out why the board began anew, and starts the scan loop, or in maintenance leaves it at its prompt.

At the prompt outputs are off and there is no watchdog. Until `run` it imports nothing of Reedway: a bad file
must not keep the white button from working. Its numbers of marks and causes are those of reedboard/marks.py;
a test compares them.

boot.py came before, after every reset, also a soft one: no break-in, then every pin an input with the
pull-down of the reset state, so that a coil pin that a soft reset left high goes low. It is short, and has no
comments, because the interpreter compiles a file as a whole before its first line runs, and so long the pin
stays high. What the RP2350 wants besides is in reedboard/pads.py, which it imports after that.
"""

import micropython

micropython.kbd_intr(-1)  # again: the interpreter lets Ctrl-C in anew for each file that it runs

import sys  # noqa: E402
import time  # noqa: E402

from machine import Pin, mem32  # noqa: E402

_SCRATCH = 0x400D800C if "RP2350" in sys.implementation._machine else 0x4005800C
# A watchdog that runs on through a reset would bite before all is imported, a second or two from here with
# the white button's: it gets 4 s, on the RP2350 8 s; but not where boot.py was missing and a pin may be high.
# Control register, then what it counts down.
if "reedboard.pads" in sys.modules and mem32[_SCRATCH - 12] >> 30 & 1:
    mem32[_SCRATCH - 8] = 8_000_000
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

if not maintenance:
    import gc

    gc.threshold(16_384)  # collect on the way, or what stays lies scattered and leaves no large piece
    from reedboard.start import run

    run(reset_cause, kept_fault)
