"""Lines between computer and board (firmware/PROTOCOL.md): write commands, tell lines from device text."""

from __future__ import annotations

import binascii
import re
from dataclasses import dataclass, field

PROTOCOL = 3
WATCH_MS = 2000  # in maintenance the board takes all away when it has heard nothing for so long
FROM_BOARD_MAX = 160
TO_BOARD_MAX = 60
NUMBER_END = 1 << 30
TEXT_MAX = 400  # of one line of device text; the rest is cut

_SHAPE = re.compile(rb"([@#])([a-z]) ([0-9a-f]{2})((?: [!-)+-~]+)*)\*([0-9A-F]{6})\Z")
_NUMBER = re.compile(rb"[0-9]{1,10}\Z")

# How many fields the lines of a board have: (at least, at most).
FIELD_COUNTS = {
    "h": (8, 8),
    "r": (5, 5),
    "s": (4, 16),
    "q": (16, 16),
    "t": (2, 9),
    "a": (2, 2),
}
_HELLO_WORDS = (1, 2, 3)  # fields of a hello that are words


@dataclass(frozen=True)
class Line:
    """One good line. Numbers are ints; the words of a hello are texts."""

    kind: str
    sequence: int
    fields: tuple[int | str, ...]

    def numbers(self) -> tuple[int, ...]:
        """The fields of a line that has only numbers."""
        return tuple(int(value) for value in self.fields)


def crc16(data: bytes) -> int:
    """CRC-16/CCITT-FALSE."""
    return binascii.crc_hqx(data, 0xFFFF)


def check(data: bytes) -> str:
    """What stands behind the star: the CRC, and the low eight bits of the sum of all bytes."""
    return f"{crc16(data):04X}{sum(data) & 0xFF:02X}"


def encode(kind: str, sequence: int, *numbers: int) -> bytes:
    """A line to the board, with its end."""
    body = f"#{kind} {sequence:02x}" + "".join(f" {number}" for number in numbers)
    assert all(0 <= number < NUMBER_END for number in numbers)
    line = f"{body}*{check(body.encode())}\n".encode()
    assert len(line) <= TO_BOARD_MAX + 1
    return line


def parse(line: bytes, prefix: bytes = b"@") -> Line | None:
    """A good line of ours without its end, or None: device text."""
    found = _SHAPE.match(line)
    if found is None or found[1] != prefix or len(line) > FROM_BOARD_MAX:
        return None
    if check(line[: found.start(5) - 1]) != found[5].decode():
        return None
    kind = found[2].decode()
    fields: list[int | str] = []
    for i, raw in enumerate(found[4].split(b" ")[1:]):
        if kind == "h" and prefix == b"@" and i in _HELLO_WORDS:
            fields.append(raw.decode("ascii"))
        elif _NUMBER.match(raw) and int(raw) < NUMBER_END:
            fields.append(int(raw))
        else:
            return None
    if prefix == b"@":
        least, most = FIELD_COUNTS.get(kind, (1, 0))
        if not least <= len(fields) <= most:
            return None
    return Line(kind, int(found[3], 16), tuple(fields))


@dataclass
class Splitter:
    """Bytes as they come in any pieces; lines and device text in their order come out. Bounded memory."""

    _part: bytearray = field(default_factory=bytearray)
    _is_overlong: bool = False

    def feed(self, data: bytes) -> list[Line | str]:
        """What was completed by these bytes."""
        out: list[Line | str] = []
        for piece in data.splitlines(keepends=True) if b"\n" in data else [data]:
            self._add(piece, out)
        return out

    def _add(self, piece: bytes, out: list[Line | str]) -> None:
        if not piece.endswith(b"\n"):
            self._keep(piece)
            return
        self._keep(piece[:-1])
        raw, overlong = bytes(self._part), self._is_overlong
        self._part.clear()
        self._is_overlong = False
        raw = raw.removesuffix(b"\r")
        line = None if overlong else parse(raw)
        if line is not None:
            out.append(line)
        elif raw:
            out.append(printable(raw) + (" ..." if overlong else ""))

    def _keep(self, piece: bytes) -> None:
        room = TEXT_MAX - len(self._part)
        if len(piece) > room:
            self._is_overlong = True
        self._part += piece[:room]


def printable(raw: bytes) -> str:
    """Device text as it may be shown: no control character reaches the terminal."""
    text = raw.decode("utf-8", errors="replace")
    return "".join(letter if letter.isprintable() else "?" for letter in text)
