"""Derived rules are ordinary sentences with reasons, and only what the track asks for."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from reedway.cli import main
from reedway.layout.model import Layout
from track.lines import Line, compiled, load_unwired

PAIRS = str(Path(__file__).parents[2] / "config" / "three-trains-pairs.yaml")


def sentences(layout: Layout, at: str = "") -> list[str]:
    """`[conditions] -> [acts]` of the rules at an event, or of the standing ones."""
    return [
        f"{[str(t) for t in rule.conditions]} -> {[str(t) for t in rule.acts]}"
        for rule in layout.rules
        if (str(rule.at) if rule.at else "") == at
    ]


def test_every_rule_is_derived_and_has_a_reason() -> None:
    for leaves in ("take turns", "go when free", "wait for a partner"):
        layout = load_unwired(Line(3, 2, leaves=leaves).text())
        assert all(rule.derived and rule.why for rule in layout.rules)
        assert len({relay.name.casefold() for relay in layout.relays}) == len(layout.relays)


def test_the_way_out_waits_for_all_that_lies_before_the_next_place() -> None:
    layout = load_unwired(Line(2, 1, pairs=False, leaves="go when free").text())
    assert sentences(layout)[0] == (
        "['track 1 ready in', 'exit 1 kept out', 'hold 1 kept out'] -> "
        "['drop out track 1 ready', 'pull in exit 1 kept', 'pull in hold 1 kept', "
        "'pull in N due from track 1', 'throw exit 1 to A', 'B track 1 goes', 'pull in hold 1 ready']"
    )


def test_a_section_is_freed_by_the_second_of_a_pair_only_after_the_first() -> None:
    layout = load_unwired(Line(2, 2).text())
    assert sentences(layout, "H2a hit") == ["['H2b due in'] -> ['pull in H2a half']"]
    assert sentences(layout, "H2b hit") == [
        "['H2b due in', 'H2a half in'] -> ['drop out H2b due', 'drop out H2a half', 'drop out hold 1 kept', "
        "'B hold 1 stops', 'pull in hold 2 ready']"
    ]


def test_where_a_detector_lies_a_section_is_free_only_when_nothing_is_left_in_it() -> None:
    layout = load_unwired(Line(2, 2, pairs=False, detectors=True).text())
    assert "pull in hold 1 left" in sentences(layout, "H2 hit")[0]
    assert "drop out hold 1 kept" not in sentences(layout, "H2 hit")[0]
    assert "['hold 1 left in', 'mill taken free'] -> ['drop out hold 1 left', 'drop out hold 1 kept']" in (
        sentences(layout)
    )


def test_a_track_out_of_service_gets_no_trains() -> None:
    sending = [
        text for text in sentences(load_unwired(Line(switch=True).text())) if "track 2 kept out" in text
    ]
    assert sending
    assert all("'second in service'" in text for text in sending)


def test_a_holding_place_out_of_service_is_run_through() -> None:
    layout = load_unwired(Line(2, 2, pairs=False, leaves="go when free", halt=1).text())
    through = [one for one in sentences(layout) if "'halt out of service'" in one]
    assert len(through) == 2  # from either track
    for one in through:
        assert "'hold 1 kept out', 'hold 2 kept out'" in one
        assert "goes', 'B hold 1 goes'" in one
        assert "pull in hold 1 ready" not in one
    stopping = [one for one in sentences(layout) if "'halt in service'" in one]
    assert len(stopping) == 2
    assert all("'hold 2 kept out'" not in one and "pull in hold 1 ready" in one for one in stopping)


def test_a_train_at_the_go_sensor_lets_the_waiting_one_leave() -> None:
    text = (
        Line(2, 2, pairs=False)
        .text()
        .replace("hold 2: {to: home", "hold 2: {to: home, leaves: leave at the go sensor, go_sensor: N")
    )
    layout = load_unwired(text)
    assert "['hold 2 ready in'] -> ['pull in hold 2 called']" in sentences(layout, "N hit")
    assert any("'hold 2 called in'" in one and "'drop out hold 2 called'" in one for one in sentences(layout))


def test_a_start_keeps_what_its_trains_stand_in() -> None:
    layout = load_unwired(Line(2, 2, trains=3).text())
    relays = {str(text) for text in layout.starts[0].relays_in}
    assert relays == {
        *("track 1 ready", "track 1 kept", "track 2 ready", "track 2 kept", "hold 2 ready", "hold 2 kept"),
        "track 2 last",
    }


def test_the_owner_may_add_rules_of_his_own() -> None:
    rules = "relays: {BELL: {}}\nrules:\n  - {at: N hit, do: [pull in BELL]}\ntrack:\n"
    made = compiled(Line(pairs=False).text().replace("track:\n", rules))
    assert [rule.derived for rule in made.at_rules].count(False) == 1
    assert made.layout.rules[-1].derived is False


def test_explain_tells_derived_rules_and_their_reasons(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", PAIRS]) == 0
    said = capsys.readouterr().out
    assert "the whole train has left M1 and Mill Halt" in said
    assert "derived" in said
    assert main(["explain", PAIRS, "--json"]) == 0
    json.loads(capsys.readouterr().out)
