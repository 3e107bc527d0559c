"""Shadow mode: the board gets no pin of an output, and inputs may sense what the old relays do beside it."""

from __future__ import annotations

from dataclasses import dataclass

from reedlogic import boardfile as b
from reedway.boardfile.pintable import OUT, Row
from reedway.layout.model import Layout, Level, Sensor
from reedway.layout.near import did_you_mean
from reedway.problems import Complaint

_DISARMED = (b.P_COIL, b.P_FEED, b.P_SUPPLY, b.P_ARM)


@dataclass(frozen=True)
class Deed:
    """What a relay board does: throws a turnout to a position (0 or 1), or feeds a block (1)."""

    name: str
    value: int
    is_throw: bool


def board_rows(rows: list[Row], is_shadow: bool) -> list[Row]:
    """What the board is told of its pins: in shadow mode nothing of coils, feeds, supplies and arm line."""
    if not is_shadow:
        return rows
    mark = Row(
        "shadow", 0, b.P_SHADOW, 1, OUT, "none", 0, "outputs disarmed: no coil, feed, supply, arm line"
    )
    return [row for row in rows if row.role not in _DISARMED] + [mark]


def deeds(layout: Layout) -> dict[str, Deed]:
    """Every sentence that may stand after `senses`."""
    found = {}
    for turnout in layout.turnouts:
        for value, position in enumerate((turnout.first, turnout.second)):
            found[f"{turnout.name} to {position}"] = Deed(turnout.name, value, True)
    return found | {f"{block.name} goes": Deed(block.name, 1, False) for block in layout.blocks}


def _inputs(layout: Layout) -> list[Sensor | Level]:
    return [*layout.sensors, *layout.levels]


def sensed(layout: Layout) -> dict[str, tuple[str, Deed]]:
    """Input -> (sentence, deed) for every input that senses something of the old relays."""
    by_fold = {sentence.casefold(): (sentence, deed) for sentence, deed in deeds(layout).items()}
    found = {}
    for thing in _inputs(layout):
        if thing.senses is not None:
            known = by_fold.get(" ".join(thing.senses.text.split()).casefold())
            if known is not None:
                found[thing.name] = known
    return found


def check_shadow(layout: Layout) -> list[Complaint]:
    """What `senses` cannot mean, and position contacts where nothing of ours moves the points."""
    found = []
    known = list(deeds(layout))
    right = sensed(layout)
    for thing in _inputs(layout):
        if thing.senses is not None and thing.name not in right:
            advice = did_you_mean(thing.senses.text, known) if known else "there is no turnout or block yet"
            message = f"senses of {thing.name}: '{thing.senses}' is nothing that relays do here; {advice}"
            found.append(Complaint(layout.path, thing.senses.line, message))
    if layout.is_shadow:
        for turnout in layout.turnouts:
            if turnout.contact_first or turnout.contact_second:
                message = (
                    f"turnout {turnout.name}: in shadow mode the old relays move the points, so a position "
                    "contact would contradict the logic; take `contacts` out until the coils go over"
                )
                found.append(Complaint(layout.path, turnout.line, message))
    return found
