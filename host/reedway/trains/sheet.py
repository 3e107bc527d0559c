"""SVG text under way: lines, boxes, marks and monospaced words whose extent is known beforehand."""

from __future__ import annotations

from dataclasses import dataclass, field
from html import escape

LETTER_EM = 0.602  # width of a monospaced letter
INK = "#000000"
BLUE = "#0072b2"  # blue and orange are told apart by the colour-blind, and differ in grey (Okabe and Ito)
ORANGE = "#d55e00"
PALE = "#dddddd"


@dataclass
class Sheet:
    """Shapes in px; `boxes` has where words stand: left, top, right, bottom."""

    shapes: list[str] = field(default_factory=list)
    boxes: list[tuple[float, float, float, float]] = field(default_factory=list)

    def text(self, x: float, y: float, words: str, size: float = 13, anchor: str = "start") -> None:
        """Words with their base line at y, on paper: lines drawn before do not run through them."""
        left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * width_of(words, size)
        box = (left, y - 0.8 * size, left + width_of(words, size), y + 0.2 * size)
        self.boxes.append(box)
        self.rect((box[0] - 2, box[1]), box[2] - box[0] + 4, box[3] - box[1], "none", "#ffffff")
        place = f'x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" text-anchor="{anchor}"'
        self.shapes.append(f"<text {place}>{escape(words)}</text>")

    def line(
        self,
        start: tuple[float, float],
        end: tuple[float, float],
        ink: str = INK,
        wide: float = 1.0,
        dash: str = "",
    ) -> None:
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self.shapes.append(
            f'<line x1="{start[0]:.1f}" y1="{start[1]:.1f}" x2="{end[0]:.1f}" y2="{end[1]:.1f}" '
            f'stroke="{ink}" stroke-width="{wide:g}"{dashed}/>'
        )

    def rect(
        self, corner: tuple[float, float], wide: float, high: float, ink: str, fill: str, dash: str = ""
    ) -> None:
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self.shapes.append(
            f'<rect x="{corner[0]:.1f}" y="{corner[1]:.1f}" width="{max(wide, 0):.1f}" height="{high:.1f}" '
            f'fill="{fill}" stroke="{ink}"{dashed}/>'
        )

    def shape(self, points: list[tuple[float, float]], fill: str, ink: str = INK) -> None:
        """A closed shape with straight sides."""
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        self.shapes.append(f'<polygon points="{path}" fill="{fill}" stroke="{ink}"/>')

    def path(self, points: list[tuple[float, float]], ink: str, wide: float, dash: str = "") -> None:
        """A line through all points."""
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        self.shapes.append(
            f'<polyline points="{path}" fill="none" stroke="{ink}" stroke-width="{wide:g}" '
            f'stroke-linejoin="round"{dashed}/>'
        )

    def circle(self, x: float, y: float, radius: float, fill: str = "#ffffff") -> None:
        self.shapes.append(
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:g}" fill="{fill}" stroke="{INK}" '
            'stroke-width="1.5"/>'
        )

    def svg(self, wide: float, high: float, title: str) -> str:
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.0f} {high:.0f}" '
            f'width="{wide:.0f}" height="{high:.0f}" font-family="DejaVu Sans Mono, Consolas, monospace">'
        )
        paper = f'<rect x="0" y="0" width="{wide:.0f}" height="{high:.0f}" fill="#ffffff"/>'
        return "\n".join([head, f"<title>{escape(title)}</title>", paper, *self.shapes, "</svg>", ""])


def width_of(words: str, size: float = 13) -> float:
    return len(words) * LETTER_EM * size


def levels(labels: list[tuple[float, str]], size: float, apart: float = 8) -> list[int]:
    """A level for each centred label, so that those of one level do not overlap; 0 is used first."""
    ends: list[float] = []
    chosen = [0] * len(labels)
    for n in sorted(range(len(labels)), key=lambda n: labels[n][0] - width_of(labels[n][1], size) / 2):
        x, words = labels[n]
        left = x - width_of(words, size) / 2
        level = next((i for i, end in enumerate(ends) if end + apart <= left), len(ends))
        if level == len(ends):
            ends.append(0.0)
        ends[level] = left + width_of(words, size)
        chosen[n] = level
    return chosen
