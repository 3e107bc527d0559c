"""explain: sentences that differ where rules differ, times, reasons; advice; the two commands."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from boardfile import valley
from reedway.boardfile.advice import advise
from reedway.boardfile.compile import compile_layout
from reedway.cli import main
from reedway.layout.explain import explain
from reedway.layout.explaintext import explain_text
from reedway.layout.load import load
from reedway.resources import config_folder

EXAMPLES = sorted(config_folder().glob("*.yaml"))
RULES = """\
  - at: N1 hit
    while: [siding in service, CALL out]
    do: [pull in CALL, throw ends to B, start let out]
    why: the railcar asks for the line
  - at: let out runs out
    do: [Hold goes]
  - at: N2 hit
    do: [Hold stops, drop out CALL, caution "look at H" hold H]
  - as_soon_as: [SENT in]
    do: [Loop goes]
"""


FIRST = valley.HEAD.count("\n") + 2  # line of the first rule


def told(rules: str, head: str = valley.HEAD) -> str:
    return explain_text(explain(valley.compiled(rules, head)))


@pytest.mark.parametrize(
    "text",
    [
        "at N1 hit while siding in service and CALL out: pull in CALL, throw ends to B, start let out",
        f"start let out  (line {FIRST})",
        "because: the railcar asks for the line",
        "at let out runs out: Hold goes",
        'at N2 hit: Hold stops, drop out CALL, caution "look at H" hold H',
        "as soon as SENT in: Loop goes",
        "FULL is in exactly while siding full occupied and CALL in  (line 38)",
        "exit contact: counts after 5 ms\n    closed: turnout exit lies to B",
        "siding in service: for the start two",
        "button halt: counts after 5 ms\n    pressed: order stop",
        "track power: counts after 5 ms\n    off: timers and times at rest wait",
        "trains may stand here",
        "Hold (place H)",
        "at the start 'two'",
        'held by caution "look at H" hold H',
        "gang ends, in this order: exit, entry: 1.11 s from rest, at the longest 4.311 s:",
        "pulse exit again 80 ms",
        "turnouts: exit to B, entry to B, yard to straight",
        "entry, yard lie where the last pulse sent them",
        "one pulse at a time, and 901 ms from one to the next",
    ],
)
def test_sentences(text: str) -> None:
    assert text in told(RULES).replace("1.111 s", "1.11 s")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("CALL out]", "CALL in]"),
        ("ends to B", "ends to A"),
        ("start let out", "start watch"),
        ("at: N1 hit", "at: N1 opens"),
        ("Hold goes", "Loop goes"),
        ("Hold stops", "Loop stops"),
        ("why: the railcar", "why: the milk train"),
        ('"look at H"', '"look at Hold"'),
        ("as_soon_as: [SENT in]", "as_soon_as: [SENT out]"),
        (", start let out", ""),
    ],
)
def test_where_rules_differ_sentences_differ(old: str, new: str) -> None:
    assert old in RULES
    before, after = told(RULES), told(RULES.replace(old, new))
    assert before != after
    changed = set(after.splitlines()) - set(before.splitlines())
    assert any(new.split(": ")[-1].strip("[]") in line for line in changed) or not new


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("recharge: 1500 ms", "recharge: 3 s", "supply bank recharges for 3 s"),
        ("N1: {terminal: sensor 1}", "N1: {terminal: sensor 1, rearm: 7 s}", "next hit after 7 s open"),
        ("coil 4], pulse: 100 ms", "coil 4], pulse: 200 ms", "pulse entry 210 ms"),
        ("ends: [exit, entry]", "ends: [entry, exit]", "in this order: entry, exit"),
        ("track_feed: {terminal: track feed}\n", "", "there is no track feed for the other rails"),
        ("coil 6]}", "coil 6], power_routing: true}", "yard feeds only the track it is set for"),
    ],
)
def test_what_the_layout_is_shows(old: str, new: str, words: str) -> None:
    assert words not in told("") and words in told("", valley.HEAD.replace(old, new))


def test_written_and_derived_rules_are_told_apart() -> None:
    layout = valley.layout_of(RULES)
    layout.rules[0].derived = True  # type: ignore[attr-defined]
    text = explain_text(explain(compile_layout(layout)))
    assert "start let out  (derived from the track)" in text
    assert f"at let out runs out: Hold goes  (line {FIRST + 4})" in text


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_rule_of_each_example_is_told_with_its_reason(path: Path) -> None:
    made = compile_layout(load(str(path)))
    text = explain_text(explain(made))
    for rule in made.layout.rules:
        origin = "derived from the track" if getattr(rule, "derived", False) else f"line {rule.line}"
        assert f"({origin})" in text
        if rule.why:
            assert f"because: {rule.why}" in text
    for thing in [*made.layout.sensors, *made.layout.blocks, *made.layout.starts, *made.layout.gangs]:
        assert thing.name in text
    json.dumps(explain(made))


# -- advice ------------------------------------------------------------------------------------------------


ROUTED = valley.HEAD.replace("coil 6]}", "coil 6], power_routing: true}")


def advice(rules: str, head: str = ROUTED) -> list[str]:
    made = valley.compiled(rules, head)
    return [complaint.message for complaint in advise(made.layout, made)]


ALL_USED = """\
  - at: N1 hit
    while: [siding in service, CALL out, third train present, FULL out, SENT out]
    do: [pull in CALL, pull in SENT, throw ends to B, start let out, start watch]
  - {at: N2 hit, while: [N3 open, watch not running], do: [drop out SENT, Loop goes]}
  - {at: let out runs out, do: [Hold goes]}
  - {at: hand go pressed, do: [Hold stops]}
"""


def test_nothing_to_advise() -> None:
    assert advice(ALL_USED) == []


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("N3 open, ", "", "sensor N3 is in no rule"),
        (", third train present", "", "switch third train is in no rule and no start"),
        ("at: hand go pressed", "at: N1 opens", "button hand go gives no order and is in no rule"),
        (", FULL out", "", "relay FULL is read by no rule"),
        (", pull in SENT", "", "relay SENT is never pulled in"),
        (", start watch", "", "timer watch is never started"),
        (", watch not running", "", "timer watch runs, but no rule waits for it"),
        (", Loop goes", "", "block Loop never goes"),
        ("N3 open, ", "N3 open, N2 not at rest, ", "a rule waits for 'N2 at rest', and its at_rest is never"),
    ],
)
def test_advice_about_rules(old: str, new: str, words: str) -> None:
    assert old in ALL_USED
    (said,) = advice(ALL_USED.replace(old, new))
    assert words in said


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("track_feed: {terminal: track feed}\n", "", "there is no track_feed"),
        (", contacts: {B: exit contact}", "", "contact exit contact belongs to no turnout"),
        (
            "board: pico\n",
            "board: pico\nterminals: {sensor 1: GPIO 28}\n",
            "arm line is taken, so there is none; give it",
        ),
    ],
)
def test_advice_about_parts(old: str, new: str, words: str) -> None:
    assert any(words in said for said in advice(ALL_USED, ROUTED.replace(old, new)))


def test_advice_about_places_and_starts(monkeypatch: pytest.MonkeyPatch) -> None:
    (said,) = advice(ALL_USED, valley.HEAD)
    assert said == "no train can be held at Yard track: there is no block for it"
    twice = valley.STARTS + valley.STARTS.split("\n", 1)[1].replace("two:", "again:")
    monkeypatch.setattr(valley, "STARTS", twice)
    (said,) = advice(ALL_USED)
    assert said.startswith(
        "start again is never chosen by the switches: wherever it matches, two matches first"
    )
    monkeypatch.setattr(valley, "STARTS", "")
    assert any("there are no starts" in said for said in advice(ALL_USED))


# -- commands ----------------------------------------------------------------------------------------------


def test_explain_command(capsys: pytest.CaptureFixture[str]) -> None:
    path = str(config_folder() / "two-trains.yaml")
    assert main(["explain", path]) == 0
    text = capsys.readouterr().out
    assert "at N2 hit while ends to B: throw ends to A" in text
    assert main(["explain", path, "--json"]) == 0
    data: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert data["throws"][0]["name"] == "gang ends"


def test_build_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = str(config_folder() / "coil-protector.yaml")
    assert main(["build", path, "--out", str(tmp_path / "board"), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert {row["path"] for row in data["files"]} > {"layout.rwb", "pins.py", "main.py"}
    assert main(["build", path, "--out", str(tmp_path / "board")]) == 0
    assert "layout.rwb" in capsys.readouterr().out


def test_commands_on_a_bad_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad = tmp_path / "bad.yaml"
    bad.write_text(valley.text_of("  - {at: N1 hits, do: [Hold goes]}\n"), encoding="utf-8")
    for command in (["explain", str(bad)], ["build", str(bad), "--out", str(tmp_path / "out")]):
        assert main(command) == 1
        assert f"{bad}:{FIRST}: 'N1 hits' is no event" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_sentences_that_are_equally_near_are_all_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bad = tmp_path / "bad.yaml"
    bad.write_text(valley.text_of("  - {at: N9 hit, do: [Hold goes]}\n"), encoding="utf-8")
    assert main(["check", str(bad)]) == 1
    assert "did you mean 'N1 hit' or 'N2 hit'" in capsys.readouterr().err
