"""What the numbers of a board file are called: for reports, sentences and the picture of the layout."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field
from pathlib import Path

from reedway.boardfile.numbering import Numbering
from reedway.boardfile.terminals import number, terminal_name
from reedway.layout.model import Layout
from reedway.problems import ReedwayError

TRACK_FEED = "track feed"


@dataclass
class Names:
    """Names by number; texts of notes, cautions and faults; the sentences of standing rules."""

    layout: str = ""
    inputs: list[str] = field(default_factory=list)  # panel inputs from 30; "" where there is none
    input_kinds: list[str] = field(default_factory=list)
    input_words: list[list[str]] = field(default_factory=list)  # [on, off] of each input
    relays: list[str] = field(default_factory=list)
    blocks: list[str] = field(default_factory=list)  # feeds: with a track feed, it comes last
    places: list[str] = field(default_factory=list)
    turnouts: list[list[str]] = field(default_factory=list)  # [name, first position, second position]
    timers: list[str] = field(default_factory=list)
    lamps: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    starts: list[str] = field(default_factory=list)
    supplies: list[str] = field(default_factory=list)
    coils: list[str] = field(default_factory=list)  # by coil index; "" where none is used
    standing: list[list[str | int]] = field(default_factory=list)  # [sentence, line]

    def to_json(self) -> str:
        """Readable text, one entry a line, for the board folder."""
        lines = [f"  {json.dumps(key)}: {json.dumps(value)}" for key, value in asdict(self).items()]
        return "{\n" + ",\n".join(lines) + "\n}\n"


def read_names(path: Path) -> Names:
    """Names as written by build."""
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        return Names(**data)
    except (OSError, ValueError, TypeError) as error:
        raise ReedwayError(f"{path}: these are not the names of a board folder ({error})") from error


def names_of(layout: Layout, numbering: Numbering) -> Names:
    """All names that do not depend on rules."""
    names = Names(layout.name)
    size = max((item.index + 1 for item in numbering.inputs), default=0)
    names.inputs, names.input_kinds = [""] * size, [""] * size
    names.input_words = [["", ""] for _ in range(size)]
    for item in numbering.inputs:
        names.inputs[item.index] = item.name
        names.input_kinds[item.index] = item.kind
        names.input_words[item.index] = list(item.words)
    names.relays = [relay.name for relay in layout.relays]
    names.blocks = [block.name for block in layout.blocks] + [TRACK_FEED] * (layout.track_feed is not None)
    names.places = [place.name for place in layout.places]
    names.turnouts = [[turnout.name, turnout.first, turnout.second] for turnout in layout.turnouts]
    names.timers = [timer.name for timer in layout.timers]
    names.lamps = [lamp.name for lamp in layout.lamps]
    names.starts = [start.name for start in layout.starts]
    names.supplies = [supply.name for supply in layout.supplies]
    names.coils = _coils(layout)
    return names


def _coils(layout: Layout) -> list[str]:
    pairs = []
    for turnout in layout.turnouts:
        pairs.append((number(terminal_name(turnout.coil_first.text)), f"{turnout.name} to {turnout.first}"))
        pairs.append((number(terminal_name(turnout.coil_second.text)), f"{turnout.name} to {turnout.second}"))
    coils = [""] * max((index + 1 for index, _ in pairs), default=0)
    for index, text in pairs:
        coils[index] = text
    return coils
