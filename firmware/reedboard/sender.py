"""Lines to the computer: built field by field into a ring of bytes, sent a byte at a time, never waiting."""

from array import array

from .crc import INITIAL, TABLE

LINE_MAX = 160
FIELDS_MAX = 16
RING = 512  # a power of two
HEX = b"0123456789ABCDEF"
TEXT_STEP = 8  # letters a step
TEXT = -1  # a field of -1 - i is text i
_IDLE, _HEAD, _FIELDS, _TAIL = 0, 1, 2, 3


class Sender:
    """One line at a time: begin, add ..., then step until is_free. Allocates nothing."""

    def __init__(self, port, texts: tuple) -> None:  # type: ignore[no-untyped-def]
        self.port = port
        self.texts = texts  # bytes objects for the hello
        self.ring = bytearray(RING)
        self.head = 0  # next byte to go out
        self.size = 0  # bytes waiting
        self.fields = array("i", [0] * FIELDS_MAX)
        self.count = 0
        self.at = 0
        self.kind = 0
        self.sequence = 0
        self.crc = 0
        self.sum = 0
        self.text_at = 0
        self.phase = _IDLE

    def is_free(self) -> bool:
        """True when a new line may be begun: the last one is built and there is room for the longest."""
        return self.phase == _IDLE and self.size <= RING - LINE_MAX

    def begin(self, kind: int) -> None:
        """Begin a line; kind is the code of its letter."""
        self.kind = kind
        self.count = self.at = 0
        self.phase = _HEAD

    def add(self, value: int) -> None:
        """Append a field: a number, or -1 - i for text i."""
        self.fields[self.count] = value
        self.count += 1

    def step(self) -> bool:
        """Do one small piece: a field of the line being built, else a byte out. False: nothing to do."""
        if self.phase == _IDLE:
            return self._send()
        if self.phase == _HEAD:
            self.crc = INITIAL
            self.sum = 0
            self._put(64)  # @
            self._put(self.kind)
            self._put(32)
            number = self.sequence
            self.sequence = number + 1 & 255
            self._put(HEX[number >> 4] | 32)  # small letters; | 32 leaves the digits
            self._put(HEX[number & 15] | 32)
            self.phase = _FIELDS if self.count else _TAIL
        elif self.phase == _FIELDS:
            self._field(self.fields[self.at])
        else:
            self._tail()
        return True

    def _tail(self) -> None:
        crc = self.crc
        total = self.sum
        self._put(42)  # *
        for shift in range(12, -1, -4):
            self._put(HEX[crc >> shift & 15])
        self._put(HEX[total >> 4 & 15])
        self._put(HEX[total & 15])
        self._put(10)
        self.phase = _IDLE

    def _field(self, value: int) -> None:
        if not self.text_at:
            self._put(32)
        if value >= 0:
            self._number(value)
        elif self._text(self.texts[TEXT - value]):
            return
        self.at += 1
        if self.at == self.count:
            self.phase = _TAIL

    def _text(self, text: bytes) -> bool:
        """The next few letters of a text; True when there are more."""
        at = self.text_at
        for i in range(at, min(at + TEXT_STEP, len(text))):
            self._put(text[i])
        self.text_at = at + TEXT_STEP if at + TEXT_STEP < len(text) else 0
        return self.text_at != 0

    def _number(self, value: int) -> None:
        scale = 1
        while value // scale >= 10:
            scale *= 10
        while scale:
            self._put(48 + value // scale % 10)
            scale //= 10

    def _put(self, byte: int) -> None:
        self.ring[self.head + self.size & RING - 1] = byte
        self.size += 1
        self.crc = TABLE[self.crc >> 8 ^ byte] ^ (self.crc << 8 & 0xFF00)
        self.sum += byte

    def _send(self) -> bool:
        if not self.size or not self.port.write_byte(self.ring[self.head]):
            return False
        self.head = self.head + 1 & RING - 1
        self.size -= 1
        return True
