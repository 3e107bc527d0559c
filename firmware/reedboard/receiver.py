"""Lines from the computer, a byte at a time into a fixed buffer; what is no line of ours is counted."""

from array import array

from reedlogic.bare import bare, ptr8, ptr32

from .crc import TABLE, checks

LINE_MAX = 60
BUFFER = 64  # a power of two
FIELDS_MAX = 4
NUMBER_END = 1 << 30  # 1073741824
TENTH = 107374182
_TRAILER = 7  # * and six hex digits


class Receiver:
    """feed() returns True when a whole good line is there: kind, sequence, fields[0..count-1]."""

    def __init__(self) -> None:
        self.buffer = bytearray(BUFFER)
        self.size = 0
        self.is_garbage = False
        self.kind = 0
        self.sequence = 0
        self.fields = array("i", [0] * FIELDS_MAX)
        self.count = 0
        self.refused = 0  # lines that were not understood

    def feed(self, byte: int) -> bool:
        """One byte more; True when it completed a good line."""
        if byte == 10:
            good = not self.is_garbage and self._parse()
            if not good and (self.size or self.is_garbage):
                self.refused = self.refused + 1 & NUMBER_END - 1
            self.size = 0
            self.is_garbage = False
            return good
        if byte == 13:
            return False
        if self.size == LINE_MAX or byte < 32 or byte > 126:
            self.is_garbage = True
        else:
            self.buffer[self.size] = byte
            self.size += 1
        return False

    def _parse(self) -> bool:
        end = self.size - _TRAILER
        check = checks(self.buffer, 0, end, BUFFER - 1, TABLE)
        found = parse(self.buffer, end, check, self.fields)
        if found < 0:
            return False
        self.kind = self.buffer[1]
        self.sequence = found & 255
        self.count = found >> 8
        return True


@bare
def parse(buffer: ptr8, end: int, check: int, fields: ptr32) -> int:
    """#k ss field field*CCCCSS, with the * at `end`: sequence and 256 times the number of fields, or -1.

    `check` is what the six digits after the * should say.
    """
    if end < 5 or buffer[0] != 35 or buffer[2] != 32 or buffer[end] != 42:
        return -1
    for i in range(1, 7):  # capital hex digits
        digit = buffer[end + i] - 48
        if digit > 9:
            digit -= 7
            if digit < 10:
                return -1
        if digit != (check >> (24 - 4 * i)) & 15:
            return -1
    sequence = 0
    for i in range(3, 5):  # small ones
        digit = buffer[i] - 48
        if digit > 9:
            digit -= 39
            if digit < 10:
                return -1
        if digit < 0 or digit > 15:
            return -1
        sequence = (sequence << 4) | digit
    count = 0
    at = 5
    while at < end:
        if buffer[at] != 32 or count == FIELDS_MAX or at + 1 == end:
            return -1
        at += 1
        value = 0
        first = at
        while at < end:
            digit = buffer[at] - 48
            if digit < 0 or digit > 9:
                break
            if value > TENTH or (value == TENTH and digit > 3):
                return -1
            value = value * 10 + digit
            at += 1
        if at == first:
            return -1
        fields[count] = value
        count += 1
    return (count << 8) | sequence
