"""Throws in small scenes: leads, refreshes, gang order, contacts; each was wrong once."""

import pytest

from logic.small import LEVEL, SENSOR, Scene, plan, turnout
from reedlogic import words as w

WITH_LEAD = plan(turnouts=(turnout(0, 1),), supplies=((0, 20, 5, 1),))
TO_A, TO_B = (w.O_THROW, 0), (w.O_THROW, 1)
STOP, GO_ON, ACKNOWLEDGE = (w.O_STOP, 0), (w.O_GO_ON, 0), (w.O_ACKNOWLEDGE, 0)


def test_a_supply_closes_before_and_opens_after() -> None:
    scene = Scene(WITH_LEAD).at(100)
    assert scene.all("supply") == [(1, 0, 1), (36, 0, 0)]
    assert scene.all("pulse") == [(21, 0, 10)]
    assert scene.all("pulse_end") == [(31, 0, 0)]


def test_stop_during_a_lead_holds_the_pulse_back() -> None:
    scene = Scene(WITH_LEAD).at(10, STOP).at(100)
    assert scene.all("pulse") == []
    assert scene.all("supply")[-1] == (21, 0, 0)
    scene.at(200, GO_ON).at(300)
    assert scene.all("pulse") == [(220, 0, 10)]


def test_no_pulse_begins_inside_a_gap() -> None:
    scene = Scene(WITH_LEAD).at(10).at(60, gap=50).at(100)
    assert scene.all("late") == [(60, 0, 50)]
    assert scene.all("pulse") == [(60, 0, 10)]


def test_asked_back_during_a_lead_gives_no_pulse() -> None:
    scene = Scene(WITH_LEAD).at(100).at(101, TO_B).at(110, TO_A).at(200)
    assert scene.all("pulse") == [(21, 0, 10)]
    assert scene.all("position") == [(31, 0, 0), (110, 0, 0)]  # known again at once, an event of its own


def test_a_refresh_waits_for_the_turnout_it_comes_after() -> None:
    scene = Scene(plan(turnouts=(turnout(0, 1, pulses=1, cool=500), turnout(2, 3, after=1))))
    scene.at(100).at(101, TO_B).at(150, TO_A).at(160, (w.O_THROW, 2))
    assert scene.all("deferred") == [(150, 0, 0)]
    scene.at(499)
    assert scene.all("pulse", 150) == []  # turnout 0 is outstanding until its coil has cooled
    scene.at(900)
    assert [coil for _, coil, _ in scene.all("pulse", 150)] == [0, 2]


def test_a_strayed_turnout_is_not_refreshed() -> None:
    inputs = (SENSOR, LEVEL)
    turnouts = (turnout(0, 1, pulse=40, first=1, wait=10), turnout(2, 3, pulse=80))
    scene = Scene(plan(inputs=inputs, turnouts=turnouts), raw=2)
    scene.at(200).at(201, (w.O_THROW, 3)).at(205, TO_A).at(210, raw=0).at(400)
    assert scene.all("refresh") == [(205, 0, 0)]
    assert scene.all("caution") == [(215, 0, w.C_STRAYED)]
    assert [coil for _, coil, _ in scene.all("pulse", 205)] == []
    scene.at(500, ACKNOWLEDGE).at(700)
    # Acknowledged: thrown to where it is wanted, once more as its contact does not agree, then a caution.
    assert [coil for _, coil, _ in scene.all("pulse", 500)] == [0, 0]
    assert scene.all("caution", 500)[0][1:] == (0, w.C_UNMOVED)


def test_a_start_records_every_throw() -> None:
    """Also of a turnout that a rule throws elsewhere in the event of the start."""
    at_start = ((w.E_START << w.EVENT_SHIFT, ((), (w.OP_THROW_B, 0, 1))),)
    scene = Scene(plan(turnouts=(turnout(0, 1), turnout(2, 3)), at=at_start)).at(100)
    assert scene.all("throw") == [(1, 0, 1), (1, 1, 0)]


def test_a_pulse_end_that_changes_nothing_is_no_event() -> None:
    at_position = ((w.E_POSITION << w.EVENT_SHIFT, ((), (w.OP_SET, w.W_NOTE, 1))),)
    scene = Scene(plan(turnouts=(turnout(0, 1),), at=at_position)).at(5, TO_B).at(15)
    assert scene.all("pulse_end") == [(11, 0, 0)]
    assert scene.all("position") == scene.all("note") == []
    scene.at(100)
    assert scene.all("position") == [(26, 0, 1)]


@pytest.mark.parametrize("which", [0, 1, 2])
def test_a_refused_start_names_a_switch_of_its_own(which: int) -> None:
    switches = (LEVEL, LEVEL, LEVEL)
    starts = tuple(((w.W_LEVEL, 1 << i, 1 << i), (0, 0, 0, 0), 0, 0, 0) for i in range(3))
    scene = Scene(plan(inputs=switches, starts=starts), started=False).at(1, (w.O_START, which))
    assert scene.all("refused") == [(1, w.O_START, w.N_SWITCH + which)]


def test_acknowledging_a_strayed_turnout_that_came_back_is_an_event() -> None:
    at_position = ((w.E_POSITION << w.EVENT_SHIFT, ((), (w.OP_SET, w.W_NOTE, 1))),)
    inputs, turnouts = (SENSOR, LEVEL), (turnout(0, 1, first=1),)
    scene = Scene(plan(inputs=inputs, turnouts=turnouts, at=at_position), raw=2)
    scene.at(100).at(110, raw=0).at(150, raw=2).at(200, ACKNOWLEDGE)
    assert scene.all("caution") == [(115, 0, w.C_STRAYED)]
    assert scene.all("clear") == [(200, 0, w.C_STRAYED)]
    assert scene.all("position", 150) == [(200, 0, 0)]
    assert scene.all("note", 150) == [(200, 0, 0)]


def test_standing_rules_are_worked_out_again_when_a_pulse_begins() -> None:
    """Rule 0 wants B, rule 1 takes that back while the turnout lies at B and is known: not in a pulse."""
    to_b_wanted = ((w.W_RELAY, 1, 1), (w.OP_THROW_B, 0, 1))
    not_at_b = ((w.W_POSITION, 1, 1, w.W_KNOWN, 1, 1), (w.OP_THROW_A, 0, 1))
    at_hit = ((w.E_HIT << w.EVENT_SHIFT, ((), (w.OP_SET, w.W_NOTE, 1))),)
    starts = (((), (1, 0, 0, 0), 1, 0, 0),)
    scene = Scene(plan(turnouts=(turnout(0, 1),), standing=(to_b_wanted, not_at_b), at=at_hit, starts=starts))
    scene.at(11).at(16).at(17, raw=1).at(22)
    assert scene.all("pulse") == [(1, 1, 10), (16, 0, 10)]
    assert scene.all("throw") == [(1, 0, 1), (11, 0, 0), (22, 0, 1)]


def test_a_throw_deferred_anew_is_told_anew() -> None:
    """Asked back and away again in one instant: the budget puts off another throw than before."""
    turnouts = (turnout(0, 1, pulses=1, cool=400),)
    scene = Scene(plan(turnouts=turnouts, limits=(20, 5, 100, 0))).at(100)
    scene.at(500, TO_B).at(520, TO_A).at(560).at(600, TO_B)
    assert [coil for _, coil, _ in scene.all("pulse")] == [0, 1, 0]
    assert scene.all("deferred") == [(600, 0, 1)]
    scene.at(650, TO_A, TO_B).at(745)
    assert scene.all("deferred")[1:] == [(650, 0, 1)]
    assert scene.all("fault") == []
    scene.at(760)
    assert scene.all("fault") == [(750, 0, w.F_DEFERRED)]


def test_turnouts_that_ask_each_other_back_end_in_a_fault() -> None:
    """Two `in position` rules that would follow each other for ever at one instant."""
    position = w.E_POSITION << w.EVENT_SHIFT
    first = (position, ((w.W_RELAY, 1, 1), (w.OP_THROW_B, 0, 1, w.OP_THROW_A, 0, 2)))
    second = (position | 1, ((w.W_RELAY, 1, 1), (w.OP_THROW_A, 0, 1, w.OP_THROW_B, 0, 2)))
    pull_in = (w.E_HIT << w.EVENT_SHIFT, ((), (w.OP_SET, w.W_RELAY, 1)))
    scene = Scene(plan(turnouts=(turnout(0, 1), turnout(2, 3)), at=(pull_in, first, second))).at(100)
    scene.at(200, raw=1).at(250, TO_B, (w.O_THROW, 3), (w.O_THROW, 2)).at(1000)
    assert scene.all("fault") == [(250, 127, w.F_UNSETTLED)]
    assert scene.all("pulse", 250) == []
    assert len(scene.told) < 100
    scene.at(1100, raw=0).at(1200)
    assert scene.all("opening") and scene.all("position", 251) == []  # and nothing of it is left for later
