"""Pins of a board in memory, for tests on CPython: the same calls as the layer of the chip."""

from __future__ import annotations

from collections import deque

ALL_HIGH = (1 << 29) - 1


class FakePins:
    """Inputs are levels on GPIO (1 = open contact); outputs, pulses and the line are kept for the test."""

    def __init__(self) -> None:
        self.levels = ALL_HIGH
        self.panel_levels = (1 << 24) - 1
        self.out = 0
        self.toggles: list[int] = []
        self.pulses: list[tuple[int, int]] = []
        self.idle = True
        self.lamp_word = 0
        self.kept_fault = 0
        self.to_board: deque[int] = deque()
        self.from_board = bytearray()
        self.room = 1 << 30  # bytes that still fit into the line to a computer

    def inputs(self) -> int:
        return self.levels

    def panel(self) -> int:
        return self.panel_levels

    def moved(self) -> bool:
        return True  # perhaps

    def toggle(self, mask: int) -> None:
        self.toggles.append(mask)
        self.out ^= mask

    def pulse(self, index: int, pulse_ms: int) -> bool:
        if self.idle:
            self.pulses.append((index, pulse_ms))
        return self.idle

    def lamps(self, word: int) -> None:
        self.lamp_word = word

    def keep_fault(self, fault: int) -> None:
        self.kept_fault = fault

    def read_byte(self) -> int:
        return self.to_board.popleft() if self.to_board else -1

    def write_byte(self, byte: int) -> bool:
        if not self.room:
            return False
        self.room -= 1
        self.from_board.append(byte)
        return True
