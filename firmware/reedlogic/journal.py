"""A fixed ring of records (time, kind, which, value); when full the oldest goes and is counted."""

from array import array

VALUE_MAX = (1 << 18) - 1  # kind 5 bits, which 7 bits, value 18 bits: one small int


class Journal:
    """Records in the order they happened. Allocates nothing after construction."""

    def __init__(self, size: int) -> None:
        self.size = size
        self.times = array("I", bytes(4 * size))
        self.data = array("I", bytes(4 * size))
        self.next = 0  # where the next record goes
        self.count = 0  # records held
        self.lost = 0  # records that went because the ring was full

    def put(self, time: int, kind: int, which: int, value: int) -> None:
        """Append one record; time on the ring, kind < 32, which < 128, value <= VALUE_MAX."""
        i = self.next
        self.times[i] = time
        self.data[i] = kind << 25 | which << 18 | value
        i += 1
        self.next = i if i < self.size else 0
        if self.count < self.size:
            self.count += 1
        else:
            self.lost += 1

    def _slot(self, i: int) -> int:
        return (self.next - self.count + i) % self.size

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
        self.count -= n

    def clear(self) -> None:
        self.count = 0
        self.lost = 0
