"""Times in small scenes: timers, track power, late scans, the start, the journal when it is full."""

from logic.small import LEVEL, SENSOR, START, Scene, plan, turnout
from reedlogic import words as w
from reedlogic.journal import Journal

HIT = w.E_HIT << w.EVENT_SHIFT
TIMER = w.E_TIMER << w.EVENT_SHIFT


def hit_starts(op: int, **parts: object) -> tuple:
    """Sensor 0 starts (or restarts) timer 0 of 50 ms, whose end pulls in relay 0."""
    at = ((HIT, ((), (op, 0, 1))), (TIMER, ((), (w.OP_SET, w.W_RELAY, 1))))
    return plan(**{"inputs": ((w.IN_SENSOR, 5, 5, 1, 0), LEVEL), "at": at, **parts})


def two_hits(s: Scene) -> Scene:
    """Hits at 105 and 125."""
    return s.at(100, raw=1 | s.raw).at(110, raw=s.raw & ~1).at(120, raw=1 | s.raw).at(130, raw=s.raw & ~1)


def test_start_on_a_running_timer_does_nothing_and_restart_sets_it() -> None:
    s = two_hits(Scene(hit_starts(w.OP_START))).at(300)
    assert s.all("timer") == [(105, 0, 1), (155, 0, 2)]
    s = two_hits(Scene(hit_starts(w.OP_RESTART))).at(300)
    assert s.all("timer") == [(105, 0, 1), (125, 0, 1), (175, 0, 2)]
    assert s.all("relay") == [(175, 0, 1)]


def test_timers_wait_while_the_track_power_is_absent() -> None:
    s = Scene(hit_starts(w.OP_START, power=1), raw=2)
    s.at(100, raw=3).at(120, raw=0).at(1000, raw=2).at(1200)
    # hit at 105; power off confirmed at 125 with 30 ms left; on again at 1005
    assert s.all("power") == [(125, 0, 0), (1005, 0, 1)]
    assert s.all("timer") == [(105, 0, 1), (1035, 0, 2)]


def test_a_magnet_does_not_come_to_rest_while_the_power_is_absent() -> None:
    inputs = ((w.IN_SENSOR, 5, 5, 20, 100), LEVEL)
    s = Scene(plan(inputs=inputs, power=1), raw=2)
    s.at(100, raw=3).at(150, raw=1).at(5000, raw=3).at(6000)
    assert s.all("rest") == [(5005 + 50, 0, 0)]


def test_a_late_scan_confirms_nothing_that_it_did_not_see() -> None:
    """The contact may have opened in between: its confirmation begins again."""
    s = Scene(hit_starts(w.OP_START)).at(100, raw=1).at(103).at(203, gap=100).at(400)
    assert s.all("late") == [(203, 0, 100)]
    assert s.all("hit") == [(208, 0, 0)]


def test_what_fell_due_before_the_gap_or_needs_no_contact_keeps_its_time() -> None:
    s = Scene(hit_starts(w.OP_START)).at(100, raw=1).at(105).at(400, gap=290).at(500)
    assert s.all("hit") == [(105, 0, 0)]
    assert s.all("timer") == [(105, 0, 1), (155, 0, 2)]  # in the gap, at its own time
    assert s.told.index((155, "timer", 0, 2)) < s.told.index((400, "late", 0, 290))


def test_no_throw_begins_inside_a_gap() -> None:
    at = ((HIT, ((), (w.OP_START, 0, 1))), (TIMER, ((), (w.OP_THROW_B, 0, 1))))
    s = Scene(plan(at=at, turnouts=(turnout(0, 1),))).at(50).at(100, raw=1).at(105).at(400, gap=290)
    assert s.all("throw", 50) == [(155, 0, 1)]
    assert s.all("pulse", 50) == [(400, 1, 10)]


def test_before_the_start_hits_are_recorded_and_nothing_is_done() -> None:
    at = ((HIT, ((), (w.OP_SET, w.W_GO, 1, w.OP_THROW_B, 0, 1, w.OP_SET, w.W_RELAY, 1))),)
    s = Scene(plan(at=at, turnouts=(turnout(0, 1),), inputs=(SENSOR, LEVEL)), started=False)
    s.at(100, raw=1).at(200, raw=0).at(300)
    assert s.all("hit") == [(105, 0, 0)] and s.all("opening") == [(205, 0, 0)]
    assert {name for _, name, _, _ in s.told} == {"edge", "hit", "opening"}
    assert s.c.logic.feeds == 0


def test_blocks_go_when_every_turnout_has_been_thrown_once() -> None:
    starts = (((), (2, 0, 0, 0), 2, 1, 0),)
    s = (
        Scene(plan(turnouts=(turnout(0, 1), turnout(2, 3)), starts=starts), started=False)
        .at(10, START)
        .at(100)
    )
    assert s.all("relay") == [(10, 1, 1)]
    assert s.all("throw") == [(10, 0, 0), (10, 1, 1)]
    assert s.all("pulse") == [(10, 0, 10), (25, 3, 10)]  # one after the other with a pause of 5 ms
    assert s.all("feed") == [(35, 0, 1)]


def test_a_place_that_a_standing_caution_holds_is_held_again() -> None:
    """Let go by order while the condition still holds: the caution stands, and so does what it holds."""
    standing = (((w.W_LEVEL, 2, 2), (w.OP_SET, w.W_CAUTION, 1)),)
    starts = (((), (0, 0, 0, 0), 0, 1, 0),)
    s = Scene(plan(inputs=(SENSOR, LEVEL), standing=standing, cautions=(1,), starts=starts))
    assert s.c.logic.feeds == 1
    s.at(100, raw=2).at(105)
    assert s.all("caution") == [(105, 0, w.C_RULE)] and s.c.logic.feeds == 0
    s.at(200, (w.O_GO, 0))
    assert s.c.logic.feeds == 0
    s.at(300, raw=0).at(310, (w.O_GO, 0))
    assert s.c.logic.feeds == 1


def test_a_full_journal_loses_the_oldest_and_counts_them() -> None:
    journal = Journal(4)
    for i in range(7):
        journal.put(100 + i, w.R_HIT, i, i * 1000)
    assert (journal.held(), journal.lost) == (4, 3)
    kept = [(journal.time(i), journal.kind(i), journal.which(i), journal.value(i)) for i in range(4)]
    assert kept == [(103 + i, w.R_HIT, 3 + i, 3000 + 1000 * i) for i in range(4)]
    journal.drop(1)
    assert (journal.held(), journal.time(0)) == (3, 104)
