"""What the drawn wires join, by geometry: no named end lies on ground or on an end of another name."""

from __future__ import annotations

import math
import re
from itertools import combinations
from xml.etree import ElementTree

import pytest

from hardware.netlist import BY_NAME, HARDWARE
from hardware.test_drawings import SVG, texts

Point = tuple[float, float]
END_RADIUS = 2.7  # of an open end; the circles of a switch are larger
NEAR = 0.6


def strokes(root: ElementTree.Element) -> list[list[list[Point]]]:
    """Every path as its strokes, each a list of points."""
    found = []
    for node in root.iter(f"{SVG}path"):
        pieces = [piece for piece in (node.get("d") or "").split("M") if piece.strip()]
        numbers = [[float(n) for n in re.findall(r"-?\d+(?:\.\d+)?(?:e-?\d+)?", piece)] for piece in pieces]
        found.append([list(zip(one[::2], one[1::2], strict=False)) for one in numbers])
    return found


def is_wire(path: list[list[Point]]) -> bool:
    """One straight stroke, upright or level."""
    if len(path) != 1:
        return False
    return any(max(p[axis] for p in path[0]) - min(p[axis] for p in path[0]) < NEAR for axis in (0, 1))


def is_ground(path: list[list[Point]]) -> bool:
    """A foot and three bars, each narrower than the one before."""
    return len(path) == 3 and len(path[0]) == 4 and [len(stroke) for stroke in path[1:]] == [2, 2]


def touches(point: Point, wire: list[Point]) -> bool:
    (x, y), xs, ys = point, [p[0] for p in wire], [p[1] for p in wire]
    return min(xs) - NEAR <= x <= max(xs) + NEAR and min(ys) - NEAR <= y <= max(ys) + NEAR


def joined_ends(svg: str, labels: list[tuple[str, float, float, float, float]]) -> list[set[str]]:
    """The names that each group of joined wires carries; `ground` for a ground symbol."""
    root = ElementTree.fromstring(svg)
    paths = strokes(root)
    wires = [path[0] for path in paths if is_wire(path)]
    points: list[tuple[str, Point]] = [("ground", path[0][0]) for path in paths if is_ground(path)]
    for node in root.iter(f"{SVG}circle"):
        if float(node.get("r") or 0) == END_RADIUS and "fill:white" in (node.get("style") or ""):
            place = (float(node.get("cx") or 0), float(node.get("cy") or 0))
            points.append((min(labels, key=lambda label: away(place, label))[0], place))
    groups = [[wire] for wire in wires] + [[[place]] for _, place in points]
    names = [set[str]() for _ in wires] + [{name} for name, _ in points]
    again = True
    while again:
        again = False
        for one, other in combinations(range(len(groups)), 2):
            if any(meet(a, b) for a in groups[one] for b in groups[other]):
                groups[one] += groups.pop(other)
                names[one] |= names.pop(other)
                again = True
                break
    return names


def meet(one: list[Point], other: list[Point]) -> bool:
    """An end of the one on the other, or the other way round; wires that merely cross are not joined."""
    return any(touches(end, other) for end in (one[0], one[-1])) or any(
        touches(end, one) for end in (other[0], other[-1])
    )


def away(place: Point, label: tuple[str, float, float, float, float]) -> float:
    """From a point to the nearest point of a text's box."""
    _, left, top, right, bottom = label
    drop = 11.0  # schemdraw writes y a line too high and moves the words down
    return math.hypot(
        max(left - place[0], 0, place[0] - right), max(top + drop - place[1], 0, place[1] - bottom - drop)
    )


@pytest.mark.parametrize("name", BY_NAME)
def test_a_named_end_is_not_drawn_on_ground_or_on_another_name(name: str) -> None:
    svg = (HARDWARE / "schematics" / f"{name}.svg").read_text(encoding="utf-8")
    groups = joined_ends(svg, texts(name)[0])
    assert any(groups)
    for names in groups:
        assert len(names) < 2, f"{name}: {sorted(names)} are joined"
    drawn = {one for names in groups for one in names} - {"ground"}
    circuit = BY_NAME[name]
    assert drawn >= {*circuit.gpio, *circuit.rails} - {"ground"}, drawn


def test_the_check_sees_an_end_on_ground() -> None:
    """The drawing of the bank as it once was: *bank +* at the foot of the bleeder."""
    svg = (HARDWARE / "schematics" / "bank.svg").read_text(encoding="utf-8")
    x, y = [path[0][0] for path in strokes(ElementTree.fromstring(svg)) if is_ground(path)][-1]
    foot = f'cx="{x}" cy="{y}" r="2.7" style="stroke:black;fill:white;"'
    moved = svg.replace("</svg>", f"<circle {foot}/></svg>")
    labels = [*texts("bank")[0], ("moved", x - 6, y - 14, x + 6, y - 8)]
    assert {"ground", "moved"} in joined_ends(moved, labels)
