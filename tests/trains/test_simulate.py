"""`simulate`: its log, its chart, what is done in mid-run, and what it says of plans that cannot be."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from reedway.boardfile.compile import compile_layout
from reedway.cli import main
from reedway.layout.load import load, load_bytes
from reedway.problems import LayoutError, ReedwayError
from reedway.trains.commands import worked_out
from reedway.trains.running import chart
from reedway.trains.running.commands import simulate
from reedway.trains.running.setup import Prepared, Wish, prepare
from reedway.trains.running.traced import Traced

CONFIG = Path(__file__).parents[2] / "config"
GO_SENSOR = CONFIG / "three-trains-go-sensor.yaml"
INTERLOCKED = CONFIG / "three-trains-interlocked.yaml"


def prepared(path: Path, *changes: tuple[str, str]) -> Prepared:
    """A layout of config/, with each first text put otherwise."""
    text = path.read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    layout = load_bytes(str(path), text.encode())
    return prepare(compile_layout(layout), worked_out(layout))


def run(path: Path, minutes: float, *acts: tuple[int, str], start: str = "") -> Traced:
    """Acts are (seconds from the start order, what)."""
    timed = tuple((2000 + 1000 * s, what) for s, what in acts)
    return simulate(prepared(path), Wish(hours=minutes / 60, start=start, acts=timed))


@pytest.mark.parametrize(
    "options", [[], ["--seed", "3", "--bounce", "--miss-rate", "2", "--phantom-rate", "20"]]
)
def test_the_log_is_what_the_rules_do(tmp_path: Path, options: list[str], capsys) -> None:  # type: ignore[no-untyped-def]
    """An ordinary session log: replay finds every record equal, report reads it."""
    log = tmp_path / "evening.jsonl"
    main(["simulate", str(INTERLOCKED), "--hours", "0.1", "--out", str(log), *options])
    assert main(["replay", str(log), "--layout", str(INTERLOCKED), "--verify"]) == 0
    assert main(["report", str(log)]) == 0
    assert "N1" in capsys.readouterr().out


def test_a_seed_fixes_a_run(capsys) -> None:  # type: ignore[no-untyped-def]
    """The same seed, the same figures; another seed, others."""
    told = []
    for seed in ("5", "5", "6"):
        main(
            ["simulate", str(INTERLOCKED), "--hours", "0.1", "--seed", seed, "--speed-spread", "10", "--json"]
        )
        found = json.loads(capsys.readouterr().out)
        told.append(found["trains"])
    assert told[0] == told[1] != told[2]


def test_the_ordinary_evening() -> None:
    """Everybody gets round, in turns, and nothing is told."""
    found = run(GO_SENSOR, 30)
    assert found.trouble() == "" and not found.told and not found.resting
    departures = [one.departures for one in found.trains.values()]
    assert max(departures) - min(departures) <= 1 and min(departures) > 35
    assert abs(sum(found.out_s.values()) / 1e6 - 1800) < 0.01
    for one in found.trains.values():
        assert abs(sum(one.waits) + sum(one.outs) - 1800) < 0.01
    assert found.nearest is not None and found.nearest[0] > 1000


def test_a_missed_go_sensor_ends_in_the_fault_that_says_so() -> None:
    found = run(GO_SENSOR, 5, (60, "miss N1"))
    assert "No train came to N1" in found.trouble()


def test_a_train_let_out_too_late_is_run_into() -> None:
    """The go sensor with a longer wait: the milk train is still in Mill Halt when the railcar comes."""
    found = simulate(prepared(GO_SENSOR, ("let out: 4 s", "let out: 20 s")), Wish(hours=0.1))
    assert found.wreck is not None and found.nearest is not None
    assert (found.wreck.how, found.wreck.train, found.wreck.other) == (
        "head to tail",
        "railcar",
        "milk train",
    )
    assert found.wreck.section == "Mill Halt" and found.nearest[0] == 0


def test_what_is_no_act_is_told() -> None:
    with pytest.raises(ReedwayError, match="is no act; allowed are miss SENSOR"):
        run(GO_SENSOR, 1, (1, "explode"))
    with pytest.raises(ReedwayError, match="there is no sensor 'N9'"):
        run(GO_SENSOR, 1, (1, "miss N9"))
    with pytest.raises(ReedwayError, match="no switch stands so"):
        run(GO_SENSOR, 1, (1, "turn siding sideways"))
    with pytest.raises(ReedwayError, match="there is no train 'freight'"):
        run(GO_SENSOR, 1, (1, "lift off freight"))


def test_the_chart_has_no_words_over_words() -> None:
    """Every layout, and one run that went wrong."""
    for found in (
        run(GO_SENSOR, 8),
        run(INTERLOCKED, 2),
        run(CONFIG / "two-trains.yaml", 3),
        run(GO_SENSOR, 5, (60, "miss N1")),
    ):
        page, text = chart.sheet(found)
        assert "min:s" in text and "mm" in text
        for n, one in enumerate(page.boxes):
            for other in page.boxes[n + 1 :]:
                apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
                assert apart, (one, other)


def test_plans_that_cannot_be() -> None:
    """A line each: no length, a sensor off its section, a train longer than its siding."""
    with pytest.raises(LayoutError, match="section M1 has no length"):
        prepared(INTERLOCKED, ("  M1: {length: 4 m}\n", ""))
    with pytest.raises(LayoutError, match="sensor N4 has no spot"):
        prepared(INTERLOCKED, ("  N4: {clear_of: Bridge Halt, beyond: 1 m, next_spot: 2 m}\n", ""))
    with pytest.raises(
        LayoutError, match="1000 mm behind exit is in Mill Halt, and track: has the sensor in M1"
    ):
        prepared(INTERLOCKED, ("M1: {length: 4 m}", "M1: {length: 900 mm}"))
    with pytest.raises(LayoutError, match="is off track A"):
        prepared(INTERLOCKED, ("N5: {place: track A, set_back: 50 mm", "N5: {place: track A, set_back: 5 m"))
    short = prepared(INTERLOCKED, ("track B: {length: 2.2 m", "track B: {length: 800 mm"))
    with pytest.raises(ReedwayError, match="track B: the goods train is longer than the place"):
        simulate(short, Wish(hours=0.1))
    for speed in ("0 mm/s", "9 m/s"):
        with pytest.raises(LayoutError, match="speed"):
            prepared(INTERLOCKED, ("speed: 240 mm/s", f"speed: {speed}"))
    with pytest.raises(LayoutError, match="run_on"):
        prepared(INTERLOCKED, ("run_on: 25 mm", "run_on: 9 m"))
    with pytest.raises(LayoutError, match="length"):
        prepared(INTERLOCKED, ("M1: {length: 4 m}", "M1: {length: 0 mm}"))


def test_lines_for_bad_calls(tmp_path: Path, capsys) -> None:  # type: ignore[no-untyped-def]
    for options, words in (
        (["--start", "five trains"], "no such start"),
        (["--trains", "railcar, railcar"], "name each once"),
        (["--at", "90", "miss N1"], "no unit"),
        (["--out", str(tmp_path)], "is a folder"),
        (["--chart", str(tmp_path / "no" / "x.svg")], "cannot be written"),
    ):
        assert main(["simulate", str(GO_SENSOR), "--hours", "0.01", *options]) == 1
        assert words in capsys.readouterr().err
    with pytest.raises(SystemExit):
        main(["simulate", str(GO_SENSOR), "--hours", "0"])


def test_a_layout_without_trains_says_what_is_missing() -> None:
    layout = load(str(CONFIG / "coil-protector.yaml"))
    with pytest.raises(ReedwayError, match="add"):
        prepare(compile_layout(layout), {})


def test_what_confirmation_costs_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    """Departures with and without are those of two runs, of which the second is told too."""
    path = CONFIG / "three-trains-running-times.yaml"
    assert main(["simulate", str(path), "--hours", "0.3", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    cost = found["confirmation_costs_departures_per_hour"]
    text = path.read_text(encoding="utf-8").replace("due_hits: by running time", "")
    layout = load_bytes(str(path), text.encode())
    plain = simulate(prepare(compile_layout(layout), worked_out(layout)), Wish(hours=0.3))
    assert cost == pytest.approx(plain.departures_an_hour - found["departures_per_hour"], abs=0.11)
    assert cost > 0
    assert main(["simulate", str(GO_SENSOR), "--hours", "0.01", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["confirmation_costs_departures_per_hour"] is None
