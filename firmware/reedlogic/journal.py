"""A fixed ring of records (time, kind, which, value); when full the oldest goes and is counted."""

from array import array

from .bare import bare, ptr32
from .ring import INDEX

BITS = 30  # of a word at most
VALUE_MAX = (1 << 18) - 1  # kind 5 bits, which 7 bits, value 18 bits: one small int


class Journal:
    """Records in the order they happened. Allocates nothing after construction."""

    def __init__(self, size: int) -> None:
        self.slots = size + 1  # one stays free, so that full is not empty
        self.times = array("I", bytes(4 * self.slots))
        self.data = array("I", bytes(4 * self.slots))
        self.first = 0  # the oldest record
        self.next = 0  # where the next record goes
        self.stop = self.slots  # when `next` comes here: the end of the ring, or the oldest record
        self.lost = 0  # records that went because the ring was full

    def held(self) -> int:
        """How many records there are. (A property in a class makes MicroPython slow at all the others.)"""
        n = self.next - self.first
        return n if n >= 0 else n + self.slots

    def put(self, time: int, kind: int, which: int, value: int) -> None:
        """Append one record; time on the ring, kind < 32, which < 128, value <= VALUE_MAX."""
        n = self.next
        self.times[n] = time
        self.data[n] = kind << 25 | which << 18 | value
        n += 1
        self.next = n if n != self.stop else self.turned(n)

    def put_bits(self, time: int, kind: int, base: int, bits: int, word: int) -> None:
        """One record for each bit: `base` and its number, and what that bit of `word` is."""
        n = self.next
        if n + BITS < self.stop:
            self.next = write(self.times, self.data, n, time, kind << 25 | base << 18, bits, word)
            return
        while bits:  # the ring's end, or the oldest record, may come in between
            low = bits & -bits
            bits ^= low
            self.put(time, kind, base + INDEX[low % 37], 1 if word & low else 0)

    def turned(self, n: int) -> int:
        """`next` has come to `stop`: go round at the end of the ring; when it is full the oldest goes."""
        if n == self.slots:
            n = 0
        if n == self.first:
            self.first = n + 1 if n + 1 < self.slots else 0
            self.lost += 1
        self.stop = self.first if self.first > n else self.slots
        return n

    def slot(self, i: int) -> int:
        """Where record i is; 0 is the oldest."""
        return (self.first + i) % self.slots

    def time(self, i: int) -> int:
        """Time of record i; 0 is the oldest."""
        return self.times[self.slot(i)]

    def kind(self, i: int) -> int:
        return self.data[self.slot(i)] >> 25

    def which(self, i: int) -> int:
        return self.data[self.slot(i)] >> 18 & 127

    def value(self, i: int) -> int:
        return self.data[self.slot(i)] & VALUE_MAX

    def drop(self, n: int) -> None:
        """Forget the n oldest records: whoever drains has them."""
        self.first = self.slot(n)
        self.stop = self.first if self.first > self.next else self.slots

    def clear(self) -> None:
        self.first = self.next
        self.stop = self.slots
        self.lost = 0


@bare
def write(times: ptr32, data: ptr32, n: int, time: int, record: int, bits: int, word: int) -> int:
    """A record for each bit from place n on, where there is room; returns the place after them."""
    bit = 1
    while bits:
        if bits & bit:
            bits ^= bit
            times[n] = time
            data[n] = record + 1 if word & bit else record
            n += 1
        bit <<= 1
        record += 1 << 18
    return n
