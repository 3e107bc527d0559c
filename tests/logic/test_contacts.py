"""Position contacts: what they say counts; a turnout that does not obey them is told of and left alone."""

from logic.small import LEVEL, SENSOR, Scene, plan, turnout
from reedlogic import words as w

TO_A, TO_B = (w.O_THROW, 0), (w.O_THROW, 1)
ACKNOWLEDGE = (w.O_ACKNOWLEDGE, 0)
GO = (((), (0, 0, 0, 0), 0, 1, 0),)
AT_A, AT_B = 2, 4  # raw words: inputs 1 and 2 are the contacts of the first and second position


def scene(raw: int = AT_A, **turnout_values: int) -> Scene:
    """One turnout with a contact for each position, wanted at A by the start, and a block that goes."""
    one = turnout(0, 1, **{"first": 1, "second": 2, "wait": 40, **turnout_values})
    return Scene(plan(inputs=(SENSOR, LEVEL, LEVEL), turnouts=(one,), starts=GO), raw=raw)


def coils(s: Scene, since: int = 0) -> list[int]:
    return [coil for _, coil, _ in s.all("pulse", since)]


def test_a_contact_that_agrees_after_the_pulse_makes_it_known() -> None:
    s = scene().at(100)
    assert coils(s) == [0]
    assert s.all("position") == [(11, 0, 0)]  # it lay there already when the pulse ended
    s.at(200, TO_B).at(204, raw=0).at(230, raw=AT_B).at(300)
    assert coils(s, 200) == [1]
    assert s.all("pulse_end", 200) == [(210, 1, 0)]
    assert s.all("position", 200) == [(235, 0, 1)]  # only when the other contact has closed and is confirmed
    assert s.all("caution") == []


def test_no_agreement_gives_one_retry_then_a_caution() -> None:
    s = scene().at(100).at(200, TO_B).at(2000)  # the points never move
    assert s.all("pulse", 200) == [(200, 1, 10), (250, 1, 10)]  # 210 + 40 of waiting, again
    assert s.all("caution") == [(300, 0, w.C_UNMOVED)]
    assert s.all("position", 200) == []
    s.at(3000, TO_B).at(4000)
    assert coils(s, 300) == []  # outstanding, and not pulsed until acknowledged
    s.at(5000, ACKNOWLEDGE).at(6000)
    assert s.all("clear") == [(5000, 0, w.C_UNMOVED)]
    assert coils(s, 5000) == [1, 1]  # not forgotten: tried anew, with a retry


def test_the_feed_waits_for_the_contact() -> None:
    """The rails are not fed while a contact has not told that the points lie right."""
    s = scene(raw=0).at(30)
    assert s.all("pulse_end") == [(11, 0, 0)]
    assert s.all("feed") == []
    s.at(40, raw=AT_A).at(50)
    assert s.all("feed") == [(45, 0, 1)] == [(t, 0, 1) for t, _, _ in s.all("position")]


def test_points_moved_by_hand_are_unknown_and_left_alone() -> None:
    s = scene().at(100).at(200, raw=0).at(1000)
    assert s.all("caution") == [(205, 0, w.C_STRAYED)]
    assert coils(s, 100) == []
    assert s.c.logic.feeds == 1  # fed before: a train is on its way and goes on
    s.at(1100, raw=AT_A).at(1200)
    assert coils(s, 100) == [] and not s.c.words[w.W_KNOWN]  # still: a train may be on it
    s.at(1300, ACKNOWLEDGE).at(1400)
    assert s.all("position", 1300) == [(1300, 0, 0)]
    assert coils(s, 100) == []  # it lies where it is wanted


def test_a_refresh_that_moves_the_points_away_is_told() -> None:
    s = scene(pulse=30).at(100).at(200, TO_A).at(210, raw=0).at(1000)
    assert s.all("refresh") == [(200, 0, 0)]
    assert s.all("caution") == [(230, 0, w.C_STRAYED)]
    assert coils(s, 200) == [0]


def test_one_contact_is_enough() -> None:
    """With a contact at B only: open means A."""
    s = scene(raw=0, first=w.NONE).at(100)
    assert s.all("position") == [(11, 0, 0)]
    s.at(200, TO_B).at(215, raw=AT_B).at(300)
    assert s.all("position", 200) == [(220, 0, 1)]
    assert coils(s) == [0, 1]


def test_contacts_before_the_start_are_levels_only() -> None:
    one = turnout(0, 1, first=1, second=2)
    s = Scene(plan(inputs=(SENSOR, LEVEL, LEVEL), turnouts=(one,)), raw=AT_A, started=False)
    s.at(10, raw=0).at(50, raw=AT_B).at(100)
    assert s.all("caution") == s.all("pulse") == s.all("position") == []
    assert s.all("change") == [(15, 1, 0), (55, 2, 1)]
