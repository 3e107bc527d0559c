"""`simulate` on layouts that are wrong: each kind of collision comes by its name, with who and where."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from reedway.boardfile.compile import compile_layout
from reedway.cli import main
from reedway.layout.load import load_bytes
from reedway.trains.commands import worked_out
from reedway.trains.running.commands import simulate
from reedway.trains.running.setup import Wish, prepare
from reedway.trains.running.traced import Traced

CONFIG = Path(__file__).parents[2] / "config"
GO_SENSOR = (CONFIG / "three-trains-go-sensor.yaml").read_text(encoding="utf-8")
RUNS_ON = ("    run_on: 25 mm\n", "    run_on: 400 mm\n")  # the goods train, past the fouling point
THROWS = ("do: [start let out, light called]", "do: [start let out, light called, throw ends to B]")
NEAR = ("N1: {clear_of: exit, beyond: 1 m", "N1: {clear_of: exit, beyond: 300 mm")


def changed(*changes: tuple[str, str]) -> str:
    text = GO_SENSOR
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def run(trains: tuple[str, ...], *changes: tuple[str, str]) -> Traced:
    layout = load_bytes("wrong.yaml", changed(*changes).encode())
    return simulate(prepare(compile_layout(layout), worked_out(layout)), Wish(hours=0.1, trains=trains))


def test_points_thrown_under_a_train() -> None:
    """N1 throws, and is nearer than the longest train is long."""
    found = run(("goods train", "railcar", "milk train"), THROWS, NEAR)
    assert found.wreck is not None
    assert (found.wreck.how, found.wreck.train, found.wreck.other, found.wreck.section) == (
        "points thrown under a train",
        "goods train",
        "",
        "exit",
    )
    assert found.trouble() == "points thrown under a train"


def test_behind_the_longest_train_the_same_rule_throws_under_nobody() -> None:
    found = run(("goods train", "railcar", "milk train"), THROWS)
    assert found.wreck is None or found.wreck.how != "points thrown under a train"


def test_at_the_points() -> None:
    """The goods train runs on past the fouling point of track A, where the milk train leaves track B."""
    found = run(("railcar", "milk train", "goods train"), RUNS_ON)
    assert found.wreck is not None
    assert (found.wreck.how, found.wreck.section) == ("at the points", "exit")
    assert (found.wreck.train, found.wreck.other) == ("goods train", "milk train")


@pytest.mark.parametrize(
    ("changes", "how"), [((THROWS, NEAR), "points thrown under a train"), ((RUNS_ON,), "at the points")]
)
def test_the_command_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], changes: tuple[tuple[str, str], ...], how: str
) -> None:
    path = tmp_path / "wrong.yaml"
    path.write_text(changed(*changes), encoding="utf-8")
    words = ["simulate", str(path), "--hours", "0.1", "--trains", "goods train, railcar, milk train"]
    assert main(words) == 1
    said = " ".join(capsys.readouterr().out.split())
    who = "the goods train and the milk train" if how == "at the points" else "the goods train"
    assert f"{how}: {who}, in exit." in said
    assert main([*words, "--json"]) == 1
    assert how in json.dumps(json.loads(capsys.readouterr().out))
