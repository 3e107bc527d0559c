"""Board files as bytes: there and back on both interpreters, and refused when a byte is wrong."""

from __future__ import annotations

import zlib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boardfile import valley
from boardfile.interpreters import micropython, needs_micropython
from reedlogic import boardfile as b
from reedway.boardfile.encode import encode, encode_value
from reedway.boardfile.read import read_board_bytes, read_board_file
from reedway.problems import ReedwayError

SHA = "5a" * 32
RULES = """\
  - {at: N1 hit, while: [siding in service], do: [pull in CALL, throw ends to B, start let out]}
  - {as_soon_as: [CALL in, ends to B], do: [Hold goes]}
"""
NUMBERS = st.integers(0, 2**30 - 1)
VALUES = st.recursive(NUMBERS, lambda inner: st.lists(inner, max_size=4).map(tuple), max_leaves=8)
PLANS = st.lists(VALUES, min_size=19, max_size=19).map(tuple)


def depth(value: Any) -> int:
    return 1 + max(map(depth, value), default=0) if isinstance(value, tuple) else 0


@settings(deadline=None, max_examples=40)
@given(PLANS.filter(lambda plan: depth(plan) <= b.DEPTH_MAX))
def test_there_and_back(plan: tuple[Any, ...]) -> None:
    data = encode(plan, SHA)
    assert b.decode(data) == plan
    assert b.layout_hash(data).hex() == SHA


def test_bytes_by_hand() -> None:
    # LEB128 as in the DWARF standard (version 5, section 7.6): 624485 is E5 8E 26; here it is the value * 2
    assert encode_value(312242) == bytes([0xE4, 0x8E, 0x26])
    assert encode_value(()) == b"\x01"
    assert encode_value((0, 1, (63, 64))) == bytes([7, 0, 2, 5, 126, 128, 1])


@given(st.binary(max_size=200))
def test_checksum_is_the_usual_crc_32(data: bytes) -> None:
    assert b.crc32(data, len(data)) == zlib.crc32(data)


def test_checksum_of_the_published_check_string() -> None:
    assert b.crc32(b"123456789", 9) == 0xCBF43926  # CRC-32/ISO-HDLC in catalogues of CRC algorithms


BOARD_FILE = valley.compiled(RULES).board_file


@settings(max_examples=400, deadline=None)
@given(st.integers(0, len(BOARD_FILE) - 1), st.integers(1, 255))
def test_any_one_byte_changed_is_refused(place: int, change: int) -> None:
    damaged = bytearray(BOARD_FILE)
    damaged[place] ^= change
    with pytest.raises(ValueError, match="^board file: "):
        b.decode(bytes(damaged))
    with pytest.raises(ReedwayError, match="^layout.rwb: board file: .*; build it again$"):
        read_board_bytes(bytes(damaged), "layout.rwb")


@given(st.integers(0, len(BOARD_FILE) - 1))
def test_a_torn_file_is_refused(length: int) -> None:
    with pytest.raises(ValueError, match="^board file: "):
        b.decode(BOARD_FILE[:length])


@given(st.integers(b.HEADER_BYTES, len(BOARD_FILE) - 5), st.integers(0, 255))
def test_a_wrong_byte_under_a_right_checksum_never_crashes(place: int, byte: int) -> None:
    body = bytearray(BOARD_FILE[:-4])
    body[place] = byte
    data = bytes(body) + zlib.crc32(bytes(body)).to_bytes(4, "big")
    try:
        plan = b.decode(data)
    except ValueError as error:
        assert str(error).startswith("board file: ")
    else:
        assert isinstance(plan, tuple)


@given(st.binary(max_size=60))
def test_what_is_no_board_file_is_refused(data: bytes) -> None:
    with pytest.raises(ValueError, match="^board file: "):
        b.decode(data)


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (b"\xff\xff\xff\xff\xff\x01", "runs past its end"),  # more than five bytes
        (b"\xfe\xff\xff\xff\x0f", "too big"),
        (b"\x80\x00", "longer than it need be"),
        (b"\x09\x00", "a list runs past its end"),
        (b"\x03" * 20, "a list runs past its end"),  # too deep
        (b"\x00\x00", "bytes left over"),
        (b"\x03\x00", "not a plan"),
    ],
)
def test_malformed_under_a_right_checksum(body: bytes, words: str) -> None:
    data = b.MAGIC + bytes([b.VERSION]) + bytes(32) + body
    with pytest.raises(ValueError, match=words):
        b.decode(data + zlib.crc32(data).to_bytes(4, "big"))


def test_another_version_is_named() -> None:
    data = bytearray(BOARD_FILE)
    data[3] = 2
    with pytest.raises(ValueError, match="another version"):
        b.decode(bytes(data))


def test_pin_table_and_hash_must_agree() -> None:
    plan = list(valley.compiled().plan)
    plan[17] = (1, *plan[17][1:])  # type: ignore[misc]
    with pytest.raises(ReedwayError, match="pin table and its hash differ"):
        read_board_bytes(encode(tuple(plan), SHA), "layout.rwb")


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(ReedwayError, match="cannot be read"):
        read_board_file(tmp_path / "layout.rwb")


@needs_micropython
def test_micropython_reads_the_same(tmp_path: Path) -> None:
    (tmp_path / "layout.rwb").write_bytes(BOARD_FILE)
    program = f"""
from reedlogic import boardfile as b
data = bytearray(open('{tmp_path}/layout.rwb', 'rb').read())
print(b.decode(data))
refused = 0
for i in range(len(data)):
    data[i] ^= 16
    try:
        b.decode(data)
    except ValueError:
        refused += 1
    data[i] ^= 16
print(refused == len(data))
"""
    plan, refused = micropython(program).splitlines()
    assert plan == repr(valley.compiled(RULES).plan)
    assert refused == "True"
