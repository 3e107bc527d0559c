"""What the answers of a walk mean, without a board: each kind of fault, its line, and what is proved."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from board.miswired import line_of
from reedway.board.walking.answers import Answers, Seen
from reedway.board.walking.findings import NEITHER, NONE, SEVERAL, Finding, faults_of, outcome_of
from reedway.board.walking.owner import turn_word
from reedway.board.walking.steps import Step, steps_of
from reedway.boardfile.compile import compile_layout
from reedway.layout.load import load_bytes

LAYOUT = b"""\
reedway: 1
layout: Walk
board: pico
sensors:
  N1: {terminal: sensor 1}
  N2: {terminal: sensor 2}
  N3: {terminal: sensor 3}
switches:
  service: {terminal: panel 1, on: in service, off: out of service}
contacts:
  at A: {terminal: sensor 5}
  at B: {terminal: sensor 6}
turnouts:
  exit: {positions: [A, B], coils: [coil 1, coil 2], contacts: {A: at A, B: at B}}
  entry: {positions: [main, loop], coils: [coil 3, coil 4]}
blocks:
  Hold: {terminal: feed 1}
  Mill: {terminal: feed 2}
"""
STEPS = steps_of(compile_layout(load_bytes("walk.yaml", LAYOUT)))
RIGHT = {"closed": [["at A"], ["at B"]]}


def line(text: str) -> int:
    return next(i for i, one in enumerate(LAYOUT.decode().split("\n"), 1) if one.strip().startswith(text))


def step(title: str) -> Step:
    return next(one for one in STEPS if one.title == title)


def faults(folder: Path, title: str, seen: list[str], **more: Any) -> list[Finding]:
    answers = Answers(folder / "a.json", "Walk")
    answers.put(step(title), Seen(seen, more))
    return faults_of(STEPS, answers, step(title))


@pytest.mark.parametrize(
    ("title", "seen", "more", "what", "change"),
    [
        ("sensor N1", [], {}, "dead", "bridge sensor 1 to ground"),
        ("sensor N1", ["N1", "N2"], {}, "others closed as well: N2", "wires that touch"),
        ("sensor N1", ["N2"], {}, "N2 closed in its place", "or move the wire from sensor 2 to sensor 1"),
        (
            "switch service",
            ["service"],
            {"words": "exchanged"},
            "wrong way round",
            "exchange `on: in service`",
        ),
        ("turnout exit", ["B", "A"], RIGHT, "coils are exchanged", "write `coils: [coil 2, coil 1]`"),
        ("turnout exit", ["A", "A"], RIGHT, "did not move to B", "the coil at coil 2 does nothing"),
        ("turnout exit", ["B", "B"], RIGHT, "did not move to A", "the coil at coil 1 does nothing"),
        ("turnout exit", ["A", NEITHER], RIGHT, "to B left it half-way", "a longer `pulse`"),
        ("turnout exit", ["moved: entry", "B"], RIGHT, "to A moved entry", "coil 1 goes to entry"),
        ("turnout exit", ["A", "B"], {"closed": [["at B"], ["at A"]]}, "other position", "name it for B"),
        ("turnout exit", ["A", "B"], {"closed": [["at A"], []]}, "at B does not follow", "at sensor 6"),
        ("block Hold", [NONE], {}, "stayed dead", "feed relay at feed 1"),
        ("block Hold", [SEVERAL], {}, "more than one rail", "a gap is bridged"),
        ("block Hold", ["Hold"], {"dead_when_off": False}, "stays live when off", "welded"),
        ("block Hold", ["Mill"], {}, "the rail of Mill", "write `terminal: feed 2` in line"),
    ],
)
def test_each_fault_has_its_words_and_its_line(
    tmp_path: Path, title: str, seen: list[str], more: dict[str, Any], what: str, change: str
) -> None:
    (found,) = faults(tmp_path, title, seen, **more)
    assert what in found.what and change in found.change
    name = {"the contact": "at A", "at B does": "at B", "at A closes": "at A"}
    expected = next((n for begin, n in name.items() if found.what.startswith(begin)), title.split(" ")[1])
    assert found.lines[0] == line(expected + ":")


def test_what_is_right_is_proved(tmp_path: Path) -> None:
    assert faults(tmp_path, "sensor N1", ["N1"]) == []
    assert faults(tmp_path, "turnout exit", ["A", "B"], **RIGHT) == []
    assert faults(tmp_path, "turnout entry", ["main", "loop"]) == []
    assert faults(tmp_path, "block Hold", ["Hold"], dead_when_off=True) == []


def test_three_sensors_in_a_ring_each_name_their_own_line(tmp_path: Path) -> None:
    answers = Answers(tmp_path / "a.json", "Walk")
    for name, closed in (("N1", "N2"), ("N2", "N3"), ("N3", "N1")):
        answers.put(step(f"sensor {name}"), Seen([closed]))
    outcome = outcome_of("walk.yaml", STEPS, answers)
    told = {one.about: (one.lines, one.change) for one in outcome.findings}
    for i, name in enumerate(("N1", "N2", "N3")):
        lines, change = told[f"sensor {name}"]
        assert lines == (line(f"{name}:"),) and f"`terminal: sensor {(i + 1) % 3 + 1}`" in change


def test_answers_outlive_an_edit_of_other_lines(tmp_path: Path) -> None:
    answers = Answers(tmp_path / "a.json", "Walk")
    answers.put(step("sensor N1"), Seen(["N1"]))
    answers.put(step("sensor N2"), Seen([]))
    mended = steps_of(
        compile_layout(load_bytes("walk.yaml", LAYOUT.replace(b"terminal: sensor 2", b"terminal: sensor 7")))
    )
    outcome = outcome_of("walk.yaml", mended, Answers(tmp_path / "a.json", "Walk"))
    assert outcome.proved == ["sensor N1"] and "sensor N2" in outcome.open and outcome.findings == []


def test_short_words_give_way_to_names() -> None:
    assert turn_word("b", ("A", "B")) == "" and turn_word("back", ("A", "B")) == "back"
    assert turn_word("S", ()) == "skip" and turn_word("x", ()) == ""
    assert line_of("N1:") > 0
