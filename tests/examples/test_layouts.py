"""The example layouts: good, with a drawing that shows everything, pins and panel included."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from examples.replayed import LAYOUTS
from reedway.boardfile.compile import compile_layout
from reedway.boardfile.pins import check_pins
from reedway.layout.load import load

DRAWING_COLUMNS = 78


@pytest.mark.parametrize("path", LAYOUTS, ids=lambda p: p.stem)
def test_good_without_doubts(path: Path) -> None:
    layout = load(str(path))
    assert check_pins(layout) == []
    assert compile_layout(layout).undecided == []


@pytest.mark.parametrize("path", LAYOUTS, ids=lambda p: p.stem)
def test_drawing_shows_everything(path: Path) -> None:
    layout = load(str(path))
    assert layout.drawing
    assert max(len(line) for line in layout.drawing) <= DRAWING_COLUMNS
    drawn = "\n".join(layout.drawing)
    for thing in (*layout.sensors, *layout.turnouts, *layout.blocks, *layout.places):
        assert re.search(rf"(?<![\w]){re.escape(thing.name)}(?![\w])", drawn), thing.name
    assert all(level.name in drawn for level in layout.levels if level.kind == "detector")


@pytest.mark.parametrize("path", LAYOUTS, ids=lambda p: p.stem)
def test_every_start_can_be_chosen(path: Path) -> None:
    """No two starts want the same switches: what the panel says is what starts."""
    layout = load(str(path))
    wanted = [sorted(str(switch) for switch in start.switches) for start in layout.starts]
    assert len(wanted) == len({tuple(switches) for switches in wanted})


@pytest.mark.parametrize("path", LAYOUTS, ids=lambda p: p.stem)
def test_stop_is_stop_where_trains_are_fed(path: Path) -> None:
    layout = load(str(path))
    if layout.places:
        assert layout.track_feed is not None
        assert {str(button.order) for button in layout.buttons} >= {"start", "stop", "go on", "acknowledge"}
