"""The real controller in the loop: contacts in, feeds and pulses out, its records to whoever wants them.

Board latency: a contact that changes is seen at the next whole millisecond, and an output changes in the
scan that decides it. Measured on the emulated Pico a scan with a hit takes 0.6 to 2.3 ms; `plan` adds that.
"""

from __future__ import annotations

from collections.abc import Callable

from reedlogic import words as w
from reedlogic.controller import Controller
from reedlogic.journal import VALUE_MAX
from reedlogic.ring import HALF, MASK
from reedway.boardfile.compile import Compiled

LATENCY_MS = 1
PANEL = 30
Record = tuple[int, int, int, int]  # ms, kind, which, value


class Controlled:
    """One controller that is asked at the very moments at which something is due for it."""

    def __init__(self, compiled: Compiled, take: Callable[[Record], None]) -> None:
        self.controller = Controller(compiled.plan)
        self.take = take
        self.now = 0  # ms
        self.raw = self.panel = 0  # contacts as they are
        self.orders: list[tuple[int, int]] = []
        self.coils = {
            coil: (i, p)
            for i, row in enumerate(compiled.plan[w.PLAN_TURNOUTS])
            for p, coil in enumerate(row[:2])
        }
        self.controller.begin(0, 0, 0)
        self.controller.settle(0)
        self._drain()

    def set(self, number: int, closed: bool) -> None:
        """A contact closes or opens; it is seen at the next scan."""
        if number < PANEL:
            bit = 1 << number
            self.raw = self.raw | bit if closed else self.raw & ~bit
        else:
            bit = 1 << number - PANEL
            self.panel = self.panel | bit if closed else self.panel & ~bit

    @property
    def is_changed(self) -> bool:
        """A contact is not as it was seen last, or an order waits."""
        c = self.controller
        return self.raw != c.raw or self.panel != c.panel or bool(self.orders)

    def due_ms(self) -> int:
        """When it wants to be asked next, at the latest."""
        wait = (self.controller.due - self.now) & MASK
        return self.now + (wait if 0 < wait < HALF else 1)

    def scan(self, now: int) -> tuple[int, int, int] | None:
        """One scan; the pulse that it begins: turnout, position, milliseconds."""
        c, self.now = self.controller, now
        at = now & MASK
        c.scan(at, self.raw, self.panel)
        if self.orders:
            for which, value in self.orders:
                c.order(at, which, value)
            self.orders = []
            c.settle(at)
        if c.journal.held():
            self._drain()
        coil = c.keeper.pulse_coil
        if coil < 0:
            return None
        c.keeper.pulse_coil = -1
        return (*self.coils[coil], c.keeper.pulse_ms)

    def _drain(self) -> None:
        journal = self.controller.journal
        now, take, times, data = self.now, self.take, journal.times, journal.data
        for i in range(journal.next - journal.held(), journal.next):  # below 0: the end of the ring
            one = data[i]
            take((now - ((now - times[i]) & MASK), one >> 25, one >> 18 & 127, one & VALUE_MAX))
        journal.clear()
