"""The two checks at the end of a line: CRC-16/CCITT-FALSE, a byte at a time, and the sum of all bytes."""

from array import array

INITIAL = 0xFFFF


def _entry(byte: int) -> int:
    crc = byte << 8
    for _ in range(8):
        crc = crc << 1 ^ (0x1021 if crc & 0x8000 else 0)
    return crc & 0xFFFF


TABLE = array("H", [_entry(byte) for byte in range(256)])


def crc16(data: bytearray, end: int) -> int:
    """CRC of the first `end` bytes; one step is crc = TABLE[crc >> 8 ^ byte] ^ (crc << 8 & 0xFF00)."""
    crc = INITIAL
    for i in range(end):
        crc = TABLE[crc >> 8 ^ data[i]] ^ (crc << 8 & 0xFF00)
    return crc


def sum8(data: bytearray, end: int) -> int:
    """Sum of the first `end` bytes, its low eight bits."""
    total = 0
    for i in range(end):
        total += data[i]
    return total & 0xFF
