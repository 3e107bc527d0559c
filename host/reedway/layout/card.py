"""The card for the show: blink codes, lamps and buttons of one layout, to print on one sheet."""

from __future__ import annotations

import re
from dataclasses import dataclass

from reedway.boardfile.compile import Compiled
from reedway.layout.blinking import KINDS, STEADY, Code, codes
from reedway.layout.model import Text
from reedway.layout.paper import Paper, wrapped

MARGIN_MM, COLUMN_MM, BETWEEN_MM = 12.0, 90.0, 6.0
TOP_MM = 34.0
SIZE_MM, SMALL_MM, HEAD_MM = 3.0, 2.6, 3.4
ROW_MM, SMALL_ROW_MM = 4.4, 3.7
KEY_MM = 26.0


# What an order or a lamp of the layout file means to somebody at the panel.
ORDERS = (
    ("start", "trains stand where they belong: go"),
    ("stop", "everything stops"),
    ("go on", "after stop: trains go on"),
    ("acknowledge", "I have looked: caution or fault over"),
    ("hold (.+)", "the train at {} waits"),
    ("go (.+)", "the train at {} may go again"),
)
SHOWN = (
    ("running", "trains run"),
    ("caution", "something is held up: read the board's own lamp"),
    ("fault", "everything at stop: read the board's own lamp"),
    ("train belongs at (.+)", "before start: a train stands at {}"),
    ("(.+) held", "{} is held, by order or caution"),
    ("(.+) goes", "{} has its feed"),
)


@dataclass(frozen=True)
class Part:
    """A part of the card: heading, what to do, rows of (key, words); flashes are drawn before the heading."""

    heading: str
    advice: str
    rows: tuple[tuple[str, str], ...]
    flashes: int = 0
    key_mm: float = KEY_MM

    def lines(self) -> list[tuple[str, list[str]]]:
        """Rows with their words wrapped."""
        return [(key, wrapped(words, COLUMN_MM - self.key_mm - 2, SIZE_MM)) for key, words in self.rows]

    def advice_lines(self) -> list[str]:
        return wrapped(self.advice, COLUMN_MM - 4, SMALL_MM) if self.advice else []

    def high_mm(self) -> float:
        rows = sum(len(words) for _, words in self.lines())
        return 8.0 + len(self.advice_lines()) * SMALL_ROW_MM + rows * ROW_MM


def parts_of(compiled: Compiled) -> list[Part]:
    """What the card says, in its order."""
    found = [Part("The board's own lamp", "", STEADY, key_mm=46.0)]
    found += [_kind(kind, codes(compiled.names)) for kind in KINDS]
    layout = compiled.layout
    buttons = tuple((b.name, _meaning(b.order, ORDERS)) for b in layout.buttons)
    lamps = tuple((lamp.name, _meaning(lamp.shows, SHOWN)) for lamp in layout.lamps)
    starts = tuple((start.name, ", ".join(str(text) for text in start.trains_at)) for start in layout.starts)
    for heading, advice, rows in (
        ("Buttons", "", buttons),
        ("Lamps", "", lamps),
        ("Starts: where trains stand", "Set the trains, then press start.", starts),
    ):
        if rows:
            found.append(Part(heading, advice, rows, key_mm=38.0))
    return [part for part in found if part.rows]


def _meaning(text: Text | None, meanings: tuple[tuple[str, str], ...]) -> str:
    """What an order or a lamp means, in the owner's words; his own text where there is nothing to add."""
    if text is None:
        return "by your rules"
    plain = " ".join(text.text.lower().split())
    for pattern, meaning in meanings:
        found = re.fullmatch(pattern, plain)
        if found:
            begin, end = found.span(1) if found.groups() else (0, 0)
            return meaning.format(" ".join(text.text.split())[begin:end])
    return text.text


def _kind(kind: int, all_codes: list[Code]) -> Part:
    heading, advice = KINDS[kind]
    rows = tuple((f"{kind} - {code.number}", code.name) for code in all_codes if code.kind == kind)
    return Part(f"{kind}: {heading}", advice, rows, kind, 16.0)


def card_svg(compiled: Compiled) -> str:
    """The card as SVG text, A4; longer only where a layout has very many names."""
    paper = Paper()
    layout = compiled.layout
    paper.text(MARGIN_MM, 18, f"{layout.name}: what the lamp says", 5.2, bold=True)
    paper.text(
        MARGIN_MM,
        24,
        "Two numbers in flashes: count the first, a dark second, count the second. "
        "Several things wrong: the first is shown.",
        SMALL_MM,
    )
    paper.text(
        MARGIN_MM,
        28,
        "Smoke, a smell, a coil that hums: PULL THE PLUG of the coil supply first, then look. "
        f"Layout file {layout.sha256[:8]}.",
        SMALL_MM,
        bold=True,
    )
    parts = parts_of(compiled)
    half = sum(part.high_mm() for part in parts) / 2
    x, y, used = MARGIN_MM, TOP_MM, 0.0
    lowest = y
    for part in parts:
        if used and x == MARGIN_MM and used + part.high_mm() / 2 > half:
            x, y = MARGIN_MM + COLUMN_MM + BETWEEN_MM, TOP_MM
        y = _draw(paper, part, x, y)
        used += part.high_mm()
        lowest = max(lowest, y)
    paper.box(MARGIN_MM - 4, 10, 2 * COLUMN_MM + BETWEEN_MM + 8, lowest - 10 + 2, cut=True)
    return paper.svg()


def _draw(paper: Paper, part: Part, x: float, y: float) -> float:
    """Draw a part; the y below it."""
    paper.line(x, y, x + COLUMN_MM, y)
    left = x
    for i in range(part.flashes):
        paper.dot(x + 1.6 + i * 3.2, y + 3.6, 2.2)
        left = x + 3.4 + (i + 1) * 3.2
    paper.text(left, y + 4.8, part.heading.removeprefix(f"{part.flashes}: "), HEAD_MM, bold=True)
    y += 5.4
    for line in part.advice_lines():
        y += SMALL_ROW_MM
        paper.text(x + 2, y, line, SMALL_MM)
    for key, lines in part.lines():
        for i, line in enumerate(lines):
            y += ROW_MM
            if not i:
                paper.text(x + 2, y, key, SIZE_MM, bold=True)
            paper.text(x + part.key_mm, y, line, SIZE_MM)
    return y + 2.6


def card_json(compiled: Compiled) -> list[dict[str, object]]:
    """The numbers of the lamp as data."""
    return [
        {"kind": c.kind, "number": c.number, "means": KINDS[c.kind][0], "name": c.name}
        for c in codes(compiled.names)
    ]
