"""What each feed carries, the fuse that goes with it, and the lines to add where the layout does not say."""

from __future__ import annotations

from reedway.electrics.parts import feed_part_of, source_of
from reedway.electrics.units import shown
from reedway.layout.model import Layout

TRACK_FEED = "track feed"
TRAIN_A = 1.0  # where nothing is described: the default of `current:` in `feed_parts`
MARGIN = 1.25  # a fuse's rating over what it carries for hours; common practice, no source
USUAL_A = (0.5, 0.63, 0.8, 1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3)  # of T fuses, IEC 60127-2
SOURCE_LINES = (
    "  sources:",
    "    coil bank: {voltage: 24 V, bank: 10000 uF, charged_through: 100 ohm, bleeder: 4.7 kohm, "
    "fuse: T 1 A, cable: 1 m}",
)


def feeds_of(layout: Layout) -> list[str]:
    """The blocks that the board feeds, then the track feed."""
    return [block.name for block in layout.blocks] + ([TRACK_FEED] if layout.track_feed else [])


def trains_at_once(layout: Layout) -> int:
    """The fullest start; without starts the trains that are described; at least one."""
    starts = [len(start.trains_at) for start in layout.starts]
    return max(1, *starts) if starts else max(1, len(layout.stock.trains))


def train_a(layout: Layout, feed: str) -> float:
    """Most that one train draws there; the track feed has the thirstiest where it is not described itself."""
    part = feed_part_of(layout.electrics, feed)
    if part is not None:
        return part.current_a
    if feed == TRACK_FEED:
        return max((one.current_a for one in layout.electrics.feed_parts), default=TRAIN_A)
    return TRAIN_A


def load_a(layout: Layout, feed: str) -> float:
    """What the feed carries: one train in a block, all of them behind the track feed."""
    return train_a(layout, feed) * (trains_at_once(layout) if feed == TRACK_FEED else 1)


def usual_fuse(amps: float) -> str | None:
    """The T fuse that goes with a load; None where the usual ones end."""
    rating = next((one for one in USUAL_A if one >= MARGIN * amps - 1e-9), None)
    return f"T {rating:g} A" if rating else None


def advice(layout: Layout) -> list[str]:
    """Each feed and coil supply without a fuse, what fuse goes with it, and the lines to add."""
    bare = [name for name in feeds_of(layout) if not _has_fuse(layout, name)]
    lines = [_feed_line(layout, name) for name in bare]
    for source in layout.electrics.sources:
        if source.fuse is None:
            lines.append(
                f"source {source.name} (line {source.line}): no fuse; add `fuse: T 1 A` or what fits it"
            )
    sourceless = [one.name for one in layout.turnouts if source_of(layout, one) is None]
    if sourceless:
        lines.append(f"turnouts {', '.join(sourceless)}: their supply is not described, nor its fuse")
    added = [*(SOURCE_LINES if sourceless else ()), *_feed_parts(layout, bare)]
    if added:
        lines += ["add to the layout file, with your own figures (hardware/measuring.md):", "  electrics:"]
        lines += [f"  {line}" for line in added]
    return lines


def _has_fuse(layout: Layout, feed: str) -> bool:
    part = feed_part_of(layout.electrics, feed)
    return part is not None and part.fuse is not None


def _feed_line(layout: Layout, feed: str) -> str:
    one, trains = train_a(layout, feed), trains_at_once(layout) if feed == TRACK_FEED else 1
    what = "the track feed" if feed == TRACK_FEED else f"block {feed}"
    amps = shown(one, "A") + ("" if layout.electrics.feed_parts else " (taken: measure yours)")
    carries = f"all {trains} trains, {amps} each" if trains > 1 else f"one train, {amps}"
    fuse = usual_fuse(one * trains)
    if fuse is None:
        return f"{what}: no fuse described; for {carries}, more than the usual fuses: feed the track in parts"
    part = feed_part_of(layout.electrics, feed)
    add = f"; add `fuse: {fuse}` to {part.name} (line {part.line})" if part else ""
    return f"{what}: no fuse described; for {carries}: {fuse}{add}"


def _feed_parts(layout: Layout, bare: list[str]) -> list[str]:
    """Lines of `feed_parts` for feeds that have none."""
    lacking = [name for name in bare if feed_part_of(layout.electrics, name) is None]
    blocks, lines = [name for name in lacking if name != TRACK_FEED], []
    if blocks:
        amps = train_a(layout, blocks[0])
        kind = f"current: {amps:g} A, fuse: {usual_fuse(amps)}, cable: 3 m"
        lines.append(f"    block feed: {{of: [{', '.join(blocks)}], {kind}}}")
    if TRACK_FEED in lacking:
        kind = f"current: {train_a(layout, TRACK_FEED):g} A, fuse: {usual_fuse(load_a(layout, TRACK_FEED))}"
        lines.append(f"    all rails: {{{kind}, cable: 3 m}}   # the part without `of:` is the track feed's")
    return ["  feed_parts:", *lines] if lines else []
