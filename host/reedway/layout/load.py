"""Loads a layout file in stages; each stage gives all its complaints together."""

from __future__ import annotations

from reedway.boardfile.pins import check_pins
from reedway.electrics.agreement import check_electrics
from reedway.layout.build import build
from reedway.layout.entries import Reader
from reedway.layout.model import Layout
from reedway.layout.references import check_references
from reedway.layout.yamltext import parse, read_bytes
from reedway.problems import LayoutError
from reedway.track.check import check_track
from reedway.track.derive import derive
from reedway.trains.check import check_stock


def load(path: str) -> Layout:
    """The layout in a file; LayoutError with all complaints of the first stage that has any."""
    return load_bytes(path, read_bytes(path))


def load_bytes(path: str, source: bytes) -> Layout:
    """The layout in a file's bytes; `path` is for the complaints."""
    layout = _read(path, source)
    # stage 4: the track, and rules from it; the trains
    stock = check_stock(layout)
    layout.hits_by_running_time &= not stock  # times come from trains and lengths that are right
    complaints = [*(check_track(layout) or derive(layout)), *stock]
    if complaints:
        raise LayoutError(complaints)
    return layout


def load_underived(path: str, source: bytes) -> Layout:
    """The layout as it is written, without the rules that the track gives."""
    layout = _read(path, source)
    complaints = check_track(layout)
    if complaints:
        raise LayoutError(complaints)
    return layout


def _read(path: str, source: bytes) -> Layout:
    """Stages 1 to 3."""
    tree = parse(path, source)  # stage 1: YAML
    reader = Reader(path)  # stage 2: keys and values
    reader.read_file(tree)
    if reader.complaints:
        raise LayoutError(reader.complaints)
    complaints = check_references(path, reader.entries)  # stage 3: names, terminals, references
    layout = build(path, source, reader.entries)
    complaints += check_pins(layout) + check_electrics(layout)
    if complaints:
        raise LayoutError(complaints)
    return layout
