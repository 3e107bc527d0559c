"""What `magnets` says about each magnet over each sensor, as data and as text."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from reedway.electrics import magnets, passing
from reedway.electrics.magnetdata import Magnet
from reedway.electrics.model import MagnetPart, SensorPart, Surroundings
from reedway.electrics.parts import sensor_part_of
from reedway.electrics.units import shown
from reedway.layout.model import Layout, Sensor
from reedway.problems import Complaint, LayoutError

MISSING = """\
Nothing is known yet about {what}. Measure on the bench and add to the layout file, for example:
electrics:
  magnets:
    head magnet: {{shape: cylinder, size: 6 x 20 mm, grade: N42, lies: along, height: 6 mm to 9 mm}}
  sensor_parts:
    small reed: {{measured_with: head magnet, measured_height: 8 mm, closes_at: 10 mm, opens_at: 11 mm}}
Slide the magnet past the reed at that height: note how far before the middle it closes, how far beyond it
opens. The figures are examples, not yours. All keys: reedway check --schema"""
CAUTION = (
    "Strong magnets: keep them away from pacemakers and from children (swallowed magnets are an emergency); "
    "they snap together and break."
)


@dataclass
class Pass:
    """One magnet over the sensors that share a part and times; the worst of height, side and turning."""

    magnet: str
    sensors: list[str]
    length_mm: tuple[float, float]
    closings: tuple[int, int]
    closed_ms: tuple[float, float]
    needed_mm: float
    gap_ms: float
    aside_mm: tuple[float, float]
    sideways_mm: float
    height_mm: tuple[float, float]
    window_mm: tuple[float, float] | None
    operates_mt: tuple[float, float]
    seen: bool
    once: bool
    rests: bool
    notes: list[str]

    @property
    def good(self) -> bool:
        """One sure hit a pass."""
        return self.seen and self.once


def magnet_of(part: MagnetPart, around: Surroundings) -> Magnet:
    """The magnet in the layout's surroundings."""
    return Magnet(part.shape, part.size_mm, part.grade, around.coldest_c, around.warmest_c)


def sensor_of(layout: Layout, part: SensorPart) -> magnets.Sensor | None:
    """The sensor's points as written or as measured on the bench; None when neither is given."""
    if part.measured_with is not None and part.closes_at_mm is not None and part.opens_at_mm is not None:
        used = next(m for m in layout.electrics.magnets if m.name == part.measured_with)
        way = magnets.Way(used.lies, part.measured_height_mm)
        blank = magnets.Sensor(part.kind, part.lies, (1, 1), (1, 1))
        magnet = magnet_of(used, layout.electrics.surroundings)
        measured = (-part.closes_at_mm, part.opens_at_mm, magnets.BENCH_SPREAD)
        try:
            return magnets.from_bench(magnet, way, blank, *measured)
        except ValueError as why:
            raise LayoutError(
                [Complaint(layout.path, part.line, f"sensor part {part.name}: {why}")]
            ) from None
    if part.operates_mt is None or part.releases_mt is None:
        return None
    return magnets.Sensor(part.kind, part.lies, part.operates_mt, part.releases_mt)


def timing_of(sensor: Sensor, around: Surroundings) -> passing.Timing:
    """What the sensor's input asks for at the layout's speeds."""
    times = (sensor.confirm_ms, sensor.opening_ms, sensor.rearm_ms, sensor.at_rest_ms)
    return passing.Timing(around.slowest_m_s, around.fastest_m_s, *times)


def passes(layout: Layout) -> list[Pass]:
    """Every magnet over every group of like sensors. A bench measurement that cannot be is a LayoutError."""
    groups: dict[tuple[Any, ...], tuple[SensorPart, list[Sensor]]] = {}
    for sensor in layout.sensors:
        part = sensor_part_of(layout.electrics, sensor.name)
        if part is not None:
            times = (sensor.confirm_ms, sensor.opening_ms, sensor.rearm_ms, sensor.at_rest_ms)
            groups.setdefault((part.name, *times), (part, []))[1].append(sensor)
    found = []
    for part, sensors in groups.values():
        feels = sensor_of(layout, part)
        if feels is not None:
            found += [_pass(layout, magnet, part, feels, sensors) for magnet in layout.electrics.magnets]
    return found


def _pass(
    layout: Layout, part: MagnetPart, sensor_part: SensorPart, feels: magnets.Sensor, sensors: list[Sensor]
) -> Pass:
    around = layout.electrics.surroundings
    magnet, timing = magnet_of(part, around), timing_of(sensors[0], around)
    asides = passing.turned_asides_mm(sensor_part.aside_mm, part.aside_mm, part.play_mm)
    middle = magnets.Way(part.lies, sum(part.height_mm) / 2)
    verdicts = [
        passing.judge(magnet, magnets.Way(part.lies, height, aside), feels, timing)
        for height in sorted({*part.height_mm, middle.height_mm})
        for aside in sorted({*asides})
    ]
    counts = [len(spans) for verdict in verdicts for spans in (verdict.least, verdict.most)]
    return Pass(
        magnet=part.name,
        sensors=[sensor.name for sensor in sensors],
        length_mm=(min(v.length_mm[0] for v in verdicts), max(v.length_mm[1] for v in verdicts)),
        closings=(min(counts), max(counts)),
        closed_ms=(min(v.closed_ms[0] for v in verdicts), max(v.closed_ms[1] for v in verdicts)),
        needed_mm=timing.needed_mm,
        gap_ms=max(v.gap_ms for v in verdicts),
        aside_mm=asides,
        sideways_mm=passing.sideways_mm(magnet, magnets.Way(part.lies, part.height_mm[1]), feels, timing),
        height_mm=part.height_mm,
        window_mm=passing.height_window_mm(magnet, middle, feels, timing),
        operates_mt=feels.operate_mt,
        seen=all(v.seen for v in verdicts),
        once=all(v.once for v in verdicts),
        rests=any(v.rests for v in verdicts),
        notes=_notes(part, sensor_part),
    )


def _notes(part: MagnetPart, sensor_part: SensorPart) -> list[str]:
    notes = []
    if sensor_part.measured_with is None:
        notes.append("the sensor's points are not measured with your magnet: the reed's steel is left out")
    if sensor_part.kind == "hall" and part.lies != "vertical":
        notes.append(
            "a turned engine shows a Hall sensor the other pole first: it may close late or not at all"
        )
    if sensor_part.kind == "reed" and (part.lies, sensor_part.lies) == ("vertical", "along"):
        notes.append(
            "an upright magnet over a lengthwise reed closes it twice; lay one of them the other way"
        )
    return notes


def operating_lengths_mm(layout: Layout) -> dict[tuple[str, str], tuple[float, float]]:
    """Least and most operating length by (sensor, magnet), for planning where sensors go."""
    return {(sensor, one.magnet): one.length_mm for one in passes(layout) for sensor in one.sensors}


def missing(layout: Layout) -> list[str]:
    """Sensors whose part or points are not described, or all of them while there is no magnet."""
    left = []
    for sensor in layout.sensors:
        part = sensor_part_of(layout.electrics, sensor.name)
        if not layout.electrics.magnets or part is None or sensor_of(layout, part) is None:
            left.append(sensor.name)
    return left


def as_json(layout: Layout, found: list[Pass]) -> dict[str, Any]:
    """All passes as JSON can carry them."""
    rows = [{**asdict(one), "good": one.good} for one in found]
    return {
        "file": layout.path,
        "passes": rows,
        "not_described": missing(layout),
        "limits": list(magnets.LIMITS),
        "caution": CAUTION,
    }


def text(layout: Layout, found: list[Pass]) -> list[str]:
    """All passes for the terminal."""
    lines: list[str] = []
    for one in found:
        lines += [*_lines(one), ""]
    left = missing(layout)
    if left:
        lines += [*MISSING.format(what=", ".join(left)).split("\n"), ""]
    if not layout.sensors:
        lines += ["This layout has no sensors.", ""]
    if found:
        lines += [f"Limit: {limit}" for limit in magnets.LIMITS]
    return [*lines, CAUTION]


def _lines(one: Pass) -> list[str]:
    least, most = one.closings
    times = f"{least}" if least == most else f"{least} to {most}"
    window = "no height works"
    if one.window_mm:
        window = f"{shown(one.window_mm[0], 'mm')} to {shown(one.window_mm[1], 'mm')}"
    low, high = one.height_mm
    lines = [
        f"{one.magnet} over {', '.join(one.sensors)}",
        f"  sure hit:         {'yes' if one.seen else 'NO'}; "
        f"the fastest train needs {shown(one.needed_mm, 'mm')}",
        f"  one hit a pass:   {'yes' if one.once else 'NO'}; closings {times}, "
        f"longest opening between them {shown(one.gap_ms, 'ms')}",
        f"  operating length  {shown(one.length_mm[0], 'mm')} to {shown(one.length_mm[1], 'mm')}",
        f"  closed for        {shown(one.closed_ms[0], 'ms')} (fastest) to "
        f"{shown(one.closed_ms[1], 'ms')} (slowest)",
        f"  height            {shown(low, 'mm')} to {shown(high, 'mm')} in the stock; works: {window}",
        f"  aside             up to {shown(one.aside_mm[1], 'mm')} with a turned engine; "
        f"works: up to {shown(one.sideways_mm, 'mm')}",
        f"  sensor operates   at {shown(one.operates_mt[0], 'mT')} to {shown(one.operates_mt[1], 'mT')}",
    ]
    if one.rests:
        lines.append("  the slowest train would be taken for a magnet at rest: lengthen at_rest or use never")
    return [*lines, *(f"  note: {note}" for note in one.notes)]
