"""The figures of one session as text for a terminal of 80 columns."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap
from typing import Any

from reedway.counting import counted, times
from reedway.report.figures import Session, figures
from reedway.report.strip import LEGEND, SENSOR
from reedway.report.tally import Tally
from reedway.sessionlog.header import Header
from reedway.sessionlog.spans import span

WIDTH = 80
NAME_MAX = 16
CHATTER_MS = 1000
REMARKS_MAX = 12


def report_lines(session: Session) -> Iterator[str]:
    """The whole report."""
    found = figures(session)
    began = f"{found['date']} {found['first'][:8]}".lstrip()
    records = counted(found["records"], "record")
    yield f"{found['layout']}: {began}, {span(found['span_ms'])}, {records}"
    note = session.header.more.get("note")
    if isinstance(note, str):
        yield f"({note})"
    yield from _remarks(found)
    yield from _sensors(found["sensors"])
    yield from _turnouts(found)
    yield from _blocks(found["blocks"])
    yield from _messages(found["messages"])
    yield ""
    yield from strip_lines(session.tally, session.header)
    yield from relay_lines(found["relays"])


def table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """Columns as wide as they must be; the first to the left, the rest to the right."""
    widths = [max(len(row[i]) for row in [heads, *rows]) for i in range(len(heads))]
    for row in [heads, *rows]:
        cells = [
            row[0].ljust(widths[0]),
            *(cell.rjust(n) for cell, n in zip(row[1:], widths[1:], strict=True)),
        ]
        yield "  ".join(cells).rstrip()


def short(name: str, most: int = NAME_MAX) -> str:
    """A name cut to fit."""
    return name if len(name) <= most else name[: most - 1] + "~"


def _remarks(found: dict[str, Any]) -> Iterator[str]:
    if found["resets"]:
        yield f"The board was reset {times(found['resets'])}; the parts are put end to end."
    if found["lost"]:
        lost = counted(found["lost"], "record was", "records were")
        yield f"{lost} lost; the figures are of what is there."
    for remark in found["remarks"][:REMARKS_MAX]:
        yield f"The recording says: {remark}"
    late = found["late_scans"]
    if late["count"]:
        yield f"{counted(late['count'], 'scan')} came late, the longest by {late['longest_ms']} ms."
    modes = [f"{mode} {span(ms)}" for mode, ms in found["modes_ms"].items() if ms]
    if modes:
        yield "Mode: " + ", ".join(modes)


def _spread(spread: dict[str, int] | None) -> str:
    if spread is None:
        return "-"
    return "/".join(span(spread[key]).replace(" min ", "m").replace(" s", "s") for key in spread)


def _sensors(sensors: dict[str, Any]) -> Iterator[str]:
    if not sensors:
        return
    yield ""
    rows = [
        [
            short(name),
            str(s["hits"]),
            _spread(s["interval"]),
            _spread(s["closed"]),
            str(s["chatter"]),
            str(s["rests"]),
        ]
        for name, s in sensors.items()
        if not s["button"]
    ]
    spreads = ["apart (min/med/max)", "closed (min/med/max)"]
    if rows:
        yield from table(["Sensor", "hits", *spreads, "chatter", "rest"], rows)
    pressed = [f"{name} {s['hits']}" for name, s in sensors.items() if s["button"]]
    if pressed:
        yield from wrap("Buttons pressed: " + ", ".join(pressed), WIDTH, subsequent_indent="    ")


def _turnouts(found: dict[str, Any]) -> Iterator[str]:
    if found["turnouts"]:
        yield ""
        rows = [
            [short(name), *(str(t[key]) for key in ("throws", "deferred", "refreshes", "skipped"))]
            for name, t in found["turnouts"].items()
        ]
        yield from table(["Turnout", "throws", "deferred", "refreshes", "skipped"], rows)
    if found["coils"]:
        yield ""
        rows = [
            [short(name, 30), str(c["pulses"]), span(c["longest_ms"]), span(c["total_ms"])]
            for name, c in found["coils"].items()
        ]
        yield from table(["Coil", "pulses", "longest", "together"], rows)


def _blocks(blocks: dict[str, Any]) -> Iterator[str]:
    if blocks:
        yield ""
        rows = [
            [short(name, 30), str(b["changes"]), span(b["go_ms"]), f"{100 * b['go_share']:.0f} %"]
            for name, b in blocks.items()
        ]
        yield from table(["Block", "changes", "go", "of the time"], rows)


def _messages(messages: list[dict[str, Any]]) -> Iterator[str]:
    yield ""
    if not messages:
        yield "No notes, cautions or faults."
    for message in messages:
        often = f", {times(message['count'])}" if message["count"] > 1 else ""
        stood = f", stood {span(message['standing_ms'])}" if message["standing_ms"] else ""
        yield f"{message['first'][:8]} {message['kind']}: {message['text']}{often}{stood}"


def strip_lines(tally: Tally, header: Header) -> Iterator[str]:
    """The picture over time with its clock and what its characters mean; buttons are left out."""
    strip = tally.strip
    buttons = {name for name, sensor in tally.sensors.items() if sensor.is_button}
    names = [name for kind, name in strip.rows if kind != SENSOR or name not in buttons]
    if not names:
        return
    width = min(NAME_MAX, max(map(len, names)))
    drawn = strip.draw(WIDTH - width - 2)
    columns = len(next(iter(drawn.values())))
    ends = [header.clock(t)[:8] for t in (strip.start, (strip.start + strip.now) // 2, strip.now)]
    if columns >= 26:
        gap = columns - sum(map(len, ends))
        yield " " * (width + 2) + ends[0] + " " * (gap // 2) + ends[1] + " " * (gap - gap // 2) + ends[2]
    for kind, legend in LEGEND.items():
        rows = {name: cells for (k, name), cells in drawn.items() if k == kind and name in names}
        for name, cells in rows.items():
            yield f"{short(name, width):<{width}}  {cells}"
        if rows:
            yield f"{'':<{width}}  {legend}"


def relay_lines(relays: dict[str, Any]) -> Iterator[str]:
    """For each sensor that throws: what a relay would have done."""
    if relays:
        yield ""
        yield "The longest closing of each sensor that throws a turnout:"
    for name, r in relays.items():
        held = span(r["held_longest_ms"])
        told = f"{name}: closed {held}: a relay would have held the coil {held};"
        reedway = f"Reedway: {r['pulse_longest_ms'] / 1000:.3f} s"
        if r["closings"] > 1 and r["held_longest_ms"] >= CHATTER_MS:  # else it is bounce
            reedway += f" (the contact closed {r['closings']} times)"
        if len(told) + 1 + len(reedway) <= WIDTH:
            yield f"{told} {reedway}"
        else:
            yield told
            yield f"    {reedway}"
