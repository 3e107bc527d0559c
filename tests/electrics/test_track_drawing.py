"""The drawing of the feeds: no way from the throttle to a rail leads past the track feed's contact."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from electrics import made
from hardware.test_net_names import reach
from reedway.electrics import diagram, fuserows, sheet, wiring
from reedway.layout.load import load_bytes

SVG = "{http://www.w3.org/2000/svg}"
NEAR = 0.3
THROTTLE, TRACK_FEED = "throttle", "contact of track feed"


def box_nets(svg: str) -> dict[str, list[str]]:
    """Each box by its words (numbered where they come twice) with what touches it; joined wires are one."""
    root = ElementTree.fromstring(svg)
    lines = [[float(n.get(k) or 0) for k in ("x1", "y1", "x2", "y2")] for n in root.iter(f"{SVG}line")]
    names = list(range(len(lines)))

    def on(x: float, y: float, line: list[float]) -> bool:
        xs, ys = sorted(line[::2]), sorted(line[1::2])
        return xs[0] - NEAR <= x <= xs[1] + NEAR and ys[0] - NEAR <= y <= ys[1] + NEAR

    for one, a in enumerate(lines):
        for other, c in enumerate(lines):
            if on(a[0], a[1], c) or on(a[2], a[3], c):
                names = [names[one] if name == names[other] else name for name in names]
    found: dict[str, list[str]] = {}
    for node in root.iter(f"{SVG}rect"):
        x, y, wide, high = (float(node.get(key) or 0) for key in ("x", "y", "width", "height"))
        if high != sheet.BOX_PX:
            continue
        words = next(
            str(text.text)
            for text in root.iter(f"{SVG}text")
            if x < float(text.get("x") or 0) < x + wide and y < float(text.get("y") or 0) < y + high
        )
        touching = {
            f"wire {names[number]}"
            for number, (x1, y1, x2, y2) in enumerate(lines)
            for px, py in ((x1, y1), (x2, y2))
            if x - NEAR <= px <= x + wide + NEAR and y - NEAR <= py <= y + high + NEAR
        }
        key = words if words not in found else f"{words} ({len(found)})"
        found[key] = [key, *sorted(touching)]
    return found


def rails_reached(boxes: dict[str, list[str]]) -> set[str]:
    return {words for words in reach(boxes, THROTTLE) if words.startswith(("rails of ", "all "))}


EXAMPLES = (
    "two-trains",
    "three-trains-go-sensor",
    "three-trains-interlocked",
    "three-trains-running-times",
)


@pytest.mark.parametrize("example", EXAMPLES)
def test_every_rail_hangs_behind_the_track_feed_and_its_own_relay(example: str) -> None:
    found = wiring.wire(made.layout(made.section(feed=made.FEED), example))
    boxes = box_nets(diagram.drawing(found))
    blocks = [block.name for block in found.layout.blocks]
    rest = "all other rails" if blocks else "all rails"
    assert rails_reached(boxes) == {f"rails of {name}" for name in blocks} | {rest}
    assert rails_reached({k: v for k, v in boxes.items() if k != TRACK_FEED}) == set()
    for number, name in enumerate(blocks, 1):
        left = {k: v for k, v in boxes.items() if k != f"contact of feed {number}"}
        assert rails_reached(boxes) - rails_reached(left) == {f"rails of {name}"}
    fuses = [words for words in boxes if words.startswith("fuse T 1.25 A")]
    assert len(fuses) == len(blocks) + 1


def test_without_a_track_feed_the_drawing_has_none() -> None:
    text = made.source_of("three-trains-interlocked").replace("track_feed: {terminal: track feed}\n", "")
    found = wiring.wire(load_bytes("made.yaml", (text + made.section(feed=made.FEED)).encode()))
    boxes = box_nets(diagram.drawing(found))
    assert TRACK_FEED not in boxes
    assert "all other rails" in rails_reached(boxes)


def test_wires_have_their_names_and_pins_their_places() -> None:
    drawn = diagram.drawing(wiring.wire(made.layout(made.section(feed=made.FEED))))
    for words in ("held", "armed supply +", "track live", "lit while held", "coil bank supply: 24 V DC"):
        assert f">{words}</text>" in drawn
    assert ">sensor 1 GP12 pin 16</text>" in drawn


def test_fuses_and_bare_wires_are_told() -> None:
    found = wiring.wire(made.layout(made.section(feed=made.FEED)))
    # IEC 60127-2: a T fuse at ten times its rating has blown after 0.3 s.
    # IEC 60364-5-54: k 115, 0.5 mm2, so (115 * 0.5)^2 / 10^2 s.
    row = found.fuses[0]
    assert (row.fuse, row.amps_a, row.blows_s, row.saved) == ("T 1 A", 10, 0.3, True)
    assert row.bears_s == pytest.approx((115 * 0.5) ** 2 / 100)
    assert [row.what for row in found.fuses] == ["source coil bank", "the track feed"]
    assert found.bare == ["contact exit contact", "panel (10 lamps, switches, buttons)"]
    text = "\n".join(wiring.text(found))
    assert "length not described: contact exit contact" in text
    assert "fuses against their wires" in text
    thin = made.layout(made.section(feed="{fuse: T 1.25 A, gauge: 30 AWG}"))
    assert "the wire is too thin" in fuserows.fuse_text(fuserows.fuse_rows(thin)[-1])
    assert [one.message for one in wiring.wire(thin).refused if "the track feed" in one.message]


def test_the_list_has_what_the_pages_ask_for() -> None:
    found = wiring.wire(made.layout(made.section(feed=made.FEED)))
    parts = found.parts
    listed = {(part.what, part.rating) for part in parts}
    assert ("N-channel MOSFET, small", "48 V or more, threshold 0.4 V to 1.5 V") in listed  # twice 24 V
    assert ("N-channel MOSFET, small", "20 V or more, threshold 0.4 V to 1.5 V") in listed
    assert ("track switch", "on and off, 4 A") in listed  # two trains of 1 A, twice
    assert ("relay for a feed", "normally open, 4 A, 5 V coil") in listed  # that of the track feed
    metres = 1.1 * sum(run.length_m for run in found.runs)
    assert ("wire, twisted pair", f"0.5 mm2, {-(-metres // 1):.0f} m") in listed
    reset = [part for part in parts if part.why.startswith("reset: from RUN (pin 30)")]
    assert len(reset) == 1
