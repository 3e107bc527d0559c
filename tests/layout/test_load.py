"""Stages 2 and 3: keys and values, names and references; what is wrong, and where."""

from __future__ import annotations

import hashlib

import pytest

from layout.base import EXAMPLES, SMALL, complaints, line_of, loaded, only, spoiled
from reedway.layout.load import load


def test_a_good_file_is_loaded_as_written() -> None:
    layout = loaded(SMALL)
    assert (layout.name, layout.board, layout.path) == ("Lindholt loop", "pico", "my.yaml")
    assert layout.sha256 == hashlib.sha256(SMALL.encode()).hexdigest()
    exit_, entry = layout.turnouts
    assert (exit_.name, exit_.first, exit_.second) == ("exit", "A", "B")
    assert (str(entry.coil_first), str(entry.coil_second), entry.supply) == ("coil 3", "coil 4", None)
    assert [str(name) for name in layout.gangs[0].turnouts] == ["exit", "entry"]
    (switch,) = layout.levels
    assert (switch.kind, switch.on_word, switch.off_word) == ("switch", "in service", "out of service")
    (rule,) = layout.rules
    assert (str(rule.at), [str(c) for c in rule.conditions]) == ("N1 hit", ["siding in service"])
    assert [str(act) for act in rule.acts] == ["throw ends to B", "pull in CALL"]
    (start,) = layout.starts
    assert [str(name) for name in (*start.trains_at, *start.relays_in, *start.go)] == ["H", "CALL", "Hold"]
    assert (layout.relays[0].safe_in, layout.relays[0].follows, layout.timers[0].time_ms) == (
        False,
        None,
        4000,
    )


def test_everything_of_the_examples_knows_its_line() -> None:
    """Each name, terminal and sentence that is written stands in the line that the layout says."""
    count = 0
    for path in EXAMPLES:
        layout = load(str(path))
        lines = path.read_text(encoding="utf-8").splitlines()
        things = [*layout.sensors, *layout.buttons, *layout.supplies, *layout.turnouts, *layout.gangs]
        things += [
            *layout.blocks,
            *layout.places,
            *([] if layout.rules_derived else layout.relays),
            *([] if layout.hits_by_running_time else layout.timers),
            *layout.lamps,
            *layout.starts,
        ]
        things += [level for level in layout.levels if level.kind != "power"]
        for thing in things:
            assert lines[thing.line - 1].strip().startswith(f"{thing.name}:")
        texts = [sensor.terminal for sensor in layout.sensors]
        for rule in (rule for rule in layout.rules if not rule.derived):
            texts += [*rule.conditions, *rule.acts, *([rule.at] if rule.at else [])]
            assert lines[rule.line - 1].lstrip().startswith("- ")
        for text in texts:
            assert text.text in lines[text.line - 1]
        count += len(things) + len(texts)
    assert count > 200


def test_the_drawing_is_kept_to_the_column() -> None:
    layout = loaded(SMALL + "drawing: |\n    .--N1--.\n    `--H---'\n")
    assert layout.drawing == [".--N1--.", "`--H---'"]
    assert layout.drawing_line == SMALL.count("\n") + 2


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("rearm: 3 s", "rearm: 3", "rearm of sensor N2: '3' has no unit"),
        ("rearm: 3 s", "rearm: -3 s", "'-3 s' is negative"),
        ("rearm: 3 s", "rearm: 3 h", "'3 h' is over the ceiling of 10 min; allowed are 0 ms to 10 min"),
        ("rearm: 3 s", "rearm: [3 s]", "a list stands here"),
        ("rearm: 3 s", "rearm:", "the value is missing"),
        ("rearm: 3 s", "raerm: 3 s", "'raerm' is no key of sensor N2; allowed are terminal"),
        ("rearm: 3 s", "raerm: 3 s", "did you mean rearm?"),
        ("rearm: 3 s", "colour: red", "remove it or use one of these"),
        ("rearm: 3 s", "rearm:3 s", "a space comes after a colon"),
        ("at_rest: never", "at_rest: ever", "or write never"),
        ("[A, B], coils: [coil 1", "[A, B], pulse: 400 ms, coils: [coil 1", "pulse of turnout exit:"),
        ("[A, B], coils: [coil 1", "[A, B], pulses: 2.5, coils: [coil 1", "'2.5' is not a whole number"),
        ("[A, B], coils: [coil 1", "[A, B], pulses: 21, coils: [coil 1", "'21' is out of range"),
        ("[A, B], coils: [coil 1", "[A, B], power_routing: maybe, coils: [coil 1", "neither true nor false"),
        ("coils: [coil 3, coil 4]", "coils: [coil 3]", "has 1 entries; needed are two"),
        ("board: pico", "board: pico3", "'pico3' is not known here; allowed are pico, pico2; did you"),
        ("reedway: 1", "reedway: 2", "'2' is out of range; allowed are only 1"),
        ("layout: Lindholt loop", "layout: " + "x" * 61, "has 61 letters; allowed are 60"),
        ("layout: Lindholt loop", "layout: {a: b}", "keys stand here ('a')"),
        ("  CALL: {}", "  CALL: soon", "relay CALL: keys and values are needed, not 'soon'"),
        ("  let out: 4 s", "  let out: 1:30", "write seconds: 90 s"),
        ("  let out: 4 s", "  let out: 5 ms", "timer let out: '5 ms' is too short"),
        ("starts:", "strats:", "'strats' is no key of a layout file"),
        ("sensors:\n", "sensors: []\nzz:\n", "not a list"),
    ],
)  # fmt: skip
def test_keys_and_values(old: str, new: str, says: str) -> None:
    found = [c for c in complaints(spoiled(old, new)) if says in c.message]
    assert found, complaints(spoiled(old, new))
    assert found[0].line == line_of(old)


@pytest.mark.parametrize(
    ("gone", "line", "says"),
    [
        ("layout: Lindholt loop\n", 1, "the key 'layout' is missing"),
        ("board: pico\n", 1, "add: board: pico"),
        ("terminal: sensor 2, ", line_of("  N2"), "sensor N2: the key 'terminal' is missing"),
        (", coils: [coil 3, coil 4]", line_of("  entry"), "turnout entry: the key 'coils' is missing"),
        ("    do: [throw ends to B, pull in CALL]\n", line_of("  - at"), "rule: the key 'do' is missing"),
    ],
)
def test_missing_keys(gone: str, line: int, says: str) -> None:
    complaint = only(spoiled(gone, ""))
    assert says in complaint.message
    assert complaint.line == line


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("  N2:", "  n1:", "the name 'n1' is taken by the sensor 'N1' (case does not count) in line 5"),
        ("  CALL: {}", "  hold: {}", "the name 'hold' is taken by the block 'Hold' (case does not count)"),
        ("  let out: 4 s", "  N2: 4 s", "taken by the sensor in line 6"),
        ("  CALL: {}", "  CALL!: {}", "has the sign '!'; allowed are letters, digits"),
        ("  CALL: {}", "  -CALL: {}", "begins with a sign"),
        ("  CALL: {}", f"  {'C' * 31}: {{}}", "has 31 letters; allowed are 30"),
        ("  CALL: {}", "  track power: {}", "is the name of something else"),
        ("[exit, entry]", "[exit, entyr]", "it must stand under turnouts; did you mean entry?"),
        ("[exit, entry]", "[exit, N1]", "'N1' is a sensor; a turnout is needed; known are exit, entry"),
        ("[exit, entry]", "[exit, exit]", "'exit' is there twice"),
        ("[exit, entry]", "[]", "it has no turnouts"),
        ("H: {block: Hold}", "H: {block: Held}", "did you mean Hold?"),
        ("trains: [H]", "trains: [Halt]", "there is no place 'Halt'"),
        ("relays_in: [CALL]", "relays_in: [Hold]", "'Hold' is a block; a relay is needed"),
        ("go: [Hold]", "go: [H]", "'H' is a place; a block is needed"),
        ("on: in service", "on: out of service", "are one word"),
        ("off: out of service", "off: out/in", "the word 'out/in' has the sign '/'"),
        ("exit: {positions: [A, B]", "exit: {positions: [A, a]", "are one word"),
        ("exit: {", "exit: {supply: bank, ", "there is no supply 'bank'"),
        ("exit: {", "exit: {contacts: {C: k}, ", "there is no position 'C'; allowed are A, B"),
        ("exit: {", "exit: {contacts: {B: k}, ", "there is no contact 'k'"),
        ("sensor 2", "sensor 1", "'sensor 1' is taken by sensor N1 (line 5)"),
        ("sensor 2", "sensor 99", "'sensor 99' is no terminal"),
        ("sensor 2", "coil 9", "'coil 9' is an output and this is an input"),
        ("  - at: N1 hit\n", "  - why: so\n", "neither 'at' nor 'as_soon_as'"),
        ("    while: [siding in service]", "    as_soon_as: [siding in service]", "each rule has one"),
        ("    do: [throw ends to B, pull in CALL]", "    do: []", "'do' is empty"),
    ],
)  # fmt: skip
def test_names_and_references(old: str, new: str, says: str) -> None:
    found = [c for c in complaints(spoiled(old, new)) if says in c.message]
    assert found, complaints(spoiled(old, new))
    expected = line_of(old) + (1 if "\n" in new and not new.endswith("\n") else 0)
    assert found[0].line == expected


def test_names_are_found_whatever_their_case_and_keep_their_spelling() -> None:
    layout = loaded(spoiled("[exit, entry]", "[EXIT, Entry]"))
    assert [str(name) for name in layout.gangs[0].turnouts] == ["exit", "entry"]


def test_a_follower_is_not_set_by_a_start_and_a_contact_shows_one_position() -> None:
    text = spoiled("  CALL: {}", "  CALL: {pulled_in_while: [N1 closed]}").replace(", pull in CALL", "")
    assert "follows its pulled_in_while" in only(text).message
    text = (
        spoiled("exit: {positions", "exit: {contacts: {A: k, B: k}, positions")
        + "contacts: {k: {terminal: sensor 3}}\n"
    )
    assert "'k' already shows turnout exit to A" in only(text).message


def test_all_of_a_stage_comes_together_and_the_next_stage_waits() -> None:
    values = spoiled("rearm: 3 s", "rearm: 3").replace("4 s", "-4 s").replace("board: pico", "board: pica")
    names = values.replace("[exit, entry]", "[exit, entyr]")
    assert [c.line for c in complaints(names)] == [3, 6, line_of("4 s")]
    names = (
        spoiled("[exit, entry]", "[exit, entyr]")
        .replace("trains: [H]", "trains: [HH]")
        .replace("feed 1", "feed 77")
    )
    assert [c.line for c in complaints(names)] == [
        line_of("[exit, entry]"),
        line_of("feed 1"),
        line_of("trains: [H]"),
    ]


def test_more_than_fit_are_refused_at_the_first_that_does_not() -> None:
    relays = "".join(f"  R{i}: {{}}\n" for i in range(120))
    complaint = only(spoiled("  CALL: {}\n", "  CALL: {}\n" + relays))
    assert "121 are more than fit; allowed are 120; take 1 out" in complaint.message
    assert complaint.line == line_of("  CALL: {}") + 120


def test_a_wide_or_long_drawing_is_refused_at_its_line() -> None:
    wide = SMALL + "drawing: |\n  ok\n  " + "-" * 81 + "\n"
    assert (only(wide).line, "81 characters wide" in only(wide).message) == (SMALL.count("\n") + 3, True)
    long = SMALL + "drawing: |\n" + "  x\n" * 41
    assert (only(long).line, "has 41 lines" in only(long).message) == (SMALL.count("\n") + 42, True)


def test_a_value_that_runs_on_into_the_next_line_is_told() -> None:
    complaint = only(spoiled("board: pico\n", "board: pico\n  and more\n"))
    assert complaint.line == 3
    assert "goes on in the next line" in complaint.message


def test_one_sentence_may_stand_without_brackets_and_sections_may_be_empty() -> None:
    layout = loaded(
        spoiled("while: [siding in service]", "while: siding in service") + "supplies:\nlamps: {}\n"
    )
    assert [str(condition) for condition in layout.rules[0].conditions] == ["siding in service"]
