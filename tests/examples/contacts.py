"""Contacts as a board samples them each millisecond: closings with bounce, chatter, buttons, switches.

A dry reed bounces 0.5 to 1 ms when it closes (reed maker's glossary, "Bounce Time"): at 1 ms a sample in
three or so falls into the bounce. Buttons and switches on the panel bounce longer.
"""

from __future__ import annotations

import heapq
from random import Random

PANEL = 30  # first input of the panel word


class Contacts:
    """Every input's raw level, open at first, and the edges that are still to come."""

    def __init__(self, inputs: list[str], random: Random) -> None:
        self.numbers = {name: i for i, name in enumerate(inputs) if name}
        self.random = random
        self.words = [0, 0]  # GPIO, panel
        self.coming: list[tuple[int, int, int, int]] = []  # (time, order, input, level)
        self.deaf: dict[str, int] = {}  # sensor -> how many closings it misses
        self.shut: set[str] = set()  # sensors that are missing the closing under way
        self._order = 0

    def next_at(self) -> int | None:
        return self.coming[0][0] if self.coming else None

    def sample(self, t: int) -> tuple[int, int]:
        """The raw words at t."""
        while self.coming and self.coming[0][0] <= t:
            _, _, number, level = heapq.heappop(self.coming)
            self._apply(number, level)
        return self.words[0], self.words[1]

    def _apply(self, number: int, level: int) -> None:
        word, bit = (1, 1 << number - PANEL) if number >= PANEL else (0, 1 << number)
        self.words[word] = self.words[word] | bit if level else self.words[word] & ~bit

    def _edge(self, t: int, name: str, level: int) -> None:
        self._order += 1
        heapq.heappush(self.coming, (t, self._order, self.numbers[name], level))

    def reed(self, t: int, name: str, closes: bool) -> None:
        """A magnet comes to a sensor, or leaves it."""
        if closes and self.deaf.get(name, 0):
            self.deaf[name] -= 1
            self.shut.add(name)
            self._edge(t, name, 1)  # a weak or crooked magnet: closed for 2 ms, too short to count
            self._edge(t + 2, name, 0)
            return
        if not closes and name in self.shut:
            self.shut.remove(name)
            return
        if not closes:
            self._forget(name)
        self.bouncy(t, name, int(closes), 0.35, 1)

    def _forget(self, name: str) -> None:
        """The magnet goes: whatever chatter was to come does not."""
        number = self.numbers[name]
        self.coming = [edge for edge in self.coming if edge[2] != number]
        heapq.heapify(self.coming)

    def bouncy(self, t: int, name: str, level: int, chance: float, times_max: int) -> None:
        """An edge, perhaps with bounce: up to times_max returns of 1 ms each."""
        self._edge(t, name, level)
        for _ in range(times_max):
            if self.random.random() >= chance:
                return
            self._edge(t + 1, name, 1 - level)
            self._edge(t + 2, name, level)
            t += 2

    def press(self, t: int, name: str, ms: int) -> None:
        """A button is pressed for so long."""
        self.bouncy(t, name, 1, 0.6, 2)
        self.bouncy(t + ms, name, 0, 0.6, 2)

    def turn(self, t: int, name: str, closed: bool) -> None:
        """A switch is turned."""
        self.bouncy(t, name, int(closed), 0.6, 2)

    def chatter(self, t: int, name: str, ms: int, gap_ms: tuple[int, int]) -> None:
        """A closed contact trembles for so long: opens for 1 to 120 ms, every gap_ms."""
        until = t + ms
        t += self.random.randint(*gap_ms)
        while t < until:
            open_ms = self.random.choice((1, 2, 3, 8, 25, 40, 120))
            self._edge(t, name, 0)
            self._edge(t + open_ms, name, 1)
            t += open_ms + self.random.randint(*gap_ms)

    def flicker(self, t: int, name: str, open_ms: int) -> None:
        """A closed contact opens once for so long."""
        self._edge(t, name, 0)
        self._edge(t + open_ms, name, 1)
