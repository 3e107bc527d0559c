"""One sensor to scale: track, gap, marks, where the sensor may go, and every train at rest or at its hit."""

from __future__ import annotations

import math

from reedway.trains import standing
from reedway.trains.makeup import Makeup
from reedway.trains.planned import Plan
from reedway.trains.plantext import common_mark, interval, limits, span, where
from reedway.trains.sheet import BLUE, INK, ORANGE, PALE, Sheet, levels, width_of
from reedway.trains.window import Site

LEFT_PX, PLOT_PX, RIGHT_PX = 20, 1000, 60
SIZE = 13
LABEL_PX = 18  # from one level of labels to the next
ROW_PX = 74
CAR_PX = 18
TICKS_MM = (10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000)
TICKS_MAX = 14


class _Scale:
    """Millimetres to px."""

    def __init__(self, low: float, high: float) -> None:
        room = (high - low) * 0.03 + 5
        self.low, self.high = low - room, high + room

    def x(self, at: float) -> float:
        return LEFT_PX + (at - self.low) / (self.high - self.low) * PLOT_PX

    def ticks(self) -> list[int]:
        step = next((t for t in TICKS_MM if (self.high - self.low) / t <= TICKS_MAX), TICKS_MM[-1])
        first = math.ceil(self.low / step)
        return [n * step for n in range(first, math.floor(self.high / step) + 1)]


def drawing(found: Plan, site: Site) -> str:
    """The drawing of one sensor as SVG text."""
    return sheet(found, site)[1]


def sheet(found: Plan, site: Site) -> tuple[Sheet, str]:
    """The drawing, and its text."""
    page = Sheet()
    at, trains = site.at, [made for made in found.trains_at[site.sensor] if made.magnets]
    noses = [_noses(site, made) for made in trains]
    scale = _scale(site, at, trains, noses)
    title = f"{found.layout.name}: {site.sensor}, {where(site)}"
    page.text(LEFT_PX, 28, title, 16)
    below = _labels(page, site, at, scale, 48)
    track = below + 14
    first = track + (124 if site.place is not None else 84)
    bottom = first - 24 + ROW_PX * len(trains)
    zone = max((m.operating[1] for made in trains for m in made.magnets), default=0.0)
    _sensor(page, site, scale, at, zone, (track, bottom))
    _track(page, site, scale, track)
    _window(page, found, site, scale, track + 34)
    _set_on(page, found, site, scale, track + 74)
    for row, (made, nose) in enumerate(zip(trains, noses, strict=True)):
        _train(page, made, nose, scale, first + ROW_PX * row)
    _axis(page, site, scale, bottom)
    high = _legend(page, site, bottom + 62)
    return page, page.svg(LEFT_PX + PLOT_PX + RIGHT_PX, high, title)


def _noses(site: Site, made: Makeup) -> tuple[float, float]:
    """At rest, least and most; without a place when the first magnet closes the sensor."""
    if site.place is not None:
        return standing.noses(made, site.place)
    first = made.magnets[0]
    return (
        site.at - first.operating[1] / 2 + first.from_nose,
        site.at - first.operating[0] / 2 + first.from_nose,
    )


def _scale(site: Site, at: float, trains: list[Makeup], noses: list[tuple[float, float]]) -> _Scale:
    ends = [at, 0.0]
    for made, (low, high) in zip(trains, noses, strict=True):
        ends += [low - made.length, high]
    if site.place is not None:
        ends += [-site.place.live, site.place.dead]
    elif site.next_spot is not None:
        ends.append(at + site.next_spot)
    return _Scale(min(ends), max(ends))


def _labels(page: Sheet, site: Site, at: float, scale: _Scale, top: float) -> float:
    """Names of the marks above the track, with a line down to it; the y where they end."""
    marks = [(at, site.sensor)]
    if site.place is not None:
        place = site.place
        marks += [(-place.live, f"{place.name} begins"), (0.0, "gap"), (place.dead, "far end")]
        if place.fouling:
            marks.append((place.mark, "mark for noses"))
    else:
        if site.beyond is not None:
            marks.append((0.0, f"end of {site.clear_of}"))
        if site.next_spot is not None:
            marks.append((at + site.next_spot, "next spot"))
    placed = []
    for mark, words in marks:
        half = width_of(words, SIZE) / 2
        x = min(max(scale.x(mark), LEFT_PX + half), LEFT_PX + PLOT_PX + RIGHT_PX - 10 - half)
        placed.append((x, words))
    on = levels(placed, SIZE)
    below = top + LABEL_PX * (max(on) + 1)
    for (mark, _), level in zip(marks, on, strict=True):
        page.line((scale.x(mark), below - LABEL_PX * level - 2), (scale.x(mark), below + 24), INK, 1)
    for (x, words), level in zip(placed, on, strict=True):
        page.text(x, below - LABEL_PX * level - 6, words, SIZE, "middle")
    return below


def _track(page: Sheet, site: Site, scale: _Scale, y: float) -> None:
    left, right = LEFT_PX, LEFT_PX + PLOT_PX
    if site.place is None:
        page.line((left, y), (right, y), INK, 5)
        return
    gap, end = scale.x(0), scale.x(site.place.dead)
    page.line((left, y), (gap - 2, y), INK, 5)
    page.line((gap + 2, y), (end - 2, y), INK, 5, "10 5")
    page.line((end + 2, y), (right, y), INK, 5)


def _sensor(page: Sheet, site: Site, scale: _Scale, at: float, zone: float, ys: tuple[float, float]) -> None:
    """The band over which a magnet may close the sensor, and the sensor."""
    track, bottom = ys
    left, right = scale.x(at - zone / 2), scale.x(at + zone / 2)
    page.rect((left, track), right - left, bottom - track, "none", PALE)
    x = scale.x(at)
    page.line((x, track), (x, bottom), INK, 1, "2 3")
    page.shape([(x, track + 3), (x - 7, track + 16), (x + 7, track + 16)], ORANGE)


def _window(page: Sheet, found: Plan, site: Site, scale: _Scale, y: float) -> None:
    """Where the sensor may go, and what limits that."""
    window = found.windows.get(site.sensor)
    if window is None:
        return
    low, high = interval(site, window)
    if low > high:
        _words(page, LEFT_PX, y + 19, f"no spot serves the whole stock; {limits(window)}")
        return
    span_px = [
        min(max(scale.x(end), LEFT_PX), LEFT_PX + PLOT_PX) if math.isfinite(end) else edge
        for end, edge in ((low, LEFT_PX), (high, LEFT_PX + PLOT_PX))
    ]
    page.line((span_px[0], y), (span_px[1], y), BLUE, 4)
    for x in span_px:
        page.line((x, y - 6), (x, y + 6), BLUE, 2)
    ends = [f"{end:g} mm" if math.isfinite(end) else "anywhere" for end in (low, high)]
    words = f"{site.sensor} serves all from {ends[0]} to {ends[1]}; {limits(window)}"
    _words(page, span_px[0], y + 19, words)


def _set_on(page: Sheet, found: Plan, site: Site, scale: _Scale, y: float) -> None:
    """Where noses go when trains are set on in this place."""
    if site.place is None:
        return
    mark = common_mark(found, site.place.name)
    if mark is None:
        _words(page, LEFT_PX, y + 5, "no placing mark serves every train")
        return
    left, right = scale.x(mark[0]), scale.x(mark[1])
    page.line((left, y), (right, y), INK, 1)
    page.shape([(left, y - 5), (left, y + 5), (left + 8, y)], INK)
    page.shape([(right, y - 5), (right, y + 5), (right - 8, y)], INK)
    _words(page, left, y + 19, f"placing mark: set noses on here, {span(mark)} mm")


def _words(page: Sheet, x: float, y: float, words: str) -> None:
    """Words that begin at x, or farther left where they would not end on the page."""
    page.text(max(LEFT_PX, min(x, LEFT_PX + PLOT_PX - width_of(words, SIZE))), y, words, SIZE)


def _train(page: Sheet, made: Makeup, nose: tuple[float, float], scale: _Scale, y: float) -> None:
    """One train where it comes least far, and by broken lines where it comes farthest."""
    low, high = nose
    words = f"{made.name}: nose {span(nose)}, tail {span((low - made.length, high - made.length))}"
    _words(page, scale.x(low - made.length), y, words)
    top = y + 9
    for _, front, rear in made.cars:
        left, right = scale.x(low - rear), scale.x(low - front)
        page.rect((left, top), right - left, CAR_PX, INK, "#ffffff")
    page.rect(
        (scale.x(high - made.length), top - 3),
        scale.x(high) - scale.x(high - made.length),
        CAR_PX + 6,
        BLUE,
        "none",
        "5 4",
    )
    rail = top + CAR_PX + 10
    for pick_up in dict.fromkeys((made.first_pick_up, made.last_pick_up)):
        page.line((scale.x(low - pick_up), rail), (scale.x(high - pick_up), rail), INK, 1)
        page.circle(scale.x(low - pick_up), rail, 4)
    for magnet in made.magnets:
        x, middle = scale.x(low - magnet.from_nose), top + CAR_PX / 2
        page.line((x, middle), (scale.x(high - magnet.from_nose), middle), ORANGE, 2)
        page.shape([(x, middle - 7), (x + 7, middle), (x, middle + 7), (x - 7, middle)], ORANGE)


def _axis(page: Sheet, site: Site, scale: _Scale, y: float) -> None:
    page.line((LEFT_PX, y), (LEFT_PX + PLOT_PX, y), INK, 1)
    for tick in scale.ticks():
        page.line((scale.x(tick), y), (scale.x(tick), y + 6), INK, 1)
        page.text(scale.x(tick), y + 20, str(tick), 12, "middle")
    words = f"mm from {site.origin}; trains run to the right"
    page.text(LEFT_PX + PLOT_PX / 2, y + 40, words, SIZE, "middle")


def _legend(page: Sheet, site: Site, y: float) -> float:
    """What the signs mean; the y where it ends."""
    state = "at rest" if site.place is not None else "when the magnet closes the sensor"
    rows = [
        ("magnet", f"magnet; its line: from least far to farthest; trains are drawn {state}"),
        ("pick-up", "first and last powered pick-up"),
        ("far", "the train where it comes farthest"),
        ("zone", f"band over which the widest magnet closes {site.sensor}"),
    ]
    if site.place is not None:
        rows.append(("dead", "rail that goes dead"))
    for number, (sign, words) in enumerate(rows):
        middle = y + 20 * number
        x = LEFT_PX + 14
        if sign == "magnet":
            page.shape([(x, middle - 7), (x + 7, middle), (x, middle + 7), (x - 7, middle)], ORANGE)
        elif sign == "pick-up":
            page.circle(x, middle, 4)
        elif sign == "far":
            page.rect((x - 12, middle - 6), 24, 12, BLUE, "none", "5 4")
        elif sign == "zone":
            page.rect((x - 12, middle - 6), 24, 12, "none", PALE)
        else:
            page.line((x - 12, middle), (x + 14, middle), INK, 5, "10 5")
        page.text(LEFT_PX + 40, middle + 5, words, SIZE)
    return y + 20 * len(rows) + 6
