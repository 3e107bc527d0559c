"""The panel's input registers on the emulated chip: contacts by their place, in the order of a shift."""

from __future__ import annotations

from typing import Any

from pico.chip import Chip


class PanelRegisters:
    """Parallel in, serial out: a low latch loads, a rising clock moves on; an open contact reads 1.

    The way of a 74HC165 (data sheet of that family: asynchronous load while the load input is low, shift on
    the rising edge), without its delays.
    """

    def __init__(self, chip: Chip, data: int, clock: int, latch: int) -> None:
        self.closed: set[int] = set()  # places
        self._pin = chip.mcu.gpio[data]
        self._place = 0
        chip.mcu.gpio[latch].add_listener(self._latched)
        chip.mcu.gpio[clock].add_listener(self._clocked)

    def _latched(self, new: Any, old: Any) -> None:
        if int(new) == 0:
            self._place = 0
            self._show()

    def _clocked(self, new: Any, old: Any) -> None:
        if int(new) == 1 and int(old) != 1:
            self._place += 1
            self._show()

    def _show(self) -> None:
        self._pin.set_input_value(self._place not in self.closed)
