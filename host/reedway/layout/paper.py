"""A sheet of paper in millimetres, as SVG: text of known width, lines, boxes, lines to cut along."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass, field
from html import escape

A4_MM = (210.0, 297.0)
EM = 0.602  # width of a monospaced letter, of its height
FONT = "DejaVu Sans Mono, Consolas, Menlo, monospace"
THIN_MM, THICK_MM = 0.15, 0.35


@dataclass
class Paper:
    """SVG under way; all measures in mm, y downwards."""

    wide_mm: float = A4_MM[0]
    high_mm: float = A4_MM[1]
    shapes: list[str] = field(default_factory=list)

    def text(
        self, x: float, y: float, words: str, size: float, bold: bool = False, upward: bool = False
    ) -> None:
        """One line, its baseline at y; `upward` turns it by a quarter."""
        more = ' font-weight="bold"' if bold else ""
        if upward:
            more += f' transform="rotate(-90 {x:.2f} {y:.2f})"'
        self.shapes.append(
            f'<text x="{x:.2f}" y="{y:.2f}" font-size="{size:g}"{more} xml:space="preserve">'
            f"{escape(words)}</text>"
        )
        self.high_mm = max(self.high_mm, y + 8)

    def line(self, x1: float, y1: float, x2: float, y2: float, cut: bool = False) -> None:
        """A line; one to cut along is dashed."""
        dash = ' stroke-dasharray="2 1.2"' if cut else ""
        self.shapes.append(
            f'<line x1="{x1:.2f}" y1="{y1:.2f}" x2="{x2:.2f}" y2="{y2:.2f}" stroke="#000000" '
            f'stroke-width="{THIN_MM}"{dash}/>'
        )

    def box(self, x: float, y: float, wide: float, high: float, cut: bool = False) -> None:
        """A frame; one to cut along is dashed."""
        dash = ' stroke-dasharray="2 1.2"' if cut else ""
        self.shapes.append(
            f'<rect x="{x:.2f}" y="{y:.2f}" width="{wide:.2f}" height="{high:.2f}" fill="none" '
            f'stroke="#000000" stroke-width="{THIN_MM if cut else THICK_MM}"{dash}/>'
        )

    def dot(self, x: float, y: float, across: float) -> None:
        """A filled spot: one flash."""
        self.shapes.append(f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{across / 2:.2f}" fill="#000000"/>')

    def svg(self) -> str:
        """The whole sheet."""
        wide, high = f"{self.wide_mm:g}", f"{self.high_mm:.0f}"
        return "\n".join(
            [
                f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{high}mm" '
                f'viewBox="0 0 {wide} {high}" font-family="{FONT}">',
                f'<rect width="{wide}" height="{high}" fill="#ffffff"/>',
                *self.shapes,
                "</svg>",
                "",
            ]
        )


def width_mm(words: str, size: float) -> float:
    """How wide a line of text is."""
    return len(words) * EM * size


def wrapped(words: str, wide_mm: float, size: float) -> list[str]:
    """Lines that fit into a width; a word that is longer is broken."""
    return textwrap.wrap(words, max(4, int(wide_mm / (EM * size)))) or [""]
