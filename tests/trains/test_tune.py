"""`tune` and the inequalities of hardware/trains.md: one window, found in two ways."""

from __future__ import annotations

import json
import os
import signal
import sys
from pathlib import Path

import pytest

from reedway.boardfile.compile import compile_layout
from reedway.cli import main
from reedway.layout.load import load
from reedway.problems import ReedwayError
from reedway.trains import gowindow
from reedway.trains.commands import worked_out
from reedway.trains.running import tunechart, tuning
from reedway.trains.running.setup import Wish, prepare
from reedway.trains.running.tunecommands import vary_of

ROOT = Path(__file__).parents[2]
GO_SENSOR = ROOT / "config" / "three-trains-go-sensor.yaml"
# By hand from hardware/trains.md and the figures of the layout file; mm.
TAIL = 900 - 30 + 29 / 2
# The goods train's nose is set on at least 105 mm beyond the gap, so that its last pick-up is dead; beyond N3
# with its magnet it would be 50 + 14.5 + 30 mm, which is less. The exit has 250 mm. Both turnouts are thrown
# first: 80 ms, 1500 ms of recharge, 80 ms. A hit takes 5 ms and 2 ms more.
GOODS_FIRST = ("goods train", "railcar", "milk train")  # the worst on either side
RAILCAR_FIRST = ("railcar", "goods train", "milk train")
WAY = 550 - 105 + 250
DUE = 240 * (11 - 1.66 - 0.007) - WAY - 30 + 19.9 / 2


def window() -> gowindow.GoWindow:
    layout = load(str(GO_SENSOR))
    prepared = prepare(compile_layout(layout), worked_out(layout))
    parts = gowindow.find(layout)
    assert parts is not None
    return gowindow.GoWindow(prepared.compiled, prepared.ground, list(prepared.makeups.values()), parts)


def test_the_inequalities_by_hand() -> None:
    near, far = window().limits()
    assert (near.kind, near.train) == (gowindow.TAIL, "goods train")
    assert (far.kind, far.train) == (gowindow.DUE, "goods train")
    assert near.mm == pytest.approx(TAIL, abs=1e-6)
    assert far.mm == pytest.approx(DUE, abs=1e-6)


def test_the_guide_has_these_figures() -> None:
    said = (ROOT / "hardware" / "trains.md").read_text(encoding="utf-8")
    bounds = window().bounds()
    for kind, side in (
        (gowindow.INTO, min),
        (gowindow.THROUGH, min),
        (gowindow.DUE, min),
        (gowindow.TAIL, max),
    ):
        mm = side(bound.mm for bound in bounds if bound.kind == kind)
        assert f"{round(mm + 1e-9, 2):g} mm" in said, (kind, mm)
    assert max(bound.mm for bound in bounds if bound.kind == gowindow.EARLY) < 0


def swept(
    low: float,
    high: float,
    step: float,
    name: str = "N1",
    kind: str = tuning.SPOT,
    trains: tuple[str, ...] = GOODS_FIRST,
) -> tuning.Tuned:
    """In this process, with one order of the trains."""
    layout = load(str(GO_SENSOR))
    varied = [tuning.Vary(name, kind, low, high, step)]
    wish = Wish(hours=0.012, trains=trains)

    class Here:
        def all(self, values):  # type: ignore[no-untyped-def]
            return map(tuning.try_values, values)

    tuning._prepare(str(GO_SENSOR), worked_out(layout), varied, wish, 1)
    return tuning.tune(layout, varied, Here(), lambda done: None, 5)  # type: ignore[arg-type]


def test_the_window_of_the_go_sensor_lies_within_the_inequalities() -> None:
    """And nearly fills it; too near and too far are two kinds of failure."""
    tuned = swept(800, 1600, 100)
    found = tuned.window
    assert found is not None
    assert TAIL <= found.low <= TAIL + 3 and DUE - 3 <= found.high <= DUE
    assert found.below == "N1 was hit with the tail still in exit"
    assert "No train came to N1" in found.above
    page, _ = tunechart.sheet(tuned)
    no_words_over_words(page.boxes)


def test_a_timer_has_a_window_too() -> None:
    """Let out too late the held train is run into."""
    tuned = swept(2000, 20000, 6000, "let out", tuning.TIMER, RAILCAR_FIRST)
    assert tuned.window is not None and tuned.window.above == "head to tail"
    no_words_over_words(tunechart.sheet(tuned)[0].boxes)


def no_words_over_words(boxes: list[tuple[float, float, float, float]]) -> None:
    for n, one in enumerate(boxes):
        for other in boxes[n + 1 :]:
            assert one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1], (
                one,
                other,
            )


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two numbers, on all cores, as JSON; exit code 0."""
    svg = tmp_path / "two.svg"
    words = [
        "--vary",
        "sensor N1 spot",
        "900 mm",
        "1 m",
        "100 mm",
        "--vary",
        "timer let out",
        "3 s",
        "4 s",
        "1 s",
    ]
    more = ["--hours", "0.01", "--seeds", "0", "--trains", "railcar, goods train, milk train"]
    assert main(["tune", str(GO_SENSOR), *words, *more, "--chart", str(svg), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert len(found["values"]) == 4 and found["now"] == [1000.0, 4000.0]
    assert "timer" not in svg.read_text() and "time of let out" in svg.read_text()


def test_what_cannot_be_varied_is_told() -> None:
    layout = load(str(GO_SENSOR))
    for words, why in (
        (["sensor N9 spot", "1 mm", "2 mm", "1 mm"], "there is no sensor 'N9'"),
        (["colour", "1 mm", "2 mm", "1 mm"], "cannot be varied"),
        (["sensor N1 spot", "1 s", "2 s", "1 s"], "units are mm, cm, m"),
        (["timer let out", "1 mm", "2 s", "1 s"], "is not a unit of time"),
        (["sensor N1 spot", "2 m", "1 m", "1 mm"], "FROM is the smaller"),
    ):
        with pytest.raises(ReedwayError, match=why):
            vary_of(layout, words)


@pytest.mark.skipif(sys.platform == "win32", reason="a signal to another process")
def test_ctrl_c_is_for_the_program_and_its_helpers_say_nothing(capfd: pytest.CaptureFixture[str]) -> None:
    """A terminal sends it to all of them; at once, while they import, and later."""
    layout = load(str(GO_SENSOR))
    vary = vary_of(layout, ["sensor N1 spot", "1 m", "1 m", "1 mm"])
    with tuning.Trier(str(GO_SENSOR), worked_out(layout), [vary], Wish(hours=0.001), 0) as trier:
        helpers = trier.pool._pool  # type: ignore[attr-defined]
        for _ in range(2):
            for helper in helpers:
                os.kill(helper.pid, signal.SIGINT)
            assert len(list(trier.all([(1000.0,)]))) == 1
        assert all(helper.is_alive() for helper in helpers)
    assert capfd.readouterr().err == ""
