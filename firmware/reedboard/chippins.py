"""The thin layer: the pins, clock, watchdog and USB line of the chip. Nothing here decides anything."""

import select
import sys
import time

import machine
from machine import Pin

from .chips import SCRATCH, mem32
from .inputs import Inputs
from .marks import NOTHING, RUNNING, pack
from .oneshot import TICKS_MAX, OneShot
from .registers import Lamps, Panel

WATCHDOG_MS = 500
LED_GPIO = 25


def no_coils(index: int, pulse_ms: int) -> bool:
    """In the place of the one-shot's fire() where there is none."""
    return False


class ChipPins:
    """What the scan loop needs of the chip; tests and the virtual board have the same calls."""

    def __init__(self, terminals) -> None:  # type: ignore[no-untyped-def]
        self.shot = None
        self.pulse = no_coils
        if terminals.coil_count:
            # first: a pin between two coils that serves something else is taken back below
            self.shot = OneShot(terminals.coil_gpio, terminals.coil_count)
            self.shot.find_home()
            self.pulse = self.shot.fire
        for gpio in range(29):
            if terminals.input_mask >> gpio & 1:
                Pin(gpio, Pin.IN, Pin.PULL_UP)
            elif terminals.output_mask >> gpio & 1:
                Pin(gpio, Pin.OUT, value=0)
        Pin(LED_GPIO, Pin.OUT, value=0)
        self.lamp_registers = Lamps(*terminals.lamp_lines) if terminals.lamp_lines[0] >= 0 else None
        self.panel_registers = Panel(*terminals.panel_lines) if terminals.panel_lines[0] >= 0 else None
        registers = Inputs(terminals)
        self.inputs, self.panel = registers.gpio, registers.panel
        self.moved, self.quiet = registers.moved, registers.quiet
        self.toggle, self.stamp = registers.toggle, registers.stamp
        self.byte = bytearray(1)
        self.stdin = sys.stdin.buffer
        self.stdout = sys.stdout.buffer
        self.readable = select.poll()
        self.readable.register(self.stdin, select.POLLIN)
        self.writable = select.poll()
        self.writable.register(self.stdout, select.POLLOUT)
        self.fault = 0
        self.dog: machine.WDT | None = None
        self.clock = time.ticks_ms  # milliseconds on a ring that is a multiple of the logic's

    def lamps(self, word: int) -> None:
        """Light these lamps."""
        if self.lamp_registers:
            self.lamp_registers.show(word)

    def let_pulse_end(self) -> None:
        """Wait until the one-shot holds no pin high; no longer than the longest pulse.

        A millisecond at least, which is two of the clock's: a word just handed over takes 0.15 ms to the pin.
        """
        begun = time.ticks_ms()
        waited_ms = 0
        while waited_ms < 2 or waited_ms <= TICKS_MAX and self.shot is not None and self.shot.is_high():
            waited_ms = time.ticks_diff(time.ticks_ms(), begun)

    # -- reset and watchdog -----------------------------------------------------------------------------

    def start_dog(self):  # type: ignore[no-untyped-def]
        """From here on a scan must come on time, or the chip resets; returns what feeds the watchdog."""
        mem32[SCRATCH] = pack(RUNNING, self.fault)
        self.dog = machine.WDT(timeout=WATCHDOG_MS)
        return self.dog.feed

    def keep_fault(self, fault: int) -> None:
        """Keep the first cause over a reset: cause * 128 + index + 1, or 0."""
        self.fault = fault
        mem32[SCRATCH] = pack(RUNNING if self.dog else NOTHING, fault)

    def reset(self, mark: int) -> None:
        """Reset the chip, saying why; the one-shot ends a pulse a little later than the logic."""
        self.let_pulse_end()
        mem32[SCRATCH] = pack(mark, self.fault)
        machine.reset()

    # -- the line ---------------------------------------------------------------------------------------

    def read_byte(self) -> int:
        """A byte from the computer, or -1; never waits."""
        for _ in self.readable.ipoll(0):
            if self.stdin.readinto(self.byte):
                return self.byte[0]
        return -1

    def write_byte(self, byte: int) -> bool:
        """Send a byte if it fits; never waits."""
        for _ in self.writable.ipoll(0):
            self.byte[0] = byte
            self.stdout.write(self.byte)
            return True
        return False
