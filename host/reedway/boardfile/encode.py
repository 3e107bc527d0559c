"""Writes a plan as the bytes of a board file; firmware/reedlogic/boardfile.py reads them."""

from __future__ import annotations

import zlib
from typing import TypeAlias

from reedlogic import boardfile as b

Value: TypeAlias = "int | tuple[Value, ...]"


def encode(plan: tuple[Value, ...], layout_sha256: str) -> bytes:
    """The board file of a plan; the hash is that of the layout file, in hex."""
    digest = bytes.fromhex(layout_sha256)
    assert len(digest) == 32
    body = b.MAGIC + bytes([b.VERSION]) + digest + encode_value(plan)
    data = body + zlib.crc32(body).to_bytes(b.CRC_BYTES, "big")
    assert len(data) <= b.BYTES_MAX
    return data


def encode_value(value: Value) -> bytes:
    """One integer or tuple: varint of v * 2, or of length * 2 + 1 and then the items."""
    out = bytearray()
    _put(out, value)
    return bytes(out)


def crc_of_value(value: Value) -> int:
    """CRC-32 of one encoded value."""
    return zlib.crc32(encode_value(value))


def _put(out: bytearray, value: Value) -> None:
    if isinstance(value, tuple):
        _varint(out, len(value) * 2 + 1)
        for item in value:
            _put(out, item)
    else:
        assert 0 <= value < b.NUMBER_END, value
        _varint(out, int(value) * 2)


def _varint(out: bytearray, value: int) -> None:
    while value >= 0x80:
        out.append(value & 0x7F | 0x80)
        value >>= 7
    out.append(value)
