"""The pin table of a board file as what the scan loop needs: bit to bit, without a look at names."""

from reedlogic.boardfile import (
    P_ARM,
    P_COIL,
    P_FEED,
    P_INPUT,
    P_LAMP,
    P_LAMP_LINE,
    P_PANEL,
    P_PANEL_LINE,
    P_SHADOW,
    P_SUPPLY,
)
from reedlogic.ring import INDEX

NO_GPIO = -1
GPIO_BITS = 29
PANEL_BASE = 30


class Terminals:
    """Built once at start-up from the flat triples (where, role, number)."""

    def __init__(self, table: tuple) -> None:
        self.input_mask = 0  # GPIO that are inputs
        self.input_bit = [0] * GPIO_BITS  # GPIO -> bit of the raw word
        self.feed_gpio = [0] * 30  # feed -> GPIO mask
        self.supply_gpio = [0] * 8
        self.output_mask = 0  # GPIO that the processor switches: feeds, supplies, arm line
        self.arm = 0
        self.is_shadow = False  # the logic runs, and no word of its coils, feeds and supplies leaves
        self.coils = 0  # coils by index as used in the plan
        self.coil_first = self.coil_count = 0
        self.coil_gpio = NO_GPIO  # of the first coil
        self.lamp_lines = [NO_GPIO] * 3  # data, clock, latch
        self.panel_lines = [NO_GPIO] * 3
        self.lamp_place = [0] * 30  # lamp -> bit on the registers
        self.panel_mask = 0
        self.panel_bit = [0] * 30  # place on the registers -> bit of the panel word
        self.lamp_places = self.panel_places = 0
        for i in range(0, len(table), 3):
            self._row(table[i], table[i + 1], table[i + 2])

    def _row(self, where: int, role: int, number: int) -> None:
        if role == P_INPUT:
            self.input_mask |= 1 << where
            self.input_bit[where] = 1 << number
        elif role == P_COIL:
            self._coil(where, number)
        elif role == P_FEED:
            self.feed_gpio[number] = 1 << where
            self.output_mask |= 1 << where
        elif role == P_SUPPLY:
            self.supply_gpio[number] = 1 << where
            self.output_mask |= 1 << where
        elif role == P_ARM:
            self.arm = 1 << where
            self.output_mask |= 1 << where
        elif role == P_LAMP_LINE:
            self.lamp_lines[number] = where
        elif role == P_PANEL_LINE:
            self.panel_lines[number] = where
        elif role == P_LAMP:
            self.lamp_place[number] = 1 << where
            self.lamp_places = max(self.lamp_places, where + 1)
        elif role == P_PANEL:
            self.panel_mask |= 1 << where
            self.panel_bit[where] = 1 << (number - PANEL_BASE)
            self.panel_places = max(self.panel_places, where + 1)
        elif role == P_SHADOW:
            self.is_shadow = True
        else:
            raise ValueError("board file: a pin of an unknown kind")

    def _coil(self, where: int, number: int) -> None:
        if self.coils and where - number != self.coil_gpio - self.coil_first:
            raise ValueError("board file: coils are not side by side")
        if not self.coils or number < self.coil_first:
            self.coil_first = number
            self.coil_gpio = where
        self.coils |= 1 << number
        self.coil_count = 0
        while self.coils >> (self.coil_first + self.coil_count):
            self.coil_count += 1


def moved(bits: int, table: list) -> int:
    """What these bits are in the table's own bits; costs only the bits that are set."""
    word = 0
    while bits:
        low = bits & -bits
        bits ^= low
        word ^= table[INDEX[low % 37]]
    return word
