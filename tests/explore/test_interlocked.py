"""three-trains-interlocked in every order of events: never two trains in one stretch, no turnout moved under
a train, nobody waits for ever. And what its rules say is needed: without it the search finds the accident."""

from __future__ import annotations

import pytest

from explore.interlocked import FILE, STARTS, Line

SOURCE = FILE.read_text(encoding="utf-8")
HEAD, RULES = SOURCE[: SOURCE.index("\nrules:")], SOURCE[SOURCE.index("\nrules:") :]

# (states, transitions) by start and throws at once or as events of their own: a change of the logic or of the
# layout shows here.
COUNTS = {
    ("three trains", True): (613, 1423),
    ("three trains", False): (736, 1707),
    ("two trains", True): (211, 483),
    ("two trains", False): (238, 535),
    ("one train", True): (32, 53),
    ("one train", False): (38, 64),
}


@pytest.mark.parametrize(("start", "throws_at_once"), list(COUNTS))
def test_nothing_goes_wrong_and_nobody_is_stuck(start: str, throws_at_once: bool) -> None:
    findings = Line(SOURCE).explore(start, throws_at_once)
    assert findings.clean, (findings.wrong, findings.stuck, findings.way)
    assert (findings.states, findings.transitions) == COUNTS[start, throws_at_once]


@pytest.mark.parametrize("start", list(STARTS))
def test_an_owner_may_stop_hold_and_let_go_at_any_time(start: str) -> None:
    plain = Line(SOURCE).explore(start, throws_at_once=False)
    findings = Line(SOURCE, orders=True).explore(start, throws_at_once=False)
    assert findings.clean, (findings.wrong, findings.stuck, findings.way)
    assert findings.states > 8 * plain.states  # stopped or not, three places held or not


@pytest.mark.parametrize("throws_at_once", [True, False])
@pytest.mark.parametrize("start", list(STARTS))
def test_any_number_of_missed_hits_stops_trains_safely(start: str, throws_at_once: bool) -> None:
    findings = Line(SOURCE, missed_hits=True).explore(start, throws_at_once)
    assert not findings.wrong, findings.way
    assert findings.stuck  # and that is what the watch is for


def test_missed_hits_and_orders_together() -> None:
    findings = Line(SOURCE, orders=True, missed_hits=True).explore("one train", throws_at_once=False)
    assert not findings.wrong, findings.way


# Taken out of the file, and a word of what comes of it with three trains.
NEEDED = [
    ("Lindholt stops, ", "M1"),
    ("OUT A in", "on track A"),
    ("drop out B KEPT, ", "stuck"),
    ("Mill stops, ", "Bridge Halt"),
    ("Bridge stops, ", "M2"),
    ("drop out LINE KEPT, ", "stuck"),
    ("pull in A READY, ", "stuck"),
    ("B FIRST out, LINE KEPT out, ", "M1"),
    ("throw exit to A, ", "on track A"),
    ("pull in LINE KEPT, ", "M1"),
    (", BRIDGE KEPT out", "Bridge Halt"),
    (", A KEPT out", "on track A"),
    (", B KEPT out", "on track B"),
    ("pull in INTO A, ", "M2"),
    ("throw entry to B, ", "on track A"),
    (", Bridge goes", "stuck"),
]


@pytest.mark.parametrize(("taken_out", "comes"), NEEDED)
def test_needed(taken_out: str, comes: str) -> None:
    assert taken_out in RULES
    line = Line(HEAD + RULES.replace(taken_out, "", 1).replace("    while: []\n", ""))
    findings = line.explore("three trains", throws_at_once=True)
    assert comes in (findings.wrong or f"stuck {findings.stuck}"), findings
    assert findings.stuck or len(findings.way) > 1  # who is stuck may be so from the start


def test_entry_moved_under_a_train_is_seen() -> None:
    """The entry thrown for the next train before the last one is clear of it: seen as such where throws are
    events of their own, and as two trains on M2 where they are done at once."""
    line = Line(SOURCE.replace("B KEPT out, INTO A out, ", "B KEPT out, "))
    assert "entry moves under" in line.explore("three trains", throws_at_once=False).wrong
    assert "on M2" in line.explore("three trains", throws_at_once=True).wrong


def test_cut_off_is_said() -> None:
    line = Line(SOURCE)
    line.states_max = 100
    findings = line.explore("three trains", throws_at_once=True)
    assert findings.cut_off and not findings.clean
