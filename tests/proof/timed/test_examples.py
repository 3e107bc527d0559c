"""What `prove --timed` says about the shipped layouts, and how it says it."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from reedway.cli import main
from reedway.proof.timed.commands import EXIT_REFUTED, EXIT_UNDECIDED
from reedway.proof.timed.why import times_to_try

CONFIG = Path(__file__).parents[3] / "config"


def path(name: str) -> str:
    return str(CONFIG / f"{name}.yaml")


def proved(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, dict[str, Any]]:
    code = main(["prove", *args, "--timed", "--json"])
    return code, json.loads(capsys.readouterr().out)


@pytest.fixture
def late(tmp_path: Path) -> Path:
    """The go sensor with a held train that is let out too late."""
    text = (CONFIG / "three-trains-go-sensor.yaml").read_text()
    assert "let out: 4 s" in text
    changed = tmp_path / "late.yaml"
    changed.write_text(text.replace("let out: 4 s", "let out: 9 s"))
    return changed


@pytest.mark.parametrize("name", ["two-trains", "three-trains-go-sensor", "three-trains-interlocked"])
def test_layouts_are_proved_with_their_trains_in_every_order(
    capsys: pytest.CaptureFixture[str], name: str
) -> None:
    code, out = proved(capsys, path(name), "--tick", "200" if "interlocked" in name else "100")
    assert (code, out["result"]) == (0, "proved")
    three = [row for row in out["verdicts"] if row["start"] == "three trains"]
    assert len({tuple(row["trains"]) for row in three}) == len(three) == (0 if name == "two-trains" else 6)
    assert all(row["states"] > 50 for row in out["verdicts"])


def test_what_rests_on_running_times_is_refuted_with_other_times(
    capsys: pytest.CaptureFixture[str], late: Path
) -> None:
    assert main(["prove", str(late), "--timed", "--start", "three trains"]) == EXIT_REFUTED
    said = " ".join(capsys.readouterr().out.split())
    assert "there stand the railcar in track A, the goods train in track B, the milk train in Mill" in said
    assert "s: The railcar comes to N1. (the timer let out starts)" in said
    assert "Then the railcar and the milk train are both in Mill Halt." in said
    assert "The railcar runs at 360 mm/s, is 300 mm long" in said
    assert "rounded down to the earliest" in said
    assert "In short: the railcar and the milk train are both in Mill Halt, 18.15 s after the start." in said
    why = "The timer let out (9 s) was started when the railcar came to N1 at 5.85 s and ran out at 14.85 s"
    assert why in said
    assert said.endswith("The start is refuted.")


def test_another_time_that_is_told_was_proved(
    capsys: pytest.CaptureFixture[str], late: Path, tmp_path: Path
) -> None:
    """The owner writes what he is told, and it is proved."""
    args = ["--timed", "--start", "two trains by Mill Halt", "--tick", "200"]
    assert main(["prove", str(late), *args]) == EXIT_REFUTED
    said = " ".join(capsys.readouterr().out.split())
    told = re.search(r"What to change \(tried\): write (\S+ s) in place of 9 s for the timer let out", said)
    assert told is not None
    assert "then, with these trains, this start is proved." in said
    assert "every start" not in said
    late.write_text(late.read_text().replace("let out: 9 s", f"let out: {told[1]}"))
    assert main(["prove", str(late), *args]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "nothing fails, by the clock: PROVED for these speeds, lengths and timers only" in said
    assert "If trains may take any time this start is refuted" in said
    assert "each of the 6 ways in which the trains can stand" in said
    assert said.endswith("The start is proved.")


def test_times_are_tried_coarsely_first() -> None:
    assert times_to_try(8000, shorter=True)[:3] == [4000, 2000, 6000]
    assert times_to_try(3000, shorter=False)[0] == 7500
    assert all(9000 < time_ms < 36_000 for time_ms in times_to_try(9000, shorter=False))


def test_the_story_is_a_session_log_that_replay_and_report_take(
    capsys: pytest.CaptureFixture[str], late: Path, tmp_path: Path
) -> None:
    log = tmp_path / "late.jsonl"
    start = ["--start", "three trains"]
    assert main(["prove", str(late), "--timed", *start, "--log", str(log)]) == EXIT_REFUTED
    assert main(["replay", str(log), "--layout", str(late), "--verify"]) == 0
    assert main(["report", str(log)]) == 0
    said = capsys.readouterr().out
    assert "No difference" in said
    hits = [json.loads(line) for line in log.read_text().splitlines()[1:]]
    assert [row["name"] for row in hits if row.get("kind") == "hit"] == ["N1"]


def test_limits_end_it_undecided(capsys: pytest.CaptureFixture[str]) -> None:
    code, out = proved(
        capsys, path("three-trains-interlocked"), "--start", "three trains", "--states-max", "500"
    )
    assert (code, out["result"]) == (EXIT_UNDECIDED, "not decided")
    assert "limit of states" in out["verdicts"][0]["why"]


def test_a_lost_hit_stops_safely_and_a_phantom_hit_does_not(capsys: pytest.CaptureFixture[str]) -> None:
    faults = ["--fault", "a hit lost", "--fault", "a phantom hit", "--tick", "200", "--start", "two trains"]
    code, out = proved(capsys, path("three-trains-interlocked"), *faults)
    assert code == EXIT_REFUTED
    results = {row["fault"]: set() for row in out["verdicts"]}
    for row in out["verdicts"]:
        results[row["fault"]].add(row["result"])
    assert results == {"": {"proved"}, "a hit lost": {"stops safely"}, "a phantom hit": {"fails"}}


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("  line: {length: 1.5 m}\n", ""), "not written yet: the length of line (lengths:)"),
        (("beyond: 1 m, next_spot: 4.5 m", "beyond: 3 m, next_spot: 4.5 m"), "allowed are 0 mm to 1500 mm"),
        (("  N1: {clear_of: exit, beyond: 1 m, next_spot: 4.5 m}\n", ""), "where N1 is in line (spots:)"),
    ],
)
def test_what_is_missing_is_said(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, change: tuple[str, str], says: str
) -> None:
    text = (CONFIG / "three-trains-go-sensor.yaml").read_text()
    assert text.count(change[0]) == 1
    bad = tmp_path / "bad.yaml"
    bad.write_text(text.replace(*change))
    assert main(["prove", str(bad), "--timed"]) == 1
    assert says in capsys.readouterr().err


def test_faults_without_a_clock_are_told_apart(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["prove", path("two-trains"), "--timed", "--fault", "the board reset"]) == 1
    assert "against the clock there is no fault 'the board reset'" in capsys.readouterr().err


def test_ticks_too_short_to_count_are_said(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    text = (CONFIG / "two-trains.yaml").read_text()
    assert text.count("line: {length: 9 m}") == 1
    long = tmp_path / "long.yaml"
    long.write_text(text.replace("line: {length: 9 m}", "line: {length: 19 m}"))
    assert main(["prove", str(long), "--timed", "--tick", "1"]) == 1
    assert "can be counted; take ticks of 2 ms or more (--tick)" in capsys.readouterr().err
