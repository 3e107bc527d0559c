"""Does each fuse blow on a short before its wire's insulation is at its limit: fuse by fuse, wire by wire."""

from __future__ import annotations

from dataclasses import dataclass

from reedway.electrics import fuses, limits, wires
from reedway.electrics.model import Cable
from reedway.electrics.parts import feed_part_of
from reedway.electrics.units import shown
from reedway.layout.model import Layout

TIMES_RATING = 10  # of a short; the last multiple that fuse standards give times for


@dataclass(frozen=True)
class FuseRow:
    """A short of `amps_a`: the fuse has blown after `blows_s` at the latest, the wire bears it `bears_s`."""

    what: str
    fuse: str
    wire_mm2: float
    amps_a: float
    blows_s: float
    bears_s: float

    @property
    def saved(self) -> bool:
        """False where the wire's time is up first; the wire table holds up to five seconds only."""
        return not (self.blows_s <= wires.K_SECONDS_MAX and self.bears_s < self.blows_s)


def fuse_row(what: str, fuse: fuses.Fuse, cable: Cable) -> FuseRow:
    """One fuse and one wire behind it, at ten times the fuse's rating."""
    amps = TIMES_RATING * fuse.rating_a
    name = f"{fuse.letter} {fuse.rating_a:g} A"
    blows, bears = fuse.blows_by_s(amps), wires.short_seconds(cable.wire_mm2, amps)
    return FuseRow(what, name, cable.wire_mm2, amps, blows, bears)


def fuse_rows(layout: Layout) -> list[FuseRow]:
    """A row for every described fuse and wire of the layout, each pair once."""
    found: list[FuseRow] = []
    for wired in limits.wired_turnouts(layout):
        fuse = wired.source.fuse
        if fuse:
            found += [
                fuse_row(f"source {wired.source.name}", fuse, cable)
                for cable in (wired.source.cable, wired.part.cable)
            ]
    feeds = [(block.name, f"block {block.name}") for block in layout.blocks]
    feeds += [("track feed", "the track feed")] if layout.track_feed else []
    for name, what in feeds:
        part = feed_part_of(layout.electrics, name)
        if part and part.fuse:
            found.append(fuse_row(what, part.fuse, part.cable))
    return list(dict.fromkeys(found))


def fuse_text(row: FuseRow) -> str:
    """The row as a sentence."""
    verdict = "" if row.saved else ": the wire is too thin"
    return (
        f"{row.what}: a short of {shown(row.amps_a, 'A')} blows {row.fuse} within {shown(row.blows_s, 's')}; "
        f"{shown(row.wire_mm2, 'mm2')} bears it for {shown(row.bears_s, 's')}{verdict}"
    )
