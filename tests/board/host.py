"""A computer's end in memory: sends commands to a bench's board and reads its lines."""

from __future__ import annotations

from board.bench import Bench
from reedway.board.protocol import Line, Splitter, encode


class Host:
    """Counts its commands as the protocol wants."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.splitter = Splitter()
        self.sequence = 0
        self.texts: list[str] = []

    def say(self, kind: str, *numbers: int, again: bool = False) -> list[Line]:
        """Send one command and take all that comes back."""
        if not again:
            self.sequence = self.sequence + 1 & 255
        self.bench.pins.to_board.extend(encode(kind, self.sequence, *numbers))
        return self.hear()

    def confirm(self, number: int) -> list[Line]:
        """Have all before this number."""
        self.bench.pins.to_board.extend(encode("k", 0, number))
        return self.hear()

    def hear(self) -> list[Line]:
        lines = []
        for item in self.splitter.feed(self.bench.talk(100_000)):
            if isinstance(item, Line):
                lines.append(item)
            else:
                self.texts.append(item)
        return lines
