"""The line protocol at both ends, from one set of vectors."""

import json
from pathlib import Path

import pytest

from board.bench import Bench
from reedboard.crc import TABLE, checks
from reedboard.receiver import Receiver
from reedboard.sender import Sender
from reedway.board import protocol

VECTORS = json.loads((Path(__file__).parent / "vectors.json").read_text())


def received(line: bytes) -> tuple[str, int, list[int]] | None:
    """What the board makes of a line."""
    receiver = Receiver()
    for byte in line:
        assert not receiver.feed(byte)
    if not receiver.feed(10):
        return None
    return chr(receiver.kind), receiver.sequence, list(receiver.fields[: receiver.count])


# CRC-16/CCITT-FALSE: check value 29B1; of nothing FFFF, of "A" B915, of one byte 0 E1F0.
@pytest.mark.parametrize(
    ("data", "crc"), [(b"123456789", 0x29B1), (b"", 0xFFFF), (b"A", 0xB915), (b"\0", 0xE1F0)]
)
def test_checksum_has_the_published_check_values(data: bytes, crc: int) -> None:
    assert protocol.crc16(data) == crc
    assert checks(data, 0, len(data), 15, TABLE) == crc << 8 | sum(data) & 0xFF


@pytest.mark.parametrize(("line", "kind", "sequence", "fields"), VECTORS["from_board"])
def test_computer_reads_the_lines_of_a_board(line: str, kind: str, sequence: int, fields: list) -> None:
    assert protocol.parse(line.encode()) == protocol.Line(kind, sequence, tuple(fields))


@pytest.mark.parametrize(("line", "kind", "sequence", "fields"), VECTORS["from_board"])
def test_board_writes_the_same_lines(line: str, kind: str, sequence: int, fields: list) -> None:
    bench = Bench()
    words = tuple(str(field).encode() for field in fields if isinstance(field, str))
    sender = Sender(bench.pins, words)
    sender.sequence = sequence
    sender.begin(ord(kind))
    word = 0
    for field in fields:
        if isinstance(field, str):
            word += 1
            sender.add(-word)
        else:
            sender.add(field)
    sender.end()
    while sender.step():
        pass
    assert bytes(bench.pins.from_board) == line.encode() + b"\n"


@pytest.mark.parametrize(("line", "kind", "sequence", "fields"), VECTORS["to_board"])
def test_board_reads_what_the_computer_writes(line: str, kind: str, sequence: int, fields: list) -> None:
    assert protocol.encode(kind, sequence, *fields) == line.encode() + b"\n"
    assert received(line.encode()) == (kind, sequence, fields)
    assert received(line.encode() + b"\r") == (kind, sequence, fields)


@pytest.mark.parametrize("line", VECTORS["text_from_board"])
def test_anything_else_from_the_board_is_device_text(line: str) -> None:
    assert protocol.parse(line.encode()) is None


@pytest.mark.parametrize("line", VECTORS["text_to_board"])
def test_anything_else_to_the_board_is_counted_and_forgotten(line: str) -> None:
    assert received(line.encode()) is None


def test_device_text_is_cut_and_holds_no_control_characters() -> None:
    splitter = protocol.Splitter()
    out = splitter.feed(b"\x1b[2Jboo\x07\xff\n" + b"x" * 5000 + b"\n@a 02 17 3*" + b"000000\n")
    assert out[0] == "?[2Jboo?\ufffd"
    assert isinstance(out[1], str) and len(out[1]) == protocol.TEXT_MAX + 4
    assert out[2] == "@a 02 17 3*000000"
    assert len(splitter.feed(b"y" * 100_000)) == 0 and len(splitter._part) <= protocol.TEXT_MAX


def test_a_line_that_does_not_fit_waits_and_none_is_torn() -> None:
    bench = Bench()
    bench.pins.room = 10
    bench.run(5)
    for _ in range(3000):
        bench.link.step(bench.now)
    assert len(bench.pins.from_board) == 10
    bench.pins.room = 1 << 30
    sent = bench.talk()
    lines = protocol.Splitter().feed(sent)
    assert [line.kind for line in lines if isinstance(line, protocol.Line)] == ["h"]
