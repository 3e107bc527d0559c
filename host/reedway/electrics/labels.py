"""Strips of paper for the terminals, to scale: what hangs on each, with its pin."""

from __future__ import annotations

from reedway.electrics.wiring import Terminal, Wiring
from reedway.layout.paper import A4_MM, Paper, width_mm
from reedway.problems import ReedwayError

PITCH_MM = 5.08  # a common pitch of screw terminals; common practice, no source
PITCHES_MM = (3.5, 15.0)
MARGIN_MM, TOP_MM, SCALE_MM = 12.0, 34.0, 50.0
NAME_MM, SMALL_MM = 2.2, 1.7
SPARE_MM = 3.0  # above and below the words of a cell
STRIP_GAP_MM = 12.0


def strips(found: Wiring) -> list[tuple[str, list[Terminal]]]:
    """Terminals by what they are, in the order of their numbers: one strip each."""
    kinds: dict[str, list[Terminal]] = {}
    for one in found.terminals:
        kinds.setdefault(_strip_of(one), []).append(one)
    return [(kind, sorted(kinds[kind], key=_number)) for kind in kinds]


def _strip_of(one: Terminal) -> str:
    words = one.terminal.split()
    if words[-1].isdigit() and words[0] in ("sensor", "coil", "lamp", "panel"):
        return f"{words[0]}s" if words[0] != "panel" else "panel"
    return "feeds, supplies, arm line, register lines"


def _number(one: Terminal) -> tuple[str, int]:
    words = one.terminal.split()
    return (words[0], int(words[-1])) if words[-1].isdigit() else ("~" + one.terminal, 0)


def label_words(one: Terminal) -> tuple[str, str]:
    """The two lines of a cell: `sensor 1 = N1`, `GPIO 12 (pin 16)`."""
    what = one.what.split(":")[0]
    for kind in ("sensor ", "turnout ", "block ", "lamp ", "contact ", "button ", "switch ", "detector "):
        what = what.removeprefix(kind)
    same = what == one.terminal or what.startswith("arm ") or what.endswith("shift registers")
    return (one.terminal if same else f"{one.terminal} = {what}", one.where)


def labels_svg(found: Wiring, pitch_mm: float = PITCH_MM) -> str:
    """All strips on one sheet as SVG text; cells as wide as the terminals are apart."""
    least, most = PITCHES_MM
    if not least <= pitch_mm <= most:
        raise ReedwayError(
            f"--pitch {pitch_mm:g}: terminals are {least:g} to {most:g} mm apart; measure over ten of them"
        )
    paper = Paper()
    paper.text(MARGIN_MM, 18, f"{found.layout.name}: labels of the terminals", 5.2, bold=True)
    paper.text(
        MARGIN_MM,
        24,
        f"Print without scaling (100 %). Cells are {pitch_mm:g} mm wide. This line is 50 mm:",
        2.6,
    )
    paper.line(MARGIN_MM, 28, MARGIN_MM + SCALE_MM, 28)
    for x in (MARGIN_MM, MARGIN_MM + SCALE_MM):
        paper.line(x, 26.8, x, 29.2)
    a_row = int((A4_MM[0] - 2 * MARGIN_MM) / pitch_mm)
    y = TOP_MM
    for kind, terminals in strips(found):
        for first in range(0, len(terminals), a_row):
            y = _strip(paper, kind, terminals[first : first + a_row], y, pitch_mm)
    return paper.svg()


def _strip(paper: Paper, kind: str, terminals: list[Terminal], y: float, pitch_mm: float) -> float:
    """Draw one strip below its name; the y below it."""
    words = [label_words(one) for one in terminals]
    longest = max(max(width_mm(name, NAME_MM), width_mm(pin, SMALL_MM)) for name, pin in words)
    high = longest + 2 * SPARE_MM
    paper.text(MARGIN_MM, y + 4, kind, 2.6, bold=True)
    top = y + 6
    paper.box(MARGIN_MM, top, pitch_mm * len(terminals), high, cut=True)
    for i, (name, pin) in enumerate(words):
        x = MARGIN_MM + i * pitch_mm
        if i:
            paper.line(x, top, x, top + high)
        foot = top + high - SPARE_MM
        paper.text(
            x + pitch_mm * 0.5 - 0.1, foot, name, min(NAME_MM, pitch_mm * 0.43), bold=True, upward=True
        )
        paper.text(
            x + pitch_mm * 0.5 + SMALL_MM + 0.1, foot, pin, min(SMALL_MM, pitch_mm * 0.33), upward=True
        )
    return top + high + STRIP_GAP_MM - 6
