"""What `prove` says about the shipped layouts, and how it says it."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from reedway.cli import main
from reedway.proof.commands import EXIT_REFUTED, EXIT_UNDECIDED

CONFIG = Path(__file__).parents[2] / "config"
SOUND = ("two-trains", "three-trains-interlocked", "three-trains-pairs")


def path(name: str) -> str:
    return str(CONFIG / f"{name}.yaml")


def proved(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, dict[str, Any]]:
    code = main(["prove", *args, "--json"])
    return code, json.loads(capsys.readouterr().out)


@pytest.mark.parametrize("name", SOUND)
def test_sound_layouts_are_proved_for_every_start(capsys: pytest.CaptureFixture[str], name: str) -> None:
    code, out = proved(capsys, path(name))
    assert code == 0
    assert out["result"] == "proved"
    assert {row["result"] for row in out["verdicts"]} == {"proved"}
    assert {row["reaction"] for row in out["verdicts"]} == {"at once", "lagging"}
    assert all(row["assumptions"] and row["states"] for row in out["verdicts"])


def test_a_sound_siding_says_what_it_takes_for_granted(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["prove", path("two-trains")]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "Taken for granted:" in said
    assert "exit, entry is thrown before any train comes there: this rests on set back and run-on" in said
    assert "The points move when they get their pulse: entry" in said


def test_the_go_sensor_is_refuted_by_a_short_story_that_names_running_times(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["prove", path("three-trains-go-sensor"), "--start", "three trains"]) == EXIT_REFUTED
    said = capsys.readouterr().out
    story = said[: said.index("hits may wait before the board answers")].splitlines()
    steps = [line for line in story if re.match(r" *\d+\. ", line)]
    assert 0 < len(steps) < 20
    said = " ".join(said.split())
    assert (
        "there stand the railcar in track A, the goods train in track B, the milk train in Mill Halt" in said
    )
    assert "The railcar comes into Mill Halt, before the timer let out (4 s) has run out." in steps[-1]
    assert "Then the railcar and the milk train are both in Mill Halt." in said
    assert "This rests on running times" in said
    assert "Nothing holds the railcar in track A: that place has no block" in said
    assert "lets it go at let out runs out, which has not come" in said
    assert "single changes that were tried sets it right" in said
    assert "place track A has no block, so no rule can hold a train; add a block under blocks: and" in said
    assert "REFUTED if trains may take any time; for your speeds run prove --timed In short:" in said
    assert "With fewer trains (tried): the starts two trains by the siding and one train are proved" in said
    assert "it can happen while it runs: let out (4 s), open (9 s), go due (11 s)" in said.replace(
        "else that", "it"
    )
    assert "prove --timed reckons with those that the file gives" in said
    assert "Safety of this layout rests on running times." in said


def test_two_trains_of_the_go_sensor_layout_by_the_siding_are_fine(
    capsys: pytest.CaptureFixture[str],
) -> None:
    code, out = proved(capsys, path("three-trains-go-sensor"), "--start", "two trains by the siding")
    assert (code, out["result"]) == (0, "proved")


@pytest.mark.parametrize("fault", [(), ("--fault", "a phantom hit")], ids=["no fault", "phantom"])
def test_the_story_is_a_session_log_that_replay_and_report_take(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, fault: tuple[str, ...]
) -> None:
    log = tmp_path / "story.jsonl"
    name = "three-trains-interlocked" if fault else "three-trains-go-sensor"
    assert main(["prove", path(name), "--start", "three trains", "--log", str(log), *fault]) == EXIT_REFUTED
    capsys.readouterr()
    assert main(["replay", str(log), "--layout", path(name), "--verify"]) == 0
    assert main(["report", str(log)]) == 0
    kinds = [json.loads(line).get("kind") for line in log.read_text(encoding="utf-8").splitlines()[1:]]
    assert "hit" in kinds
    assert kinds.count("order") == 1
    assert main(["prove", path(name), "--log", str(log), *fault]) == 1  # never written over
    assert "is there already" in capsys.readouterr().err


def test_limits_end_it_undecided_and_say_how_far_it_came(capsys: pytest.CaptureFixture[str]) -> None:
    args = [path("three-trains-interlocked"), "--start", "three trains", "--states-max", "100"]
    assert main(["prove", *args]) == EXIT_UNDECIDED
    said = capsys.readouterr().out
    assert "NOT DECIDED" in said
    assert "the limit of states was reached; up to there nothing bad was found" in said
    assert (
        main(["prove", path("three-trains-pairs"), "--fault", "a sensor stuck closed", "--memory-max", "1"])
        == 3
    )
    assert "the limit of memory was reached" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("args", "message"),
    [
        ((path("coil-protector"),), "nothing to prove without a track"),
        ((path("two-trains"), "--start", "nine trains"), "there is no start 'nine trains'"),
        ((path("two-trains"), "--fault", "rain"), "there is no fault 'rain'"),
        (("missing.yaml",), "missing.yaml"),
    ],
)
def test_what_cannot_be_proved_is_one_line(
    capsys: pytest.CaptureFixture[str], args: tuple[str, ...], message: str
) -> None:
    assert main(["prove", *args]) == 1
    said = capsys.readouterr().err
    assert message in said
    assert len(said.strip().splitlines()) == 1


def test_a_start_is_tried_with_the_switches_it_leaves_open(capsys: pytest.CaptureFixture[str]) -> None:
    _, out = proved(capsys, path("three-trains-pairs"), "--start", "two trains")
    starts = {row["start"] for row in out["verdicts"]}
    assert starts == {"two trains, second track in service", "two trains, second track out of service"}


def test_three_trains_without_the_second_track_jam(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """The owner forgets to ask for the second track at the start: found, and told."""
    text = Path(path("three-trains-pairs")).read_text(encoding="utf-8")
    changed = tmp_path / "changed.yaml"
    changed.write_text(text.replace("third train present, second track in service]", "third train present]"))
    assert main(["prove", str(changed), "--start", "three trains"]) == EXIT_REFUTED
    said = capsys.readouterr().out
    assert "From here on no train can ever move again." in said
    said = " ".join(said.split())
    assert "(tried): the starts two trains and one train are proved" in said
    assert "(tried): add `second track in service` to switches: of the start three trains at line" in said
