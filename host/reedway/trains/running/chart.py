"""The time-distance chart of a run: time to the right, the way round upwards, one line for each nose."""

from __future__ import annotations

from dataclasses import dataclass

from reedway.trains.running.ground import Ground
from reedway.trains.running.traced import Point, Traced
from reedway.trains.sheet import INK, PALE, Sheet, width_of

LEFT_PX, PLOT_PX, RIGHT_PX, TOP_PX = 200, 1000, 90, 74
HIGH_PX = 720
BAND_PX = 4  # between bands that are not one way
LABEL_PX = 16
SIZE = 12
# Told apart by the colour-blind, different in grey, and with a dash of their own (Okabe and Ito).
LINES = (("#0072b2", ""), ("#d55e00", "9 4"), ("#000000", "2 3"), ("#009e73", "12 3 3 3"), ("#cc79a7", "5 2"))
STEPS_S = (1, 2, 5, 10, 15, 30, 60, 120)
TICKS_MAX = 13
CURVE = 8  # straight pieces for a stretch of speeding up or slowing down
TOLD_MAX = 6


@dataclass(frozen=True)
class Bands:
    """Where every section is on the page: its beginning is lower, its end higher."""

    bottom: list[float]
    px_per_mm: float

    def y(self, section: int, s: float) -> float:
        return self.bottom[section] - s * self.px_per_mm


def chart(run: Traced) -> str:
    """The chart as SVG text."""
    return sheet(run)[1]


def sheet(run: Traced) -> tuple[Sheet, str]:
    """The chart, and its text."""
    page, ground = Sheet(), run.ground
    begin, end, traces = run.window()
    end = max(end, begin + 1_000_000)
    bands = _bands(ground)
    title = f"{run.compiled.layout.name}: where each nose is"
    page.text(20, 28, title, 16)
    _ground(page, ground, bands, run)
    bottom = TOP_PX + HIGH_PX
    _time_axis(page, begin, end, run.started or 0, bottom)

    def x(t: int) -> float:
        return LEFT_PX + (t - begin) / (end - begin) * PLOT_PX

    names = list(run.trains)
    for number, name in enumerate(names):
        ink, dash = LINES[number % len(LINES)]
        for way in _ways(traces.get(name, []), begin, end, bands):
            page.path([(x(t), y) for t, y in way], ink, 2.5, dash)
    y = _signs(page, names, bottom + 66)
    y = _told(page, run, (begin, end), x, y)
    return page, page.svg(LEFT_PX + PLOT_PX + RIGHT_PX, y, title)


def _bands(ground: Ground) -> Bands:
    order = _order(ground)
    whole = sum(ground.sections[i].length for i in order)
    breaks = [n for n in range(1, len(order)) if not _joined(ground, order[n - 1], order[n])]
    scale = (HIGH_PX - BAND_PX * len(breaks)) / whole
    bottom, y = [0.0] * len(ground.sections), float(TOP_PX + HIGH_PX)
    for n, i in enumerate(order):
        y -= BAND_PX if n in breaks else 0
        bottom[i] = y
        y -= ground.sections[i].length * scale
    return Bands(bottom, scale)


def _order(ground: Ground) -> list[int]:
    """Sections from the first one on, tracks that lie beside each other one after the other."""
    track = ground.track
    found: list[int] = []
    todo = [0]
    beside = {
        i: [j for j in range(len(track.to)) if track.before[j] == track.before[i]]
        for i in range(len(track.to))
    }
    while todo:
        i = todo.pop(0)
        if i in found:
            continue
        same = sorted({i, *(beside[i] if track.before[i] else [])})
        found += [one for one in same if one not in found]
        todo += [target for one in same for target in track.to[one]]
    return found


def _joined(ground: Ground, one: int, other: int) -> bool:
    return ground.track.to[one] == [other]


def _spread(wanted: list[tuple[float, str]]) -> list[tuple[float, str]]:
    """Labels moved up and down until each has its own line."""
    placed: list[list[float | str]] = [[y, words] for y, words in sorted(wanted)]
    for _ in range(200):
        moved = False
        for one, other in zip(placed, placed[1:], strict=False):
            short = LABEL_PX - (float(other[0]) - float(one[0]))
            if short > 0.01:
                one[0], other[0] = float(one[0]) - short / 2, float(other[0]) + short / 2
                moved = True
        if not moved:
            break
    return [(float(y), str(words)) for y, words in placed]


def _ground(page: Sheet, ground: Ground, bands: Bands, run: Traced) -> None:
    """Bands with their names and lengths, dead ends, sensors."""
    right = LEFT_PX + PLOT_PX
    names, sensors = [], []
    for i, section in enumerate(ground.sections):
        low, high = bands.y(i, 0), bands.y(i, section.length)
        if len(section.rails) > 1:
            gap = bands.y(i, section.rails[1].start)
            page.rect((LEFT_PX, high), PLOT_PX, gap - high, "none", "#eeeeee")
        page.line((LEFT_PX, low), (right, low), "#999999", 0.8)
        page.line((LEFT_PX, high), (right, high), "#999999", 0.8)
        names.append(((low + high) / 2 + 4, f"{section.name} {section.length:g} mm"))
        for sensor, at in section.sensors:
            y = bands.y(i, at)
            page.line((LEFT_PX, y), (right, y), "#666666", 0.8, "1 4")
            sensors.append((y + 4, run.compiled.names.inputs[sensor]))
    for y, words in _spread(names):
        page.text(LEFT_PX - 10, y, words, SIZE, "end")
    for y, words in _spread(sensors):
        page.text(right + 8, y, words, SIZE)
    page.line((LEFT_PX, TOP_PX), (LEFT_PX, TOP_PX + HIGH_PX), INK, 1)
    page.text(20, 52, "section and its length; trains run upwards, and on at the bottom", SIZE)
    page.text(right + 8, 52, "sensor", SIZE)


def _time_axis(page: Sheet, begin: int, end: int, zero: int, y: float) -> None:
    page.line((LEFT_PX, y), (LEFT_PX + PLOT_PX, y), INK, 1)
    span = (end - begin) / 1e6
    step = next((s for s in STEPS_S if span / s <= TICKS_MAX), STEPS_S[-1])
    first = -(-(begin - zero) // (step * 1_000_000))
    last = (end - zero) // (step * 1_000_000)
    for n in range(first, last + 1):
        t = zero + n * step * 1_000_000
        x = LEFT_PX + (t - begin) / (end - begin) * PLOT_PX
        page.line((x, TOP_PX), (x, y + 6), PALE, 0.6)
        page.line((x, y), (x, y + 6), INK, 1)
        seconds = n * step
        words = (
            f"{seconds // 3600}:{seconds // 60 % 60:02d}:{seconds % 60:02d}" if last * step >= 3600 else ""
        )
        page.text(x, y + 21, words or f"{seconds // 60}:{seconds % 60:02d}", SIZE, "middle")
    unit = "h:min:s" if last * step >= 3600 else "min:s"
    page.text(LEFT_PX + PLOT_PX / 2, y + 42, f"time from the start order, {unit}", SIZE + 1, "middle")


def _ways(points: list[Point], begin: int, end: int, bands: Bands) -> list[list[tuple[int, float]]]:
    """Lines of one train, each without a break."""
    ways: list[list[tuple[int, float]]] = []
    for n, point in enumerate(points):
        until = points[n + 1].t if n + 1 < len(points) else end
        low, high = max(point.t, begin), min(until, end)
        if point.section < 0 or high <= low:
            continue
        pieces = CURVE if point.a else 1
        piece = []
        for k in range(pieces + 1):
            t = low + (high - low) * k // pieces
            dt = (t - point.t) / 1e6
            piece.append((t, bands.y(point.section, point.s + (point.v + point.a * dt / 2) * dt)))
        if ways and ways[-1][-1][0] == piece[0][0] and abs(ways[-1][-1][1] - piece[0][1]) < BAND_PX / 2:
            ways[-1] += piece[1:]
        else:
            ways.append(piece)
    return ways


def _signs(page: Sheet, names: list[str], y: float) -> float:
    """Which line is which train, and what the grounds mean."""
    x = float(LEFT_PX)
    for number, name in enumerate(names):
        ink, dash = LINES[number % len(LINES)]
        page.line((x, y - 4), (x + 40, y - 4), ink, 2.5, dash)
        page.text(x + 48, y, name, SIZE + 1)
        x += 48 + width_of(name, SIZE + 1) + 34
    page.rect((x, y - 11), 30, 13, "#999999", "#eeeeee")
    page.text(x + 38, y, "rail that goes dead", SIZE + 1)
    return y + 24


def _told(page: Sheet, run: Traced, span: tuple[int, int], x, y: float) -> float:  # type: ignore[no-untyped-def]
    """What went wrong, numbered on the chart and told below it."""
    begin, end = span
    found = [(t * 1000, words) for t, kind, words in run.told if kind != "note"]
    if run.wreck is not None:
        wreck = run.wreck
        who = f"{wreck.train} and {wreck.other}" if wreck.other else wreck.train
        found.append((wreck.t, f"{wreck.how}: {who}, in {wreck.section}"))
    found = [(t, words) for t, words in found if begin <= t <= end][-TOLD_MAX:]
    taken = -1e9
    for number, (t, words) in enumerate(found, 1):
        at = max(x(t), taken + 16)
        taken = at
        page.line((x(t), TOP_PX), (x(t), TOP_PX + HIGH_PX), INK, 1.2, "6 3")
        page.text(at, TOP_PX - 6, str(number), SIZE, "middle")
        seconds = (t - (run.started or 0)) / 1e6
        page.text(LEFT_PX, y + 4, f"{number}  after {seconds:.1f} s: {words}", SIZE)
        y += 20
    return y + 8
