"""SVG under way: text, boxes and wires on one sheet whose size grows with what is put on it."""

from __future__ import annotations

from dataclasses import dataclass, field
from html import escape

FONT_PX = 13
LETTER_PX = 7.83  # of a monospaced letter at FONT_PX: 0.602 em
ROW_PX = 34
PAD_PX = 8
BOX_PX = 24  # height of a box
GAP_PX = 26  # wire between two boxes


@dataclass
class Sheet:
    """SVG under way."""

    shapes: list[str] = field(default_factory=list)
    width: float = 0.0
    height: float = 0.0

    def text(self, x: float, y: float, words: str, size: float = FONT_PX, bold: bool = False) -> None:
        weight = ' font-weight="bold"' if bold else ""
        self.shapes.append(
            f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}"{weight}>{escape(words)}</text>'
        )
        self._grow(x + len(words) * LETTER_PX * size / FONT_PX, y)

    def box(self, x: float, y: float, words: str, ink: str, high: float = BOX_PX) -> float:
        """A box round one line of text, its middle at y; the x of its right edge."""
        wide = width_of(words)
        self.rect(x, y - high / 2, wide, high, ink)
        self.text(x + PAD_PX, y + FONT_PX / 3, words)
        return x + wide

    def rect(self, x: float, y: float, wide: float, high: float, ink: str, fill: str = "#ffffff") -> None:
        self.shapes.append(
            f'<rect x="{x:.1f}" y="{y:.1f}" width="{wide:.1f}" height="{high:.1f}" rx="3" '
            f'fill="{fill}" stroke="{ink}" stroke-width="1.5"/>'
        )
        self._grow(x + wide, y + high)

    def line(self, x1: float, y1: float, x2: float, y2: float, ink: str) -> None:
        self.shapes.append(
            f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" '
            f'stroke="{ink}" stroke-width="1.5"/>'
        )
        self._grow(max(x1, x2), max(y1, y2))

    def dot(self, x: float, y: float, ink: str) -> None:
        """A joint of two wires."""
        self.shapes.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3.5" fill="{ink}"/>')

    def _grow(self, x: float, y: float) -> None:
        self.width, self.height = max(self.width, x), max(self.height, y)

    def svg(self) -> str:
        wide, high = self.width + 20, self.height + 20
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.0f} {high:.0f}" '
            f'width="{wide:.0f}" height="{high:.0f}" font-family="DejaVu Sans Mono, Consolas, monospace">'
        )
        paper = f'<rect x="0" y="0" width="{wide:.0f}" height="{high:.0f}" fill="#ffffff"/>'
        return "\n".join([head, paper, *self.shapes, "</svg>", ""])


def width_of(words: str) -> float:
    """Width of a box round this text."""
    return len(words) * LETTER_PX + 2 * PAD_PX
