"""The two checks at the end of a line: CRC-16/CCITT-FALSE, a byte at a time, and the sum of all bytes."""

from array import array

from reedlogic.bare import bare, ptr8, ptr16

INITIAL = 0xFFFF


def _entry(byte: int) -> int:
    crc = byte << 8
    for _ in range(8):
        crc = crc << 1 ^ (0x1021 if crc & 0x8000 else 0)
    return crc & 0xFFFF


TABLE = array("H", [_entry(byte) for byte in range(256)])


@bare
def checks(data: ptr8, at: int, end: int, mask: int, table: ptr16) -> int:
    """CRC and the sum's low eight bits, 24 bits in all, of data[at] to data[end - 1], places taken & mask."""
    crc = INITIAL
    total = 0
    for i in range(at, end):
        byte = data[i & mask]
        crc = table[(crc >> 8) ^ byte] ^ ((crc << 8) & 0xFF00)
        total += byte
    return (crc << 8) | (total & 0xFF)
