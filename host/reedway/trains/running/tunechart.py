"""What came of every value: departures, trains out, waiting and risk over one number, or a table over two."""

from __future__ import annotations

import math
from collections.abc import Callable

from reedway.trains.running.tuning import UNITS, Tried, Tuned, Vary
from reedway.trains.sheet import BLUE, INK, ORANGE, PALE, Sheet, width_of

LEFT_PX, PLOT_PX, RIGHT_PX, TOP_PX = 110, 900, 60, 92
PANEL_PX, GAP_PX = 130, 52
SIZE = 12
STEPS = (1, 2, 5)
TICKS_MAX = 10
CELL_PX = 30

PANELS: tuple[tuple[str, str, Callable[[Tried], float], bool], ...] = (
    ("departures an hour", "all trains together", lambda one: one.departures, True),
    ("trains out", "on average", lambda one: one.out, True),
    ("longest wait, s", "of any train", lambda one: one.wait_s, True),
    ("risk, %", "part of the runs in which something went wrong", lambda one: 100 * one.risk, False),
)


def shown(vary: Vary, value: float) -> str:
    """`850 mm`, `4 s`."""
    if vary.kind == "time":
        return f"{value / 1000:g} s"
    return f"{value:g} {UNITS[vary.kind]}"


def chart(tuned: Tuned) -> str:
    """The chart as SVG text."""
    return sheet(tuned)[1]


def sheet(tuned: Tuned) -> tuple[Sheet, str]:
    """The chart, and its text."""
    return _over_one(tuned) if len(tuned.varied) == 1 else _over_two(tuned)


class _Scale:
    """Values to px along the page."""

    def __init__(self, low: float, high: float, left: float, right: float) -> None:
        self.low, self.high = low, high if high > low else low + 1
        self.left, self.right = left, right

    def __call__(self, value: float) -> float:
        return self.left + (value - self.low) / (self.high - self.low) * (self.right - self.left)

    def ticks(self, most: int) -> list[float]:
        span = self.high - self.low
        power = 10.0 ** math.floor(math.log10(span / most))
        step = next(s * power for s in (*STEPS, 10) if span / (s * power) <= most)
        first = math.ceil(self.low / step - 1e-9)
        return [n * step for n in range(first, math.floor(self.high / step + 1e-9) + 1)]


def _over_one(tuned: Tuned) -> tuple[Sheet, str]:
    page, vary = Sheet(), tuned.varied[0]
    values = [one.values[0] for one in tuned.tried]
    x = _Scale(values[0], values[-1], LEFT_PX, LEFT_PX + PLOT_PX)
    title = f"{tuned.layout.name}: {vary.title}"
    page.text(20, 28, title, 16)
    bottom = TOP_PX + len(PANELS) * (PANEL_PX + GAP_PX) - GAP_PX
    _window(page, tuned, x, bottom)
    now = tuned.now[0]
    if values[0] <= now <= values[-1]:
        page.line((x(now), TOP_PX), (x(now), bottom), INK, 1.5, "6 3")
    for number, panel in enumerate(PANELS):
        _panel(page, tuned.tried, panel, x, TOP_PX + number * (PANEL_PX + GAP_PX))
    _axis(page, vary, x, bottom)
    y = _legend(page, tuned, bottom + 62)
    return page, page.svg(LEFT_PX + PLOT_PX + RIGHT_PX, y, title)


def _window(page: Sheet, tuned: Tuned, x: _Scale, bottom: float) -> None:
    window = tuned.window
    words = "no value without something going wrong"
    if window is not None:
        page.rect((x(window.low), TOP_PX), x(window.high) - x(window.low), bottom - TOP_PX, "none", "#e4eef6")
        ends = shown(tuned.varied[0], window.low), shown(tuned.varied[0], window.high)
        words = f"nothing goes wrong from {ends[0]} to {ends[1]}"
    page.text(20, 52, words, SIZE + 1)


def _panel(page: Sheet, tried: list[Tried], panel, x: _Scale, top: float) -> None:  # type: ignore[no-untyped-def]
    name, of, read, only_good = panel
    shown_at = [(one.values[0], read(one)) for one in tried if not only_good or one.risk < 1]
    most = max((value for _, value in shown_at), default=0.0)
    least = min((value for _, value in shown_at), default=0.0)
    low = 0.0 if not only_good or most <= 0 else max(0.0, least - (most - least) * 0.3)
    y = _Scale(low, 100.0 if not only_good else (most * 1.02 or 1.0), top + PANEL_PX, top)
    page.line((LEFT_PX, top), (LEFT_PX, top + PANEL_PX), INK, 1)
    page.line((LEFT_PX, top + PANEL_PX), (LEFT_PX + PLOT_PX, top + PANEL_PX), INK, 1)
    for tick in y.ticks(4):
        page.line((LEFT_PX - 5, y(tick)), (LEFT_PX + PLOT_PX, y(tick)), PALE, 0.6)
        page.text(LEFT_PX - 9, y(tick) + 4, f"{tick:.6g}", SIZE, "end")
    page.text(LEFT_PX, top - 12, f"{name} ({of})", SIZE + 1)
    ink, dash = (ORANGE, "") if not only_good else (BLUE, "")
    parts: list[list[tuple[float, float]]] = [[]]
    good = {value for value, _ in shown_at}
    read_at = dict(shown_at)
    for one in tried:
        if one.values[0] in good:
            parts[-1].append((x(one.values[0]), y(read_at[one.values[0]])))
        elif parts[-1]:
            parts.append([])
    for part in parts:
        if len(part) > 1:
            page.path(part, ink, 2, dash)
        for at in part:
            page.circle(*at, 2.5, ink)


def _axis(page: Sheet, vary: Vary, x: _Scale, y: float) -> None:
    for tick in x.ticks(TICKS_MAX):
        page.line((x(tick), y), (x(tick), y + 6), INK, 1)
        words = f"{tick / 1000:g}" if vary.kind == "time" else f"{tick:g}"
        page.text(x(tick), y + 21, words, SIZE, "middle")
    unit = "s" if vary.kind == "time" else UNITS[vary.kind]
    page.text(LEFT_PX + PLOT_PX / 2, y + 42, f"{vary.title}, {unit}", SIZE + 1, "middle")


def _legend(page: Sheet, tuned: Tuned, y: float) -> float:
    page.rect((LEFT_PX, y - 11), 30, 13, "#999999", "#e4eef6")
    page.text(LEFT_PX + 38, y, "nothing goes wrong", SIZE)
    at = LEFT_PX + 38 + width_of("nothing goes wrong", SIZE) + 30
    page.line((at, y - 4), (at + 30, y - 4), INK, 1.5, "6 3")
    page.text(at + 38, y, f"as the layout file has it: {shown(tuned.varied[0], tuned.now[0])}", SIZE)
    window = tuned.window
    for side, words in (("below", window.below), ("above", window.above)) if window else ():
        if words:
            y += 20
            page.text(LEFT_PX, y, f"{side}: {_short(words)}", SIZE)
    return y + 20


def _short(words: str) -> str:
    most = int((PLOT_PX - 60) / width_of("x", SIZE))
    return words if len(words) <= most else words[: most - 3] + "..."


def _over_two(tuned: Tuned) -> tuple[Sheet, str]:
    """A cell for each pair: departures an hour, or a cross where something goes wrong."""
    page = Sheet()
    across, up = tuned.varied
    columns, rows = across.values(), up.values()
    wide = max(44.0, width_of("000 %", SIZE) + 10)
    title = f"{tuned.layout.name}: {across.title} and {up.title}"
    page.text(20, 28, title, 16)
    page.text(20, 52, "in each cell departures an hour; dark: something goes wrong in so many runs", SIZE)
    left, top = 110.0, 92.0
    page.text(left, 80, f"rows: {up.title}", SIZE)
    by_values = {one.values: one for one in tuned.tried}
    for r, value in enumerate(reversed(rows)):
        y = top + r * CELL_PX
        page.text(left - 8, y + 19, shown(up, value), SIZE, "end")
        for c, other in enumerate(columns):
            one = by_values[other, value]
            bad = one.risk > 0
            page.rect((left + c * wide, y), wide, CELL_PX, "#999999", PALE if bad else "#ffffff")
            words = f"{100 * one.risk:.0f} %" if bad else f"{one.departures:.0f}"
            _cell(page, left + (c + 0.5) * wide, y + 19, words)
    bottom = top + len(rows) * CELL_PX
    every = max(1, math.ceil(max(width_of(shown(across, v), SIZE) for v in columns) / wide + 0.2))
    for c, other in enumerate(columns):
        if c % every == 0:
            page.text(left + (c + 0.5) * wide, bottom + 18, shown(across, other), SIZE, "middle")
    page.text(left, bottom + 42, f"columns: {across.title}", SIZE)
    return page, page.svg(max(left + len(columns) * wide, 20 + width_of(title, 16)) + 40, bottom + 60, title)


def _cell(page: Sheet, x: float, y: float, words: str) -> None:
    """Words without paper behind them."""
    half = width_of(words, SIZE) / 2
    page.boxes.append((x - half, y - 0.8 * SIZE, x + half, y + 0.2 * SIZE))
    page.shapes.append(
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{SIZE}" text-anchor="middle">{words}</text>'
    )
