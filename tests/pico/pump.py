"""The arm line's charge pump and the switch behind it, driven by the edges that the emulated pin made.

Parts from hardware/netlists/arm-line.yaml. The pin is a perfect 0 V or `pin_v`; the diodes lose a fixed
voltage; the gate takes no current. C2 and, while the pin is high, C1 with it empty through R1.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from hardware.computed import ARM_OHM, SCHOTTKY_V, off_most_s, part_farad

C1_F, C2_F = part_farad("arm-line", "C1"), part_farad("arm-line", "C2")
PIN_V_LEAST, PIN_V_MOST = 2.62, 3.3  # hardware/sources.md, U8 and U10
OPEN_V, CLOSED_V = 0.4, 1.5  # least and greatest threshold asked of Q1 in hardware/arm-line.md
OFF_MS = 1000 * off_most_s(ARM_OHM)  # what hardware/arm-line.md promises


@dataclass
class Pump:
    """Voltage at Q1's gate at one time; drive it forward with `pin` and `until`."""

    pin_v: float = PIN_V_MOST
    at_ms: float = 0.0
    gate_v: float = 0.0
    carried_v: float = 0.0  # over C1, its diode side the more positive
    is_high: bool = False

    def until(self, ms: float) -> float:
        """Gate voltage at a later time with the pin left as it is."""
        through_d2 = self.is_high and self.pin_v + self.carried_v - SCHOTTKY_V >= self.gate_v - 1e-9
        farad = C1_F + C2_F if through_d2 else C2_F
        before = self.gate_v
        self.gate_v *= math.exp(-(ms - self.at_ms) * 1e-3 / (ARM_OHM * farad))
        if through_d2:
            self.carried_v -= before - self.gate_v
        self.at_ms = ms
        return self.gate_v

    def pin(self, ms: float, high: bool) -> None:
        """One edge of the pin."""
        self.until(ms)
        self.is_high = high
        if not high:
            self.carried_v = max(self.carried_v, -SCHOTTKY_V)  # D1 fills it from ground
            return
        share = self.pin_v + self.carried_v - SCHOTTKY_V - self.gate_v
        if share > 0:
            given = share * C1_F / (C1_F + C2_F)
            self.gate_v += given
            self.carried_v -= given * C2_F / C1_F


def after(edges: Iterable[tuple[float, bool]], pin_v: float = PIN_V_MOST) -> Pump:
    """The pump after these edges (ms, high), empty before the first."""
    pump = Pump(pin_v)
    for ms, high in edges:
        pump.pin(ms, high)
    return pump


def opens_ms(edges: list[tuple[float, bool]], pin_v: float = PIN_V_MOST) -> float:
    """How long after the last edge Q1 is surely off, in ms."""
    pump = after(edges, pin_v)
    last = pump.at_ms
    while pump.gate_v > OPEN_V:
        pump.until(pump.at_ms + 0.5)
    return pump.at_ms - last
