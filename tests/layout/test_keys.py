"""The table of keys: every limit is kept, and the reference, the limits and the JSON Schema say the same."""

from __future__ import annotations

from typing import Any

import pytest
from jsonschema import Draft202012Validator

from layout.base import EXAMPLES, SMALL, as_data, complaints, line_of, loaded, spoiled
from reedway.boardfile import plan
from reedway.boardfile.terminals import BOARDS, COILS_MAX, LAMPS_MAX, PANEL_MAX, USABLE
from reedway.durations import as_written, parse_ms
from reedway.layout import keytypes as kinds
from reedway.layout.jsonschema import json_schema
from reedway.layout.keys import BY_NAME, PULSE_MS_MAX, SECTIONS
from reedway.layout.keytypes import Key, Section
from reedway.layout.reference import limit_rows, limits_table, reference
from reedway.layout.values import Wrong, default_of, read
from reedway.layout.yamltext import Scalar

ALL = [(section, key) for section in SECTIONS for key in section.keys]
TIMES = [(section, key) for section, key in ALL if key.kind == kinds.TIME]


def ids(pair: Any) -> str:
    return getattr(pair, "name", "")


@pytest.mark.parametrize(("section", "key"), TIMES, ids=ids)
def test_a_time_is_taken_up_to_its_limits_and_no_further(section: Section, key: Key) -> None:
    for time_ms in (key.low, key.high):
        assert read(key, Scalar(as_written(time_ms), 1)) == time_ms
    for time_ms in (key.low - 1, key.high + 1):
        if time_ms >= 0:
            with pytest.raises(Wrong, match="allowed are") as why:
                read(key, Scalar(f"{time_ms} ms", 7))
            assert why.value.line == 7
            assert as_written(key.low) in str(why.value)


@pytest.mark.parametrize(("section", "key"), ALL, ids=ids)
def test_every_default_is_allowed_and_every_key_is_explained(section: Section, key: Key) -> None:
    value = default_of(key)
    if key.kind == kinds.TIME and key.default:
        assert value == parse_ms(key.default)
    assert key.help
    assert key.example
    assert not (key.required and key.default)


def test_the_ceilings_of_the_project_stand_in_the_table() -> None:
    """The figures of the design, written out once more."""
    high = {(section.name, key.name): key.high for section, key in TIMES}
    assert high["turnouts", "pulse"] == PULSE_MS_MAX == plan.PULSE_MS_MAX == 250
    assert high["sensors", "rearm"] == 10 * 60 * 1000
    assert high["timers", "timer"] == 12 * 60 * 60 * 1000
    assert {s.name: s.count_max for s in SECTIONS if s.count_max and not s.group} == {
        "sensors": len(USABLE),
        "detectors": len(USABLE),
        "contacts": len(USABLE),
        "switches": len(USABLE) + PANEL_MAX,
        "buttons": len(USABLE) + PANEL_MAX,
        "supplies": 8,
        "turnouts": COILS_MAX,
        "gangs": 30,
        "blocks": 29,
        "lamps": LAMPS_MAX,
        "places": 30,
        "relays": 120,
        "timers": 30,
        "rules": 900,
        "starts": 16,
    }
    assert BY_NAME["board"].keys[0].words == tuple(BOARDS)


def test_the_reference_has_every_key_with_unit_default_limit_and_example() -> None:
    text = reference()
    for section, key in ALL:
        part = text.split(f"\n\n{section.name}:")[1].split("\n\n")[0]
        assert key.help in part
        assert key.example.split("\n")[0] in part
        if section.shape not in (kinds.VALUE, kinds.NAMED_VALUE):
            assert f"\n  {key.name} " in part
        if key.kind == kinds.TIME:
            assert "unit ms, s, min, h" in part
            assert f"{as_written(key.low)} to {as_written(key.high)}" in part
        if key.default:
            assert f"default {key.default}" in part


def test_the_limits_have_every_time_and_count_once() -> None:
    rows = {row["key"]: row for row in limit_rows()}
    assert len(rows) == len(limit_rows())
    for section, key in ALL:
        if key.kind in (kinds.TIME, kinds.COUNT) and section.name != "defaults":
            assert rows[key.name]["default"] == key.default
            assert section.name in rows[key.name]["where"]
    assert rows["pulse"]["allowed"] == "5 ms to 250 ms"
    table = limits_table()
    for row in limit_rows():
        assert row["key"] in table
        assert row["allowed"] in table


SCHEMA = Draft202012Validator(json_schema())


def test_the_json_schema_is_one_and_takes_every_example() -> None:
    Draft202012Validator.check_schema(json_schema())
    assert EXAMPLES
    for text in (SMALL, *(path.read_text(encoding="utf-8") for path in EXAMPLES)):
        assert [error.message for error in SCHEMA.iter_errors(as_data(text))] == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("rearm: 3 s", "rearm: 3"),
        ("rearm: 3 s", "rearm: -3 s"),
        ("rearm: 3 s", "raerm: 3 s"),
        ("rearm: 3 s", "rearm: never"),
        ("board: pico", "board: pica"),
        ("reedway: 1", "reedway: 2"),
        ("layout: Lindholt loop", "layout:"),
        ("layout: Lindholt loop\n", ""),
        ("sensors:", "sensor:"),
        ("{terminal: feed 1}", "{}"),
        ("[coil 1, coil 2]", "[coil 1]"),
        ("  - at: N1 hit\n    while", "  - while"),
        ("    do: [throw ends to B, pull in CALL]\n", ""),
        ("  let out: 4 s", "  let out: 4"),
    ],
)
def test_the_json_schema_and_the_loader_refuse_the_same(old: str, new: str) -> None:
    text = spoiled(old, new)
    assert list(SCHEMA.iter_errors(as_data(text)))
    assert complaints(text)


def test_the_common_defaults_reach_everything_that_does_not_say_its_own() -> None:
    text = SMALL + "defaults: {confirm: 7 ms, rearm: 9 s, at_rest: never, pulse: 33 ms, pulses: 2}\n"
    layout = loaded(text)
    assert [sensor.rearm_ms for sensor in layout.sensors] == [9000, 3000]
    assert [sensor.at_rest_ms for sensor in layout.sensors] == [0, 0]
    assert {level.confirm_ms for level in layout.levels} == {7}
    assert {(t.pulse_ms, t.pulses, t.cool_ms) for t in layout.turnouts} == {(33, 2, 10_000)}
    plain = loaded(SMALL)
    assert [(s.confirm_ms, s.opening_ms, s.rearm_ms, s.at_rest_ms) for s in plain.sensors] == [
        (5, 20, 2000, 20_000),
        (5, 20, 3000, 0),
    ]
    assert (plain.late_ms, plain.defer_ms_max, plain.coil_pause_ms) == (20, 30_000, 100)
    assert line_of("N2", SMALL) == plain.sensors[1].line
