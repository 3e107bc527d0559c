"""Numbers for states, in the order in which they come: a hash table in arrays, for many states at a time.

A state is some 64-bit words. Whole states are compared: two that share a slot go to slots side by side.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from reedway.proof.timed.table import Ints

Words = NDArray[np.uint64]
FIRST_BITS = 12
# Odd numbers to mix words with: multiples of the golden ratio's fraction (Knuth, TAOCP vol. 3, 6.4).
MIX = np.uint64(0x9E3779B97F4A7C15)
FOLD = np.uint64(29)


class Seen:
    """At most half of the slots are in use."""

    def __init__(self, words: int) -> None:
        self.words = words
        self.count = 0
        self._make(FIRST_BITS)

    def _make(self, bits: int) -> None:
        self.bits = bits
        self.slots = [np.zeros(1 << bits, np.uint64) for _ in range(self.words)]
        self.numbers = np.full(1 << bits, -1, np.int32)

    def _hash(self, words: list[Words]) -> NDArray[np.int64]:
        mixed = words[0] * MIX
        for word in words[1:]:
            mixed = ((mixed ^ (mixed >> FOLD)) + word) * MIX
        mixed ^= mixed >> FOLD
        return ((mixed * MIX) >> np.uint64(64 - self.bits)).astype(np.int64)

    def put(self, states: Words) -> tuple[Ints, Ints]:
        """The number of each state, and which of these are new: their first places, in order."""
        while 2 * (self.count + len(states)) > len(self.numbers):
            self._grow()
        words = [np.ascontiguousarray(states[:, i]) for i in range(self.words)]
        slot = self._find(words)
        new = np.flatnonzero(self.numbers[slot] < 0).astype(np.int32)
        at = slot[new]
        self.numbers[at[::-1]] = (
            -2 - np.arange(len(new), dtype=np.int32)[::-1]
        )  # the first of equal ones stays
        new = new[self.numbers[at] == -2 - np.arange(len(new), dtype=np.int32)]
        self.numbers[slot[new]] = np.arange(self.count, self.count + len(new), dtype=np.int32)
        self.count += len(new)
        return self.numbers[slot], new

    def _find(self, words: list[Words]) -> NDArray[np.int64]:
        """The slot of each; one that is not there yet takes an empty one."""
        slot = self._hash(words)
        left = np.arange(len(slot))
        mask = len(self.numbers) - 1
        while left.size:
            at = slot[left]
            empty = self.numbers[at] == -1
            claim, where = left[empty], at[empty]
            for stored, word in zip(self.slots, words, strict=True):
                stored[where] = word[claim]
            self.numbers[where] = -2  # claimed, not numbered yet
            same = np.ones(len(left), bool)
            for stored, word in zip(self.slots, words, strict=True):
                same &= stored[at] == word[left]
            left = left[~same]
            slot[left] = (slot[left] + 1) & mask
        return slot

    def _grow(self) -> None:
        used = np.flatnonzero(self.numbers >= 0)
        words, numbers = [stored[used] for stored in self.slots], self.numbers[used]
        self._make(self.bits + 1)
        self.numbers[self._find(words)] = numbers
