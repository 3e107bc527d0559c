"""Damaged lines through both ends: split, merged, truncated, duplicated, reordered, garbage, resets.

As a command: python tests/board/fuzz_line.py --lines 1000000 --seed 1
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

if __name__ == "__main__":
    root = Path(__file__).resolve().parents[2]
    sys.path[:0] = [str(root / "host"), str(root / "firmware"), str(root / "tests")]

from reedboard.receiver import Receiver  # noqa: E402
from reedway.board.protocol import (  # noqa: E402
    FIELD_COUNTS,
    FROM_BOARD_MAX,
    TEXT_MAX,
    Line,
    Splitter,
    check,
    encode,
    parse,
)

KINDS = (*FIELD_COUNTS, "r", "r")
GARBAGE = bytes(range(256))


@dataclass
class Count:
    """What one run saw."""

    lines: int = 0
    damaged: int = 0
    understood: int = 0
    texts: int = 0
    whole: int = 0  # lines that nothing was wrong with, nor with the end of the one before
    missed: int = 0  # of them, not understood
    wrong: list[bytes] = field(default_factory=list)


def board_line(rng: random.Random) -> bytes:
    """A line as a board may send it."""
    kind = rng.choice(KINDS)
    least, most = FIELD_COUNTS[kind]
    while True:
        fields = [
            str(rng.getrandbits(rng.choice((1, 7, 18, 29, 30)))) for _ in range(rng.randint(least, most))
        ]
        if kind == "h":
            fields[1:4] = ["1.0.0", f"{rng.getrandbits(256):064x}", "rp2040"]
        body = " ".join((f"@{kind} {rng.getrandbits(8):02x}", *fields))
        line = f"{body}*{check(body.encode())}"
        if len(line) <= FROM_BOARD_MAX:
            return f"{line}\n".encode()


def computer_line(rng: random.Random) -> bytes:
    """A command as a computer may send it."""
    kind = rng.choice("hkosqtmz")
    numbers = [rng.getrandbits(rng.choice((1, 7, 18, 30))) for _ in range(rng.randint(0, 4))]
    return encode(kind, rng.getrandbits(8), *numbers)


def damage(rng: random.Random, line: bytes, last: bytes) -> bytes:
    """One line as it may come out of a bad wire."""
    how = rng.randrange(10)
    at = rng.randrange(len(line))
    if how == 0:  # cut off, and run into the next
        return line[:at]
    if how == 1:  # its beginning is missing
        return line[at:]
    if how == 2:  # a stretch is missing
        return line[:at] + line[min(len(line), at + rng.randint(1, 20)) :]
    if how == 3:  # a byte is another
        return line[:at] + bytes([rng.getrandbits(8)]) + line[at + 1 :]
    if how == 4:  # a bit is the other
        return line[:at] + bytes([line[at] ^ 1 << rng.randrange(8)]) + line[at + 1 :]
    if how == 5:  # garbage within
        return line[:at] + bytes(rng.choices(GARBAGE, k=rng.randint(1, 30))) + line[at:]
    if how == 6:  # twice
        return line + line
    if how == 7:  # the last one again: out of order
        return line + last
    if how == 8:  # reset in mid-line: half a line, then the text of a start
        return line[:at] + b"\r\nMPY: soft reboot\r\n" + line
    return line[:-1] + last  # without its end


class Wire:
    """Makes damaged lines and counts what each end makes of them."""

    def __init__(self, seed: int) -> None:
        self.rng = random.Random(seed)
        self.splitter = Splitter()
        self.receiver = Receiver()
        self.sent_by_board: set[bytes] = set()
        self.sent_by_computer: set[bytes] = set()
        self.last = {True: b"\n", False: b"\n"}
        self.ended = {True: True, False: True}  # what went over the wire last
        self.count = Count()

    def one(self) -> None:
        """One line each way, damaged more often than not, in pieces of any size."""
        for from_board in (True, False):
            rng = self.rng
            line = board_line(rng) if from_board else computer_line(rng)
            sent = self.sent_by_board if from_board else self.sent_by_computer
            if len(sent) > 4000:
                sent.clear()  # what is still on its way is only the last two
                sent.add(self.last[from_board][:-1])
            sent.add(line[:-1])
            data = line
            if rng.random() < 0.6:
                data = damage(rng, line, self.last[from_board])
                self.count.damaged += 1
            self.last[from_board] = line
            self.count.lines += 1
            before = self.count.understood
            if from_board:
                self._hear(data)
            else:
                self._listen(data)
            if data == line and self.ended[from_board]:
                self.count.whole += 1
                self.count.missed += self.count.understood != before + 1
            self.ended[from_board] = data.endswith(b"\n")

    def _hear(self, data: bytes) -> None:
        at = 0
        while at < len(data):
            size = self.rng.randint(1, 64)
            for item in self.splitter.feed(data[at : at + size]):
                if isinstance(item, Line):
                    self.count.understood += 1
                    if not any(parse(line) == item for line in self._candidates(item)):
                        self.count.wrong.append(repr(item).encode())
                else:
                    self.count.texts += 1
                    assert len(item) <= TEXT_MAX + 4
            at += size

    def _candidates(self, item: Line) -> list[bytes]:
        body = f"@{item.kind} {item.sequence:02x}" + "".join(f" {value}" for value in item.fields)
        whole = f"{body}*{check(body.encode())}".encode()
        return [whole] if whole in self.sent_by_board else []

    def _listen(self, data: bytes) -> None:
        receiver = self.receiver
        for byte in data:
            if not receiver.feed(byte):
                continue
            self.count.understood += 1
            fields = list(receiver.fields[: receiver.count])
            whole = encode(chr(receiver.kind), receiver.sequence, *fields)[:-1]
            if whole not in self.sent_by_computer:
                self.count.wrong.append(whole)


def fuzz(lines: int, seed: int) -> Count:
    """So many lines both ways together."""
    wire = Wire(seed)
    while wire.count.lines < lines:
        wire.one()
    return wire.count


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--lines", type=int, default=1_000_000)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    begun = time.monotonic()
    count = fuzz(args.lines, args.seed)
    print(
        f"seed {args.seed}: {count.lines} lines, {count.damaged} damaged, {count.understood} understood, "
        f"{count.texts} device texts, {len(count.wrong)} wrong; of {count.whole} whole ones {count.missed} "
        f"missed; {time.monotonic() - begun:.0f} s"
    )
    for wrong in count.wrong[:5]:
        print("wrong:", wrong)
    return 1 if count.wrong or count.missed else 0


if __name__ == "__main__":
    raise SystemExit(main())
