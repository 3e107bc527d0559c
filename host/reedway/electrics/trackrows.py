"""The way from the throttle to the rails, as rows of boxes: track feed, each block's fuse and relay."""

from __future__ import annotations

from reedlogic import boardfile as b
from reedway.electrics.feedload import TRACK_FEED
from reedway.electrics.parts import feed_part_of
from reedway.electrics.supplyrows import NO_FUSE
from reedway.electrics.wiring import Wiring

REST = "all other rails"


def track_rows(found: Wiring) -> tuple[list[str], list[list[str]]]:
    """Boxes from the throttle to the wire *track live*, and a row of boxes from that wire for each block.

    No rows where the layout switches no feed.
    """
    feeds = [one for one in found.terminals if one.role == b.P_FEED]
    if not feeds:
        return [], []
    before = ["throttle", "switch by hand"]
    rows = []
    for one in feeds:
        contact = f"contact of {one.terminal}"
        if one.what == TRACK_FEED:
            before += [_fuse(found, one.what), contact]
        else:
            name = one.what.removeprefix("block ")
            rows.append([_fuse(found, name), contact, f"rails of {name}"])
    return before, [*rows, [REST if rows else "all rails"]]


def _fuse(found: Wiring, name: str) -> str:
    part = feed_part_of(found.layout.electrics, name)
    return f"fuse {part.fuse.letter} {part.fuse.rating_a:g} A" if part and part.fuse else NO_FUSE
