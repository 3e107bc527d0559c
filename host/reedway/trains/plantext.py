"""The plan as tables for the terminal and as JSON."""

from __future__ import annotations

import math
from dataclasses import asdict
from typing import Any

from reedway.columns import cut, table
from reedway.trains import kinematics as k
from reedway.trains.makeup import Makeup
from reedway.trains.model import Span
from reedway.trains.planned import Passing, Plan, Stand
from reedway.trains.window import OFF, Bound, Site, Window

MISSING = """\
Nothing can be planned yet: {what} missing. Measure with a tape and a watch and add, for example:
vehicles:
  engine: {{length: 120 mm, motor: true, pick_ups: 15 mm to 105 mm, magnet: 30 mm}}
  car: {{length: 130 mm}}
trains:
  goods train:
    vehicles: [engine, car, car]
    speed: 150 mm/s to 240 mm/s
    when_cut: runs on so far
    run_on: 15 mm to 25 mm
lengths:
  track A: {{length: 2.2 m, dead_end: 550 mm, cut_by: N1}}
spots:
  N1: {{place: track A, beyond_gap: 50 mm, clear_of: entry}}
The figures are examples, not yours. All keys: reedway check --schema"""
AT_REST = ("place", "train", "nose", "tail", "first magnet", "pick-ups", "nose short by", "tail clear by")
READ = (
    "mm from the gap of the place, in the direction of running; before the gap with a minus.",
    "Assumed: rail before a gap stays live, trains do not part, coils are cold and banks charged.",
)


BUT_FOR_NOTES = "All will do while it goes as planned; not so in the cases of the notes above."


def missing(found: Plan) -> str:
    """What to add before anything can be planned; "" when there is enough."""
    stock = found.layout.stock
    lists = (("trains", stock.trains), ("spots", stock.spots))
    empty = [name for name, things in lists if not things]
    verb = "is" if len(empty) == 1 else "are"
    return MISSING.format(what=f"{' and '.join(empty)} {verb}") if empty else ""


def down(value: float) -> str:
    """Whole mm, rounded down: so much there is for sure."""
    return str(math.floor(round(value, 6)))


def span(values: Span) -> str:
    """`12 to 20`, outward to whole mm."""
    low, high = math.floor(round(values[0], 6)), math.ceil(round(values[1], 6))
    return f"{low} to {high}" if high > low else f"{low}"


def as_given(values: Span) -> str:
    """`12.5 to 20`, as it was written."""
    return f"{values[0]:g}" if values[0] == values[1] else f"{values[0]:g} to {values[1]:g}"


def text(found: Plan, scale: float | None) -> list[str]:
    """The whole plan, in lines that fit the terminal."""
    return [cut(line) for line in _text(found, scale)]


def _text(found: Plan, scale: float | None) -> list[str]:
    lines = [f"{found.layout.name}: plan", *(f"  {line}" for line in READ), "", "Trains"]
    lines += [f"  {_train(made, scale)}" for made in found.stock]
    if found.stands:
        lines += ["", "At rest"]
        lines += table(AT_REST, [_stand(stand) for stand in found.stands])
    for site in found.sites:
        lines += ["", *_site(found, site)]
    marks = _marks(found)
    if marks:
        lines += ["", "Placing marks: set the nose between, before the far end", *marks]
    if found.notes:
        lines += ["", *(f"Note: {note}" for note in found.notes)]
    problems = [f"  line {problem.line}: {problem.text}" for problem in found.problems]
    if problems:
        return [*lines, "", "Will not do", *problems]
    return [*lines, "", BUT_FOR_NOTES if found.notes else "Everything planned will do."]


def _train(made: Makeup, scale: float | None) -> str:
    low, high = made.train.speed
    speed = f"{as_given((low, high))} mm/s"
    if scale:
        speed += f" (1:{scale:g}: {k.scale_km_h(low, scale):.0f} to {k.scale_km_h(high, scale):.0f} km/h)"
    runs = [coast.distance_mm(v) for coast, v in zip(made.train.coasts(), made.train.speed, strict=True)]
    stops = k.NEVER if math.isinf(runs[1]) else k.AT_ONCE
    if 0 < runs[1] < math.inf:
        stops = f"runs on {span((runs[0], runs[1]))} mm"
    magnets = [
        f"magnet at {m.from_nose:g} mm closes over {as_given(m.operating)} mm ({m.source})"
        for m in made.magnets
    ]
    pick_ups = f"pick-ups {made.first_pick_up:g} to {made.last_pick_up:g} mm"
    parts = [f"{made.length:g} mm", speed, stops, pick_ups, *(magnets or ["no magnet"])]
    return f"{made.name}: {', '.join(parts)}"


def _stand(stand: Stand) -> tuple[str, ...]:
    return (
        stand.place,
        stand.train,
        span(stand.nose),
        span(stand.tail),
        span(stand.magnets[0][1]) if stand.magnets else "none",
        span((stand.pick_ups[1][0], stand.pick_ups[0][1])),
        down(stand.nose_short),
        down(stand.tail_clear),
    )


def where(site: Site) -> str:
    """`50 mm beyond the gap of track A`."""
    parts = []
    if site.place is not None:
        parts.append(f"{_from_gap(site.x)} of {site.place.name}")
    if site.beyond is not None:
        parts.append(f"{site.beyond:g} mm behind {site.clear_of}")
    if not parts:
        parts.append(f"{site.next_spot:g} mm before the next spot")
    return ", ".join(parts)


def _from_gap(x: float) -> str:
    return f"{x:g} mm beyond the gap" if x >= 0 else f"{-x:g} mm before the gap"


def _site(found: Plan, site: Site) -> list[str]:
    head = (
        "train",
        "magnet",
        "closed ms",
        "needed ms",
        "passes clear by",
        "tail clear by",
        "next spot by",
        "acts again",
    )
    rows = [_passing(p) for p in found.passings if p.sensor == site.sensor]
    lines = [f"{site.sensor}  {where(site)}{', makes the end dead' if site.cuts else ''}"]
    lines += table(head, rows) if rows else []
    window = found.windows.get(site.sensor)
    return [*lines, *(_window(found, site, window) if window else [])]


def _passing(p: Passing) -> tuple[str, ...]:
    return (
        p.train,
        p.vehicle,
        f"{math.floor(p.closed_ms * 10) / 10:.1f}",
        f"{p.needed_ms:.1f}",
        "-" if p.beyond is None else down(p.beyond[0]),
        "-" if p.tail_clear is None else down(p.tail_clear),
        "-" if p.next_clear is None else down(p.next_clear),
        "yes" if p.again else "no",
    )


def interval(site: Site, window: Window) -> tuple[float, float]:
    """From and to, from the gap or else from what the train leaves; whole mm, inward."""
    low, high = site.at + window.low.by, site.at + window.high.by
    return (
        low if math.isinf(low) else float(math.ceil(round(low, 6))),
        high if math.isinf(high) else float(math.floor(round(high, 6))),
    )


def _window(found: Plan, site: Site, window: Window) -> list[str]:
    low, high = interval(site, window)
    who = [f"    back: {_who(window.low)}", f"    on: {_who(window.high)}"]
    if window.is_empty or low > high:
        lines = ["  No spot serves the whole stock.", *who]
        tried = found.remedies[site.sensor]
        return [*lines, *(f"    would do: {one}" for one in tried or ["none of the single changes tried"])]
    if site.place is not None:
        return [f"  Serves the whole stock from {_from_gap(low)} to {_from_gap(high)}.", *who]
    if site.beyond is None:
        return [f"  Serves the whole stock up to {down(high)} mm farther on.", *who]
    end = "any distance" if math.isinf(high) else f"{high:g} mm"
    return [f"  Serves the whole stock from {low:g} mm to {end} behind {site.clear_of}.", *who]


def limits(window: Window) -> str:
    """`back: tail clear at the hit, goods train; on: ...`: what keeps the sensor from going farther."""
    return f"back: {_who(window.low)}; on: {_who(window.high)}"


def common_mark(found: Plan, place: str) -> Span | None:
    """Where every train's nose may be set on in a place."""
    stands = [stand for stand in found.stands if stand.place == place]
    if not stands:
        return None
    low, high = max(s.set_on[0] for s in stands), min(s.set_on[1] for s in stands)
    return (low, high) if low <= high else None


def _who(bound: Bound) -> str:
    if math.isinf(bound.by) and not bound.train:
        return "nothing limits it"
    return bound.kind if bound.kind == OFF else f"{bound.kind}, {bound.train}"


def _marks(found: Plan) -> list[str]:
    lines = []
    for name, place in found.places.items():
        stands = [stand for stand in found.stands if stand.place == name]
        if not stands:
            continue
        mark = common_mark(found, name)
        if mark is not None:
            lines.append(f"  {name}: {_before_end(place.dead, mark)}, for every train")
            continue
        for s in stands:
            if s.set_on[0] <= s.set_on[1]:
                lines.append(f"  {name}: {_before_end(place.dead, s.set_on)}, the {s.train}")
    return lines


def _before_end(dead: float, mark: Span) -> str:
    """A mark from the gap as one from the far end back; whole mm, inward."""
    return f"{math.ceil(round(dead - mark[1], 6))} to {down(dead - mark[0])} mm"


def as_json(found: Plan) -> dict[str, Any]:
    """The plan as JSON can carry it; without end is null."""
    sensors = []
    for site in found.sites:
        window = found.windows.get(site.sensor)
        row: dict[str, Any] = {"sensor": site.sensor, "place": site.place.name if site.place else None}
        row |= {"from_gap_mm": site.x if site.place else None, "beyond_mm": site.beyond}
        row["clear_of"] = site.clear_of or None
        row["window"] = None
        if window is not None:
            low, high = interval(site, window)
            row["window"] = {
                "from_mm": _finite(low),
                "to_mm": _finite(high),
                "empty": window.is_empty or low > high,
                "low": {"kind": window.low.kind, "train": window.low.train},
                "high": {"kind": window.high.kind, "train": window.high.train},
                "would_do": found.remedies[site.sensor],
            }
        sensors.append(row)
    return {
        "file": found.layout.path,
        "stands": [_rounded(asdict(stand)) for stand in found.stands],
        "passings": [_rounded(asdict(passing)) for passing in found.passings],
        "sensors": _rounded(sensors),
        "notes": found.notes,
        "problems": [asdict(problem) for problem in found.problems],
    }


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _rounded(value: Any) -> Any:
    """Every number to a micrometre or microsecond."""
    if isinstance(value, float):
        return _finite(round(value, 3))
    if isinstance(value, dict):
        return {key: _rounded(one) for key, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [_rounded(one) for one in value]
    return value
