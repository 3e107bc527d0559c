"""What the logic would have thrown and fed, and when, beside what the old relays did where that is sensed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from statistics import median
from typing import Any

from reedway.boardfile.shadow import Deed, deeds, sensed
from reedway.layout.model import Layout
from reedway.problems import ReedwayError
from reedway.report.text import short
from reedway.sessionlog.clocks import Clocks
from reedway.sessionlog.reader import LogReader

TOGETHER_MS = 2000  # both did the same within this: it is one deed
FORMS = {True: "{} to {}", False: "{} {}"}


@dataclass
class Row:
    """One deed: when the logic did it and when the relays, in running milliseconds; -1: not."""

    what: str
    ours_ms: int
    theirs_ms: int
    clock: str
    is_sensed: bool


@dataclass
class Shadowing:
    """One evening of shadow mode."""

    rows: list[Row]
    complaints: list[str]

    def count(self, ours: bool, theirs: bool) -> int:
        """Deeds of those that are sensed."""
        return sum(
            row.is_sensed and (row.ours_ms >= 0) == ours and (row.theirs_ms >= 0) == theirs
            for row in self.rows
        )

    @property
    def apart_ms(self) -> list[int]:
        """How much later the relays were, for deeds of both."""
        return [r.theirs_ms - r.ours_ms for r in self.rows if r.ours_ms >= 0 and r.theirs_ms >= 0]


def shadowing(path: str, layout: Layout) -> Shadowing:
    """Read one log of the layout."""
    reader = LogReader(path)
    if reader.header.layout_sha256 != layout.sha256:
        raise ReedwayError(
            f"{path}: recorded with another layout ({reader.header.layout}); --shadow needs that very file"
        )
    known = {(deed.name, deed.is_throw): sentence for sentence, deed in deeds(layout).items()}
    positions = {deed: sentence for sentence, deed in deeds(layout).items()}
    inputs = sensed(layout)
    watched = {sentence for sentence, _ in inputs.values()}
    watched |= {s.removesuffix(" goes") + " stops" for s in watched if s.endswith(" goes")}
    clocks = Clocks(reader.header)
    waiting: dict[str, list[Row]] = {}
    rows: list[Row] = []

    def put(what: str, is_ours: bool) -> None:
        t = clocks.running_ms
        for row in waiting.get(what, []):
            if (row.ours_ms < 0) == is_ours and t - max(row.ours_ms, row.theirs_ms) <= TOGETHER_MS:
                waiting[what].remove(row)
                if is_ours:
                    row.ours_ms = t
                else:
                    row.theirs_ms = t
                return
        moment = clocks.moment()
        clock = f"{moment:%H:%M:%S}.{moment.microsecond // 1000:03d}" if moment else f"{t / 1000:.3f} s"
        row = Row(what, t if is_ours else -1, -1 if is_ours else t, clock, what in watched)
        rows.append(row)
        waiting.setdefault(what, []).append(row)

    for line in reader:
        clocks.take(line)
        if not isinstance(line.value, int):
            continue
        if line.kind == "throw" or (line.kind == "refresh" and line.value == 0):
            position = line.value if line.kind == "throw" else _wanted(rows, line.name, positions)
            put(positions.get(Deed(line.name, position, True), line.name), True)
        elif line.kind == "feed" and (line.name, False) in known:
            put(f"{line.name} {'goes' if line.value else 'stops'}", True)
        elif line.name in inputs and line.kind in ("hit", "change"):
            sentence, deed = inputs[line.name]
            if line.kind == "hit" or line.value:
                put(sentence, False)
            elif not deed.is_throw:
                put(f"{deed.name} stops", False)
    return Shadowing(rows, reader.findings.lines())


def _wanted(rows: list[Row], turnout: str, positions: dict[Deed, str]) -> int:
    """The position a turnout was last thrown to: a throw to where it lies is recorded without it."""
    own = {
        sentence: deed.value for deed, sentence in positions.items() if deed.name == turnout and deed.is_throw
    }
    return next((own[row.what] for row in reversed(rows) if row.what in own and row.ours_ms >= 0), 0)


def shadow_json(found: Shadowing) -> dict[str, Any]:
    """The same for a program."""
    return {
        "rows": [vars(row) for row in found.rows],
        "both": found.count(True, True),
        "only_logic": found.count(True, False),
        "only_relays": found.count(False, True),
        "relays_later_ms": {"median": median(found.apart_ms), "longest": max(found.apart_ms, key=abs)}
        if found.apart_ms
        else None,
        "complaints": found.complaints,
    }


def shadow_lines(found: Shadowing) -> Iterator[str]:
    """A line a deed, and what it comes to."""
    if not found.rows:
        yield "Nothing thrown and nothing fed: was the layout started (`operate ... start`)?"
        return
    yield f"{'clock':<14}{'what':<24}{'the logic':<18}the relays"
    for row in found.rows:
        ours = "would have" if row.ours_ms >= 0 else "nothing"
        if not row.is_sensed:
            theirs = "not sensed"
        elif row.theirs_ms < 0:
            theirs = "nothing"
        elif row.ours_ms < 0:
            theirs = "did"
        else:
            theirs = f"did, {row.theirs_ms - row.ours_ms:+d} ms"
        yield f"{row.clock:<14}{short(row.what, 23):<24}{ours:<18}{theirs}"
    both, ours_only, theirs_only = (
        found.count(*which) for which in ((True, True), (True, False), (False, True))
    )
    if any(row.is_sensed for row in found.rows):
        yield f"Of what is sensed: {both} alike, {ours_only} by the logic only, {theirs_only} by relays only."
    else:
        yield "Nothing of the old relays is sensed; name inputs for it with `senses: TURNOUT to POSITION`."
