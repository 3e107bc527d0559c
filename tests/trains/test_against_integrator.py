"""Where trains stand in `simulate` and `plan`, against a numeric integrator; random stock and lengths."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from reedlogic import words as w
from reedway.boardfile.compile import compile_layout
from reedway.layout.load import load_bytes
from reedway.trains.planning import plan
from reedway.trains.running.figures import Figures
from reedway.trains.running.setup import Stage, Wish, prepare
from reedway.trains.running.train import Running
from trains import integrator

GO_SENSOR = Path(__file__).parents[2] / "config" / "three-trains-go-sensor.yaml"
NEAR_MM = 0.1


class Watch(Figures):
    """The first stand of the railcar after it has left, and when feeds and points changed."""

    stood: tuple[int, float] | None = None
    fed_ms = 0
    over_ms = 0

    def stands(self, t: int, train: Running, over: list[int]) -> None:
        super().stands(t, train, over)
        if train.name == "railcar" and self.stood is None:
            self.stood = train.section, train.s0

    def record(self, record) -> None:  # type: ignore[no-untyped-def]
        super().record(record)
        t, kind, which, value = record
        if kind == w.R_FEED and value and not self.fed_ms and which == 1:
            self.fed_ms = t  # the track feed: both turnouts lie right since then
        if kind == w.R_POSITION and which == 0 and t > self.fed_ms > 0 and not self.over_ms:
            self.over_ms = t  # the exit, thrown by the hit of the railcar


def case(seed: int) -> tuple[str, dict[str, float], bool]:
    """A layout text with drawn numbers, those numbers, and whether it runs on for a time."""
    random = Random(seed)
    n = {
        "speed": random.randint(120, 420),
        "acceleration": random.randint(150, 900),
        "first": random.randint(5, 60),
        "last": random.randint(120, 290),
        "magnet": random.randint(20, 200),
        "zone": random.randint(12, 30),
        "run_on": random.randint(5, 120),
        "run_on_ms": random.randint(50, 600),
        "line": random.randint(1100, 1500),
        "valley": random.randint(2500, 4500),
        "home": random.randint(2600, 4000),
        "track": random.randint(2000, 2600),
        "beyond": random.randint(5, 60),
    }
    so_long = seed % 3 == 1
    cut = f"runs on so long\n    run_on_time: {n['run_on_ms']} ms" if so_long else ""
    cut = cut or f"runs on so far\n    run_on: {n['run_on']} mm"
    if seed % 3 == 2:
        cut = "stops at once"
    text = GO_SENSOR.read_text(encoding="utf-8")
    for old, new in (
        ("pick_ups: 30 mm to 270 mm", f"pick_ups: {n['first']} mm to {n['last']} mm"),
        ("magnet: 45 mm", f"magnet: {n['magnet']} mm"),
        ("operates_over: 19.9 mm to 29 mm", f"operates_over: {n['zone']} mm"),
        ("speed: 360 mm/s\n", f"speed: {n['speed']} mm/s\n    acceleration: {n['acceleration']} mm/s2\n"),
        ("runs on so far\n    run_on: 60 mm", cut),
        ("  line: {length: 1.5 m}", f"  line: {{length: {n['line']} mm}}"),
        ("  valley: {length: 4 m}", f"  valley: {{length: {n['valley']} mm}}"),
        ("  home: {length: 3.5 m}", f"  home: {{length: {n['home']} mm}}"),
        ("track A: {length: 2.2 m", f"track A: {{length: {n['track']} mm"),
        ("N3: {place: track A, beyond_gap: 50 mm", f"N3: {{place: track A, beyond_gap: {n['beyond']} mm"),
    ):
        assert old in text, old
        text = text.replace(old, new, 1)
    return text, n, so_long


@pytest.mark.parametrize("seed", range(6))
def test_the_railcar_stands_where_the_integrator_says(seed: int) -> None:
    text, n, so_long = case(seed)
    layout = load_bytes("drawn.yaml", text.encode())
    prepared = prepare(compile_layout(layout), {})
    watch = Watch(prepared.compiled, prepared.ground)
    stage = Stage(prepared, Wish(start="two trains by the siding"), watch)
    begin = stage.world.trains[0].s0  # in track A
    stage.world.run(200_000_000)
    assert watch.stood is not None and watch.fed_ms and watch.over_ms
    assert prepared.ground.sections[watch.stood[0]].name == "track A"
    # All from the drawn numbers: the way from its nose in track A to the same track's gap.
    way = n["track"] - begin + 250 + n["line"] + n["valley"] + 1500 + n["home"] + 250 + n["track"] - 550
    top, dead_s = n["speed"], (watch.over_ms - watch.fed_ms) / 1000
    rise = integrator.run(0.0, lambda t, x, v: n["acceleration"], lambda t, x, v: v >= top)
    level = integrator.run(
        top,
        lambda t, x, v: 0.0,
        lambda t, x, v: rise[1] + x >= way + n["last"] and rise[0] + t >= dead_s,
    )
    nose = rise[1] + level[1]
    if seed % 3 != 2:
        whole_s = n["run_on_ms"] / 1000 if so_long else 2 * n["run_on"] / top
        nose += integrator.run(top, lambda t, x, v: -top / whole_s, lambda t, x, v: v <= 0)[1]
    stood = watch.stood[1] - (n["track"] - 550)
    assert stood == pytest.approx(nose - way, abs=NEAR_MM)
    planned = next(s for s in plan(layout, {}).stands if (s.place, s.train) == ("track A", "railcar"))
    assert planned.nose[0] - NEAR_MM <= stood <= planned.nose[1] + NEAR_MM
