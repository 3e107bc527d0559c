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
    lamps = ((w.L_RUNNING, 0), (w.L_RULES, 0))
    made = plan(turnouts=(one,), at=AT_HIT, blocks=(2, 1), places=(1, 2), inputs=(SENSOR,), lamps=lamps)
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


def test_every_feed_can_be_tried_also_the_track_feed() -> None:
    s = scene().at(20, (w.O_FEED, 5)).at(30, (w.O_FEED, 3)).at(40, (w.O_FEED, 4)).at(50, (w.O_FEED, 7))
    assert s.all("feed") == [(20, 2, 1), (30, 1, 1), (40, 2, 0)]
    assert s.all("refused") == [(50, w.O_FEED, w.N_UNKNOWN)]


def test_stop_takes_every_feed_away_in_maintenance_too() -> None:
    s = scene().at(20, (w.O_FEED, 5)).at(30, (w.O_FEED, 3)).at(40, (w.O_STOP, 0))
    assert s.all("feed", 40) == [(40, 1, 0), (40, 2, 0)] and s.c.logic.feeds == 0
    assert s.all("refused") == []


def test_without_a_computer_all_goes_off_and_a_throw_that_waits_is_dropped() -> None:
    s = scene().at(20, (w.O_FEED, 5)).at(25, (w.O_LIGHT, 3))
    for t in (30, 60, 90):
        s.at(t, (w.O_THROW, 0))
    s.at(100, (w.O_UNWATCHED, 2000)).at(2000)
    assert s.all("feed") == [(20, 2, 1), (100, 2, 0)] and s.c.logic.lamps == 0
    assert len(s.all("pulse")) == 2 and s.all("deferred") == [(90, 0, 0)]
    assert s.all("fault") == s.all("refused") == []
    assert len(s.at(2010, (w.O_THROW, 1)).at(2100).all("pulse")) == 3  # whoever comes back can go on


def test_in_a_show_that_order_does_nothing() -> None:
    s = Scene(plan(blocks=(2, 1))).at(20, (w.O_UNWATCHED, 2000))
    assert s.all("refused") == [(20, w.O_UNWATCHED, w.N_NOT_BEFORE)]


def test_every_lamp_can_be_tried_whatever_it_shows() -> None:
    s = scene().at(20, (w.O_LIGHT, 1))
    assert s.c.logic.lamps == 1
    assert s.at(30, (w.O_LIGHT, 3)).c.logic.lamps == 3
    assert s.at(40, (w.O_LIGHT, 0), (w.O_LIGHT, 5)).c.logic.lamps == 2
    assert s.all("refused") == [(40, w.O_LIGHT, w.N_UNKNOWN)]


def test_outputs_are_tried_in_maintenance_only() -> None:
    for s in (Scene(plan(lamps=((w.L_RULES, 0),)), started=False), Scene(plan(lamps=((w.L_RULES, 0),)))):
        s.at(20, (w.O_FEED, 1), (w.O_LIGHT, 1))
        assert s.all("refused") == [(20, order, w.N_NOT_BEFORE) for order in (w.O_FEED, w.O_LIGHT)]
        assert s.c.logic.feeds == s.c.logic.lamps == 0


def test_hits_are_recorded_and_do_nothing() -> None:
    s = scene().at(100, raw=1).at(200)
    assert s.all("hit") == [(105, 0, 0)]
    assert s.all("relay") == s.all("pulse") == s.all("feed") == []


def test_maintenance_lasts_until_the_next_reset() -> None:
    s = scene().at(20, START).at(30, MAINTENANCE).at(40, (w.O_GO_ON, 0))
    refused = [(20, w.O_START, w.N_NOT_BEFORE), (30, w.O_MAINTENANCE, w.N_NOT_BEFORE)]
    assert s.all("refused") == [*refused, (40, w.O_GO_ON, w.N_NOT_STARTED)]
    started = Scene(plan()).at(20, MAINTENANCE)
    assert started.all("refused") == [(20, w.O_MAINTENANCE, w.N_NOT_BEFORE)]
