"""A broken layout's story names the line to blame and a change that was tried and sets it right.

Each case breaks three-trains-interlocked in one place, as an owner might: a condition forgotten, a position
swapped, a relay not dropped out, a wrong sensor, a block not stopped, a start value left out. The change that
is told must be the one that was undone, or one that is proved as well.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from reedlogic import words as w
from reedway.boardfile.compile import Compiled, compile_layout
from reedway.cli import main
from reedway.layout.load import load_bytes
from reedway.proof.commands import EXIT_REFUTED
from reedway.proof.cure import forgotten_throws, is_forgotten
from reedway.proof.edits import Edits
from reedway.proof.judge import Limits, judge
from reedway.proof.scene import scenes
from reedway.proof.story import story
from reedway.proof.telling import Teller, all_starts

CONFIG = Path(__file__).parents[2] / "config"
SOURCE = (CONFIG / "three-trains-interlocked.yaml").read_text(encoding="utf-8")
LIMITS = Limits(100_000, 2_000)

# What is written, what in place of it, what the story must say why, and what to change.
BROKEN: dict[str, tuple[Any, Any, str, str]] = {
    "a condition forgotten": (
        ", A KEPT out, INTO A out",
        ", INTO A out",
        "None of it told whether track A is empty. Whenever a train was in track A, A KEPT was in.",
        "add `A KEPT out` to the conditions of the rule at line {line}",
    ),
    "a position swapped": (
        "throw exit to A, ",
        "throw exit to B, ",
        "with the railcar still in track A; it asks for `OUT A in` (since step 4, by line {line})",
        "write `throw exit to A` in place of `throw exit to B` in the rule at line {line}",
    ),
    "a relay not dropped out": (
        "drop out LINE KEPT, ",
        "",
        "no rule ever makes it so that `LINE KEPT out`",
        "add `drop out LINE KEPT` to what the rule at line {line} does",
    ),
    "a wrong sensor": (
        "at: N4 hit",
        "at: N3 hit",
        "(at N3 hit while Bridge goes); N3 was hit at step 4, but Bridge did not go then",
        "write `at: N4 hit` in place of `at: N3 hit` in the rule at line {line}",
    ),
    "a block not stopped": (
        "Mill stops, ",
        "",
        "The railcar left Mill Halt because Mill still went",
        "add `Mill stops` to what the rule at line {line} does",
    ),
    "a relay not pulled in": (
        "pull in OUT A, pull in LINE KEPT, ",
        "pull in OUT A, ",
        "The goods train was let go from track B by the rule at line",
        "add `pull in LINE KEPT` to what the rule at line {line} does",
    ),
    "a wrong relay": (
        "drop out OUT A, drop out A KEPT",
        "drop out OUT A, drop out B KEPT",
        "had dropped it out (step 7) with the goods train still in track B",
        "write `drop out A KEPT` in place of `drop out B KEPT` in the rule at line {line}",
    ),
    "a relay dropped out too early": (
        "drop out UP, drop out LINE KEPT, pull",
        "drop out UP, drop out LINE KEPT, drop out BRIDGE KEPT, pull",
        "had dropped it out (step 4) with the milk train still in Bridge Halt",
        "take `drop out BRIDGE KEPT` out of what the rule at line {line} does",
    ),
    "an act at the wrong sensor": (
        ("do: [pull in AT MILL, restart", "drop out UP, drop out LINE KEPT, pull in"),
        ("do: [pull in AT MILL, drop out LINE KEPT, restart", "drop out UP, pull in"),
        "is made by the rule at line 148 (at N2 hit while LINE KEPT in and UP out); N2 was not hit",
        "move `drop out LINE KEPT` from the rule at line {line} to the rule at line 153",
    ),
    "a start value left out": (
        "B KEPT, LINE KEPT, AT MILL",
        "B KEPT, AT MILL",
        "`LINE KEPT out` (from the start)",
        "add `LINE KEPT` to relays_in of the start three trains at line 213",
    ),
}


def rule_line(source: str, words: str) -> int:
    """Line of the rule or start in which these words stand."""
    at = source.index(words)
    starts = [
        source.rfind(mark, 0, at + len(words))
        for mark in ("\n  - at", "\n  - as_soon_as", "\n  three trains:")
    ]
    return source.count("\n", 0, max(starts) + 1) + 1


def compiled(source: str) -> Compiled:
    return compile_layout(load_bytes("my.yaml", source.encode()))


def told(source: str) -> str:
    """Everything that is told of the first start, the board answering at once."""
    scene = scenes(compiled(source), 0)[0]
    lines = Teller(LIMITS).tell(scene, judge(scene, False, LIMITS))
    return " ".join(" ".join(lines).split())


@pytest.mark.parametrize("what", BROKEN)
def test_the_story_names_the_guilty_line_and_the_cure(what: str) -> None:
    written, broken, why, cure = BROKEN[what]
    pairs = [(written, broken)] if isinstance(written, str) else list(zip(written, broken, strict=True))
    source = SOURCE
    for old, new in pairs:
        assert source.count(old) >= 1
        source = source.replace(old, new, 1)
    said = told(source)
    assert "REFUTED" in said
    line = rule_line(SOURCE, pairs[0][0])
    assert why.format(line=line) in said
    assert "What to change (tried): " + cure.format(line=line) in said
    assert "then this does not happen, and every start of this file is proved" in said
    assert "running times" not in said
    assert "Or (tried)" not in said
    assert said.index("In short") < said.index("What to change") < said.index(" 1. ")


def test_a_start_that_stands_for_ever_is_told_as_right_after_the_start() -> None:
    was, instead = "A KEPT, B READY, B KEPT, LINE KEPT", "A KEPT, B KEPT, LINE KEPT"
    said = told(SOURCE.replace(was, instead, 1))
    assert "In short: the goods train can never move again, right after the start. What to change" in said


def test_a_later_start_is_given_the_change_that_sets_every_start_right() -> None:
    made = compiled(SOURCE.replace("pull in B KEPT, throw entry to B", "pull in B KEPT, throw entry to A"))
    teller = Teller(LIMITS)
    changes, said = [], ""
    for start in (0, 1):
        scene = scenes(made, start)[0]
        verdict = judge(scene, False, LIMITS)
        said += " ".join(" ".join(teller.tell(scene, verdict)).split())
        changes.append(teller.advice(verdict).change)
    cure = "write `throw entry to B` in place of `throw entry to A` in the rule at line 193"
    assert changes[0] == [
        f"What to change (tried): {cure}; then this does not happen, and every start of this file is proved."
    ]
    assert "keeps track B (`pull in B KEPT`) but does `throw entry to A`, which leads the train into" in said
    assert "had dropped it out" not in said  # of an innocent rule
    assert said.count("(may go: ") == 1
    assert changes[1] == [f"What to change: the same change as above sets this right too: {cure}."]


def test_a_train_that_only_points_hold_is_told_to_wait_for_them() -> None:
    source = (CONFIG / "two-trains.yaml").read_text(encoding="utf-8").replace("at: N1 hit", "at: N2 hit", 1)
    said = told(source)
    assert "track A, which has no block, and does not wait: exit to A is asked for" in said
    assert "The goods train stands in track B and waits for exit to B, which feeds its rails" in said
    assert "(at N2 hit while siding in service and ends to A); N2 was not hit" in said


def test_two_sensors_exchanged_under_track_are_told() -> None:
    source = (CONFIG / "two-trains.yaml").read_text(encoding="utf-8")
    source = source.replace("{to: exit, sensors: N1}", "{to: exit, sensors: N0}")
    source = source.replace("sensors: N2}", "sensors: N1}").replace("sensors: N0}", "sensors: N2}")
    said = told(source)
    assert "What to change (tried): exchange N1 and N2 in the rules at lines " in said
    assert "every start of this file is proved. Or they are exchanged under track:" in said


def test_a_throw_that_no_rule_does_is_looked_for_where_its_block_goes() -> None:
    sound, broken = (compiled(text) for text in (SOURCE, SOURCE.replace("throw exit to B, ", "", 1)))
    assert forgotten_throws(scenes(sound, 0)[0], Edits(sound).written()) == []
    scene = scenes(broken, 0)[0]
    found = forgotten_throws(scene, Edits(broken).written())
    assert found == [(w.OP_THROW_B, 1, 1)]  # the exit, and Lindholt
    rule = next(rule for rule in broken.standing if rule.line == rule_line(SOURCE, "throw exit to B, "))
    whats = [edit.what for edit in Edits(broken).of(rule) if is_forgotten(edit, found)]
    assert whats == [f"add `throw exit to B` to what the rule at line {rule.line} does"]


def test_one_line_over_all_starts() -> None:
    assert all_starts([("a", "proved"), ("b", "proved")]) == "All starts proved."
    some = [("a", "refuted"), ("a", "proved"), ("b", "proved"), ("c", "not decided")]
    assert all_starts(some) == "1 of 3 starts refuted: a; 1 of 3 starts not decided: c."
    assert all_starts([("a", "refuted")]) == "The start is refuted."


def test_what_is_told_to_be_a_cure_is_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The owner does as he is told, in his own file, and it is proved."""
    written = "at: N4 hit"
    broken = tmp_path / "broken.yaml"
    broken.write_text(SOURCE.replace(written, "at: N3 hit", 1), encoding="utf-8")
    assert main(["prove", str(broken), "--start", "three trains"]) == EXIT_REFUTED
    said = " ".join(capsys.readouterr().out.split())
    line = rule_line(SOURCE, written)
    assert f"write `at: N4 hit` in place of `at: N3 hit` in the rule at line {line}" in said
    lines = broken.read_text(encoding="utf-8").splitlines()
    lines[line - 1] = lines[line - 1].replace("N3 hit", "N4 hit")
    broken.write_text("\n".join(lines), encoding="utf-8")
    assert main(["prove", str(broken)]) == 0


def test_steps_tell_which_line_does_what() -> None:
    made = compiled(SOURCE.replace(", A KEPT out, INTO A out", ", INTO A out", 1))
    scene = scenes(made, 0)[0]
    lines = story(scene, judge(scene, False, LIMITS))
    at = next(n for n, line in enumerate(lines) if "The milk train comes to N3" in line)
    after = [line.strip() for line in lines[at + 1 : at + 4]]
    assert after[0] == (
        f"line {rule_line(SOURCE, 'at: N3 hit')}: UP drops out, LINE KEPT drops out, AT BRIDGE pulls in, "
        "Mill stops"
    )
    assert after[2].endswith("AT BRIDGE drops out, INTO A pulls in, Bridge may go")
    assert not any("watch" in line for line in lines)  # a timer that only cautions


def test_two_mistakes_are_not_taken_for_running_times() -> None:
    """No single change helps; but derived rules do, so times are not what it rests on."""
    source = SOURCE.replace(", A KEPT out, INTO A out", ", INTO A out", 1)
    source = source.replace("Mill stops, ", "", 1).replace(", BRIDGE KEPT out]", "]", 1)
    said = told(source)
    assert "single changes that were tried sets it right" in said
    assert "let Reedway make the rules. Delete the rules under rules:" in said
    assert "with the derived rules alone this start is proved" in said
    assert "running times" not in said


def test_written_rules_left_beside_derived_ones_are_told_to_go() -> None:
    source = SOURCE.replace("safe_rules: written", "safe_rules: derived")
    said = told(source)
    assert "REFUTED" in said
    assert "with the derived rules alone this start is proved" in said
    assert "Rules of yours that stay beside them act too" in said


def test_advice_that_was_not_tried_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    args = ["prove", str(CONFIG / "three-trains-interlocked.yaml"), "--start", "two trains"]
    assert main([*args, "--fault", "a phantom hit"]) == EXIT_REFUTED
    said = " ".join(capsys.readouterr().out.split())
    assert "What to change (not tried here): put a second sensor" in said
    assert "What to change (tried)" not in said
    assert "The fault comes at step 7 (N3 makes a hit though no train is there)." in said


def test_the_limit_of_waiting_hits_is_an_assumption_only_where_it_was_reached(
    capsys: pytest.CaptureFixture[str],
) -> None:
    limit = "At most 4 hits wait for the board at a time"
    main(["prove", str(CONFIG / "three-trains-pairs.yaml"), "--start", "one train"])
    assert limit not in capsys.readouterr().out
    main(["prove", str(CONFIG / "three-trains-pairs.yaml"), "--start", "two trains"])
    assert limit in capsys.readouterr().out
