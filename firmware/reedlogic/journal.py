"""A fixed ring of records (time, kind, which, value); when full the oldest goes and is counted."""

from array import array

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

    def turned(self, n: int) -> int:
        """`next` has come to `stop`: go round at the end of the ring; when it is full the oldest goes."""
        if n == self.slots:
            n = 0
        if n == self.first:
            self.first = n + 1 if n + 1 < self.slots else 0
            self.lost += 1
        self.stop = self.first if self.first > n else self.slots
        return n

    def _slot(self, i: int) -> int:
        return (self.first + i) % self.slots

    def time(self, i: int) -> int:
        """Time of record i; 0 is the oldest."""
        return self.times[self._slot(i)]

    def kind(self, i: int) -> int:
        return self.data[self._slot(i)] >> 25

    def which(self, i: int) -> int:
        return self.data[self._slot(i)] >> 18 & 127

    def value(self, i: int) -> int:
        return self.data[self._slot(i)] & VALUE_MAX

    def drop(self, n: int) -> None:
        """Forget the n oldest records: whoever drains has them."""
        self.first = self._slot(n)
        self.stop = self.first if self.first > self.next else self.slots

    def clear(self) -> None:
        self.first = self.next
        self.stop = self.slots
        self.lost = 0
