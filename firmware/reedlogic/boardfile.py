"""Reads a board file: bytes in, the plan as nested tuples out; a malformed file raises ValueError.

RWB, version byte, sha256 of the layout file, one nested tuple, CRC-32 of all before.
An integer v is the varint of v * 2; a tuple is the varint of its length * 2 + 1 and then its items.
What the items of the plan mean is in words.py, PLAN_LIMITS and after.
"""

try:
    from micropython import const
except ImportError:

    def const(value: int) -> int:
        """CPython has no const(); the value is the value."""
        return value


MAGIC = b"RWB"
VERSION = const(1)
HEADER_BYTES = const(36)  # magic, version, hash
CRC_BYTES = const(4)
BYTES_MAX = const(16384)  # read, it takes about six times as much of the heap
DEPTH_MAX = const(6)
PLAN_ITEMS = const(19)
NUMBER_END = const(1 << 30)  # a small int on every board

# Part 17 of the plan: flat triples (where, role, number). 18: hash of it, (high, low) 16 bits of its CRC-32.
PIN_TABLE = const(17)
PIN_HASH = const(18)
P_INPUT = const(0)  # where: GPIO; number: input
P_COIL = const(1)  # GPIO; coil
P_FEED = const(2)  # GPIO; feed
P_SUPPLY = const(3)  # GPIO; supply
P_ARM = const(4)  # GPIO; 0
P_LAMP_LINE = const(5)  # GPIO; 0 data, 1 clock, 2 latch of the lamps' output registers
P_PANEL_LINE = const(6)  # GPIO; 0 data, 1 clock, 2 latch of the panel's input registers
P_LAMP = const(7)  # place on the lamps' registers from 0; lamp
P_PANEL = const(8)  # place on the panel's registers from 0; input
P_SHADOW = const(9)  # 0; 1: outputs disarmed, and then no row of roles 1 to 4 is there


# CRC-32 of the numbers 0..15 in two halves: with them a byte takes two steps, and all fits small ints.
_low = [0] * 16
_high = [0] * 16
for _i in range(16):
    _crc = _i
    for _ in range(4):
        _crc = _crc >> 1 ^ (0xEDB88320 if _crc & 1 else 0)
    _low[_i] = _crc & 0xFFFF
    _high[_i] = _crc >> 16
LOW = tuple(_low)
HIGH = tuple(_high)


def crc32(data: bytes, end: int) -> int:
    """CRC-32 (ISO-HDLC) of the first `end` bytes."""
    low = high = 0xFFFF
    for i in range(end):
        low ^= data[i]
        for _ in range(2):
            k = low & 15
            low = (low >> 4 | (high & 15) << 12) ^ LOW[k]
            high = high >> 4 ^ HIGH[k]
    return (high ^ 0xFFFF) << 16 | (low ^ 0xFFFF)


def header_fault(data: bytes) -> str:
    """Why this is no whole board file; empty when it is one."""
    size = len(data)
    if size < HEADER_BYTES + CRC_BYTES:
        return "too short for a board file"
    if size > BYTES_MAX:
        return "too long for a board file"
    if data[0] != MAGIC[0] or data[1] != MAGIC[1] or data[2] != MAGIC[2]:
        return "not a board file"
    if data[3] != VERSION:
        return "a board file of another version"
    return ""


def layout_hash(data: bytes) -> bytes:
    """sha256 of the layout file that the board file was made from."""
    return bytes(data[4:HEADER_BYTES])


def crc_holds(data: bytes) -> bool:
    """True when the CRC at the end is that of all before."""
    end = len(data) - CRC_BYTES
    crc = crc32(data, end)
    for i in range(CRC_BYTES):
        if data[end + i] != crc >> (24 - 8 * i) & 0xFF:
            return False
    return True


class Reader:
    """A place in the bytes; reads one value after another."""

    def __init__(self, data: bytes, at: int, end: int) -> None:
        self.data = data
        self.at = at
        self.end = end
        self.made: list[tuple] = []  # every tuple so far, once

    def varint(self) -> int:
        """Seven bits a byte, low ones first, in as few bytes as possible."""
        number = shift = 0
        while True:
            if self.at >= self.end or shift > 28:
                raise ValueError("board file: a number runs past its end")
            byte = self.data[self.at]
            self.at += 1
            number |= (byte & 0x7F) << shift
            if byte < 0x80:
                break
            shift += 7
        if byte == 0 and shift:
            raise ValueError("board file: a number is longer than it need be")
        return number

    def value(self, depth: int) -> object:
        """One integer or one tuple with all it holds."""
        number = self.varint()
        if not number & 1:
            if number >> 1 >= NUMBER_END:
                raise ValueError("board file: a number is too big")
            return number >> 1
        count = number >> 1
        if depth == DEPTH_MAX or count > self.end - self.at:
            raise ValueError("board file: a list runs past its end")
        items: list = [0] * count
        for i in range(count):
            items[i] = self.value(depth + 1)
        return self._one_for_all(tuple(items))

    def _one_for_all(self, made: tuple) -> tuple:
        """Sensors and conditions are mostly alike: equal ones share the heap of the first."""
        for other in self.made:
            if other == made:
                return other
        self.made.append(made)
        return made


def decode(data: bytes) -> tuple:
    """The plan of a board file."""
    fault = header_fault(data)
    if not fault and not crc_holds(data):
        fault = "damaged (its checksum does not hold)"
    if fault:
        raise ValueError("board file: " + fault)
    reader = Reader(data, HEADER_BYTES, len(data) - CRC_BYTES)
    plan = reader.value(0)
    if reader.at != reader.end:
        raise ValueError("board file: bytes left over")
    if not isinstance(plan, tuple) or len(plan) != PLAN_ITEMS:
        raise ValueError("board file: not a plan of this version")
    return plan
