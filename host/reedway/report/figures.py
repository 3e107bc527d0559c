"""The figures of one session as plain data: what `--json` prints and the terminal text is made from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from statistics import median_low
from typing import Any

from reedway.report.tally import Tally
from reedway.sessionlog.header import Header
from reedway.sessionlog.reader import LogReader


@dataclass
class Session:
    """One log, counted."""

    path: str
    header: Header
    tally: Tally
    complaints: list[str]  # what could not be read
    notices: list[str]


def read_session(path: str) -> Session:
    """Count one log; lines that cannot be read are said and left out."""
    reader = LogReader(path)
    tally = Tally()
    for line in reader:
        tally.take(line)
    tally.finish()
    findings = reader.findings
    return Session(path, reader.header, tally, findings.lines(), [str(notice) for notice in findings.notices])


def spread(values_ms: Iterable[int]) -> dict[str, int] | None:
    """Shortest, median (the lower of two in the middle) and longest; None where there is none."""
    values = sorted(values_ms)
    if not values:
        return None
    return {"min_ms": values[0], "median_ms": median_low(values), "max_ms": values[-1]}


def figures(session: Session) -> dict[str, Any]:
    """All figures of a session."""
    tally = session.tally
    return {
        "log": session.path,
        "layout": session.header.layout,
        "layout_sha256": session.header.layout_sha256,
        "started": session.header.started,
        "first": session.header.clock(max(tally.t_first, 0)),
        "date": session.header.date(max(tally.t_first, 0)),
        "span_ms": tally.span_ms,
        "records": tally.records,
        "device_texts": tally.texts,
        "remarks": tally.remarks,
        "resets": tally.resets,
        "lost": tally.lost,
        "late_scans": {"count": tally.lates, "longest_ms": tally.late_longest_ms},
        "modes_ms": tally.modes_ms,
        "sensors": _sensors(tally),
        "levels": tally.levels,
        "turnouts": {name: vars(turnout) for name, turnout in tally.turnouts.items()},
        "coils": {
            name: {"pulses": coil.pulses, "longest_ms": coil.longest_ms, "total_ms": coil.total_ms}
            for name, coil in tally.coils.items()
        },
        "blocks": {
            name: {"changes": b.changes, "go_ms": b.go_ms, "go_share": _share(b.go_ms, tally.span_ms)}
            for name, b in tally.blocks.items()
        },
        "messages": [
            {
                "kind": m.kind,
                "text": m.text,
                "count": m.count,
                "first": session.header.clock(m.first),
                "standing_ms": m.standing_ms,
            }
            for m in tally.messages.values()
        ],
        "relays": _relays(tally),
        "complaints": session.complaints,
        "notices": session.notices,
    }


def _share(part: int, whole: int) -> float:
    return round(part / whole, 4) if whole else 0.0


def _sensors(tally: Tally) -> dict[str, Any]:
    return {
        name: {
            "hits": sensor.hits,
            "interval": spread(sensor.intervals_ms),
            "closed": spread(sensor.closed_ms),
            "chatter": sensor.chatter,
            "rests": sensor.rests,
            "button": sensor.is_button,
        }
        for name, sensor in tally.sensors.items()
    }


def _relays(tally: Tally) -> dict[str, Any]:
    """What a relay at each throwing sensor would have done to the coil, beside the longest pulse given."""
    found = {}
    for name, held in tally.relays.held.items():
        own = [
            coil.longest_ms
            for coil_name, coil in tally.coils.items()
            if any(coil_name.startswith(f"{turnout} to ") for turnout in held.turnouts)
        ]
        found[name] = {
            "throws": held.throws,
            "turnouts": list(held.turnouts),
            "held_longest_ms": held.longest_ms,
            "closings": held.closings,
            "held_total_ms": held.total_ms,
            "pulse_longest_ms": max(own, default=0),
        }
    return found
