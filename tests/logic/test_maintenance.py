"""Maintenance: before any start, one output at a time by order, and no rule runs."""

from logic.small import SENSOR, START, Scene, plan, turnout
from reedlogic import words as w

MAINTENANCE = (w.O_MAINTENANCE, 0)
AT_HIT = (
    (w.E_HIT << w.EVENT_SHIFT, ((), (w.OP_SET, w.W_RELAY, 1, w.OP_THROW_B, 0, 1, w.OP_SET, w.W_GO, 1))),
)


def scene() -> Scene:
    """Two blocks with a place each, one turnout; a hit would throw and feed if rules ran."""
    one = turnout(0, 1, pulses=2, cool=300)
    made = plan(turnouts=(one,), at=AT_HIT, blocks=(2, 0), places=(1, 2), inputs=(SENSOR,))
    return Scene(made, started=False).at(10, MAINTENANCE)


def test_every_throw_asked_for_is_pulsed() -> None:
    """Also to where the turnout lies: who tries a wire wants to hear it."""
    s = scene().at(20, (w.O_THROW, 0)).at(100, (w.O_THROW, 0)).at(200, (w.O_THROW, 1)).at(300)
    assert [coil for _, coil, _ in s.all("pulse")] == [0, 0, 1]
    assert s.all("mode") == [(10, 0, w.M_MAINTENANCE)]


def test_the_heat_budget_holds_in_maintenance_too() -> None:
    s = scene().at(20, (w.O_THROW, 0)).at(50, (w.O_THROW, 0)).at(80, (w.O_THROW, 0)).at(310)
    assert s.all("pulse") == [(20, 0, 10), (50, 0, 10)]
    assert s.all("deferred") == [(80, 0, 0)]
    s.at(400)
    assert s.all("pulse")[2:] == [(320, 0, 10)]


def test_go_and_hold_feed_and_unfeed_a_block() -> None:
    s = scene().at(20, (w.O_GO, 1)).at(30, (w.O_GO, 0)).at(40, (w.O_HOLD, 1))
    assert s.all("feed") == [(20, 1, 1), (30, 0, 1), (40, 1, 0)]


def test_hits_are_recorded_and_do_nothing() -> None:
    s = scene().at(100, raw=1).at(200)
    assert s.all("hit") == [(105, 0, 0)]
    assert s.all("relay") == s.all("pulse") == s.all("feed") == []


def test_maintenance_lasts_until_the_next_reset() -> None:
    s = scene().at(20, START).at(30, MAINTENANCE).at(40, (w.O_STOP, 0))
    refused = [(20, w.O_START, w.N_NOT_BEFORE), (30, w.O_MAINTENANCE, w.N_NOT_BEFORE)]
    assert s.all("refused") == [*refused, (40, w.O_STOP, w.N_NOT_STARTED)]
    started = Scene(plan()).at(20, MAINTENANCE)
    assert started.all("refused") == [(20, w.O_MAINTENANCE, w.N_NOT_BEFORE)]
