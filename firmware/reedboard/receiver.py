"""Lines from the computer, a byte at a time into a fixed buffer; what is no line of ours is counted."""

from array import array

from .crc import crc16, sum8

LINE_MAX = 60
FIELDS_MAX = 4
NUMBER_END = 1 << 30  # 1073741824
TENTH = 107374182
_TRAILER = 7  # * and six hex digits


class Receiver:
    """feed() returns True when a whole good line is there: kind, sequence, fields[0..count-1]."""

    def __init__(self) -> None:
        self.buffer = bytearray(LINE_MAX)
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
        """#k ss field field*CCCCSS"""
        buffer = self.buffer
        end = self.size - _TRAILER
        if end < 5 or buffer[0] != 35 or buffer[2] != 32 or buffer[end] != 42:
            return False
        check = 0
        for i in range(end + 1, end + _TRAILER):
            digit = _hex_digit(buffer[i])
            if digit < 0:
                return False
            check = check << 4 | digit
        if check >> 8 != crc16(buffer, end) or check & 0xFF != sum8(buffer, end):
            return False
        high = _hex_digit(buffer[3] ^ 32 if buffer[3] > 57 else buffer[3])
        low = _hex_digit(buffer[4] ^ 32 if buffer[4] > 57 else buffer[4])
        if high < 0 or low < 0:
            return False
        self.kind = buffer[1]
        self.sequence = high << 4 | low
        return self._parse_fields(end)

    def _parse_fields(self, end: int) -> bool:
        buffer = self.buffer
        self.count = 0
        at = 5
        while at < end:
            if buffer[at] != 32 or self.count == FIELDS_MAX or at + 1 == end:
                return False
            at += 1
            value = 0
            first = at
            while at < end and 48 <= buffer[at] <= 57:
                digit = buffer[at] - 48
                if value > TENTH or (value == TENTH and digit > 3):
                    return False
                value = value * 10 + digit
                at += 1
            if at == first:
                return False
            self.fields[self.count] = value
            self.count += 1
        return True


def _hex_digit(byte: int) -> int:
    """0 to 15 of a capital hex digit, else -1."""
    if 48 <= byte <= 57:
        return byte - 48
    if 65 <= byte <= 70:
        return byte - 55
    return -1
