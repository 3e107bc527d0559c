"""Lines to the computer: built whole into a ring of bytes, sent a byte at a time, never waiting."""

from array import array

from reedlogic.bare import bare, ptr8, ptr16, ptr32

from .crc import TABLE, checks

LINE_MAX = 160
FIELDS_MAX = 16
RING = 512  # a power of two
HEX = b"0123456789ABCDEF"
TEXT = -1  # a field of -1 - i is text i
TENS = array("I", [10**power for power in range(9, -1, -1)])


class Sender:
    """One line at a time: begin, add ..., end when is_free; step sends. Allocates nothing."""

    def __init__(self, port, texts: tuple) -> None:  # type: ignore[no-untyped-def]
        self.port = port
        self.ring = bytearray(RING)
        self.head = 0  # next byte to go out
        self.size = 0  # bytes waiting
        self.fields = array("i", [0] * FIELDS_MAX)
        self.count = 0
        self.kind = 0
        self.sequence = 0
        self.set_texts(texts)

    def set_texts(self, texts: tuple) -> None:
        """Bytes objects for the hello."""
        self.text = b"".join(texts)
        self.ends = array("H", [0] + [len(b"".join(texts[: i + 1])) for i in range(len(texts))])

    def is_free(self) -> bool:
        """True when there is room for the longest line."""
        return self.size <= RING - LINE_MAX

    def begin(self, kind: int) -> None:
        """Begin a line; kind is the code of its letter."""
        self.kind = kind
        self.count = 0

    def add(self, value: int) -> None:
        """Append a field: a number, or -1 - i for text i."""
        self.fields[self.count] = value
        self.count += 1

    def end(self) -> None:
        """The line is whole: into the ring with it."""
        ring, head, fields = self.ring, self.head, self.fields
        number = self.sequence
        self.sequence = number + 1 & 255
        size = put_head(ring, head, self.size, self.kind, number, HEX)
        for i in range(self.count):
            value = fields[i]
            if value >= 0:
                size = put_number(ring, head, size, value, TENS)
            else:
                size = put_text(ring, head, size, self.text, self.ends, TEXT - value)
        check = checks(ring, head + self.size, head + size, RING - 1, TABLE)
        self.size = put_tail(ring, head, size, check, HEX)

    def step(self) -> bool:
        """A byte out; False when there is none or the computer takes none."""
        if not self.size or not self.port.write_byte(self.ring[self.head]):
            return False
        self.head = self.head + 1 & RING - 1
        self.size -= 1
        return True


# The ring's bytes from `head` on: each of these puts some after the first `size` and gives the new size.


@bare
def put_head(ring: ptr8, head: int, size: int, kind: int, number: int, digits: ptr8) -> int:
    """@k ss"""
    head += size
    ring[head & (RING - 1)] = 64
    ring[(head + 1) & (RING - 1)] = kind
    ring[(head + 2) & (RING - 1)] = 32
    ring[(head + 3) & (RING - 1)] = digits[number >> 4] | 32  # small letters; | 32 leaves the digits
    ring[(head + 4) & (RING - 1)] = digits[number & 15] | 32
    return size + 5


@bare
def put_number(ring: ptr8, head: int, size: int, value: int, tens: ptr32) -> int:
    """A space and a number."""
    ring[(head + size) & (RING - 1)] = 32
    size += 1
    power = 0
    while power < 9 and value < tens[power]:
        power += 1
    while power < 10:
        ten = tens[power]
        digit = 48
        while value >= ten:
            value -= ten
            digit += 1
        ring[(head + size) & (RING - 1)] = digit
        size += 1
        power += 1
    return size


@bare
def put_text(ring: ptr8, head: int, size: int, text: ptr8, ends: ptr16, which: int) -> int:
    """A space and a text."""
    ring[(head + size) & (RING - 1)] = 32
    size += 1
    for i in range(ends[which], ends[which + 1]):
        ring[(head + size) & (RING - 1)] = text[i]
        size += 1
    return size


@bare
def put_tail(ring: ptr8, head: int, size: int, check: int, digits: ptr8) -> int:
    """*CCCCSS and the end of the line."""
    ring[(head + size) & (RING - 1)] = 42
    size += 1
    shift = 20
    while shift >= 0:
        ring[(head + size) & (RING - 1)] = digits[(check >> shift) & 15]
        size += 1
        shift -= 4
    ring[(head + size) & (RING - 1)] = 10
    return size + 1
