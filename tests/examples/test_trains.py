"""What the trains of the stories come to: the railway that makes the sessions knows where they are."""

from __future__ import annotations

from collections import Counter
from functools import cache

import pytest

from examples.doings import S, misses
from examples.evening import Evening
from examples.make_sessions import CONFIG, played
from examples.rails import MM, Rails, Stretch, Train
from examples.replayed import SESSIONS
from examples.stories import stories
from reedlogic import words as w

ALL = [session.stem for session in SESSIONS]
WITH_TRAINS = ("two-trains", "three-trains-")
REST_MS = 60_000


def story(stem: str):  # type: ignore[no-untyped-def]
    return next(s for s in stories() if f"{s.layout}_{s.name}" == stem)


@cache
def evening(stem: str) -> Evening:
    return played(story(stem))


def classic(sensor: str, old: str = "", new: str = "", after_s: int = 60) -> Evening:
    """three-trains-go-sensor left to itself; a sensor misses one train; perhaps with a rule put otherwise."""
    told = story("three-trains-go-sensor_ordinary")

    def acts(e: Evening) -> None:
        e.press(2500, "start")
        misses(e, after_s * S, sensor)

    told.acts = acts
    source = (CONFIG / "three-trains-go-sensor.yaml").read_text(encoding="utf-8")
    assert not old or source.count(old) == 1
    found = Evening(told, source.replace(old, new).encode() if old else source.encode())
    found.play()
    return found


def kinds(found: Evening) -> Counter[int]:
    return Counter(kind for _, kind, _, _ in found.records)


def passings(found: Evening, sensor: str) -> list[str]:
    return [train for _, train, over in found.passed if over == sensor]


@pytest.mark.parametrize("stem", ALL)
def test_nothing_goes_wrong_on_the_rails(stem: str) -> None:
    """No trains meet, no turnout moves under one, none runs against points: with missed hits as well."""
    assert evening(stem).rails.mishaps == []


@pytest.mark.parametrize("stem", [stem for stem in ALL if stem.endswith("_ordinary")])
def test_ordinary_running(stem: str) -> None:
    """No caution, no fault, nothing deferred; every train comes round several times."""
    found = evening(stem)
    seen = kinds(found)
    assert not seen[w.R_CAUTION] and not seen[w.R_FAULT] and not seen[w.R_DEFERRED] and not seen[w.R_CLASH]
    if not stem.startswith(WITH_TRAINS):
        return
    for train in found.rails.trains:
        per_sensor = Counter(sensor for _, name, sensor in found.passed if name == train.name)
        assert max(per_sensor.values()) >= 3, (train.name, per_sensor)


@pytest.mark.parametrize("stem", [stem for stem in ALL if stem.endswith(("_magnet-at-rest", "_demo"))])
def test_magnet_at_rest(stem: str) -> None:
    """A sensor closed for a minute and more, trembling: one hit, one caution that names it, one clearing;
    and other trains go on meanwhile."""
    found = evening(stem)
    rests = [(t, which) for t, kind, which, _ in found.records if kind == w.R_REST]
    assert rests
    longest = 0
    for t, sensor in rests:
        hits = [at for at, kind, which, _ in found.records if kind == w.R_HIT and which == sensor and at < t]
        cautions = [r for r in found.records if r[0] == t and r[1:] == (w.R_CAUTION, sensor, w.C_REST)]
        cleared = [at for at, *r in found.records if r == [w.R_CLEAR, sensor, w.C_REST] and at > t]
        assert len(cautions) == 1
        span = range(hits[-1] + 1, cleared[0] if cleared else found.now)
        assert not [r for r in found.records if r[0] in span and r[1:3] == (w.R_HIT, sensor)]
        longest = max(longest, len(span))
        if stem.startswith(WITH_TRAINS):
            assert [r for r in found.records if r[0] in span and r[1] == w.R_HIT and r[2] != sensor]
    assert longest > REST_MS or stem.startswith("three-trains-go-sensor_magnet")


def test_the_demo_is_six_minutes_with_a_magnet_at_rest_on_a_throwing_sensor() -> None:
    found = evening("three-trains-go-sensor_demo")
    assert found.records[-1][0] == 360_000
    sensors = found.compiled.names.inputs
    rests = [sensors[which] for _, kind, which, _ in found.records if kind == w.R_REST]
    assert rests == ["N4"]
    assert kinds(found)[w.R_HIT] >= 35


def test_the_relay_would_have_held_the_coil() -> None:
    """The coil protector's train stands on N1 for 4 min 10 s: one pulse of 80 ms."""
    found = evening("coil-protector_magnet-at-rest")
    coil = found.compiled.names.coils.index("Junction to branch")
    rest = next(t for t, kind, _, _ in found.records if kind == w.R_REST)
    edges = [t for t, kind, which, _ in found.records if (kind, which) == (w.R_EDGE, 0)]
    pulses = [t for t, kind, which, _ in found.records if kind == w.R_PULSE and which == coil]
    hit = rest - 20_000
    assert max(t for t in edges if t < rest + 300_000) - hit > 250_000
    assert [t for t in pulses if hit <= t <= hit + 250_000] == [hit]


def met(found: Evening) -> bool:
    return any("met on" in what for _, what in found.rails.mishaps)


def test_missed_go_sensor_stops_everything() -> None:
    """three-trains-go-sensor rests on running times. N1 missed: a fault, and the next train has not yet come
    to Mill Halt. Without that rule it runs into the held train, and the railway sees it."""
    found = classic("N1")
    assert kinds(found)[w.R_FAULT] == 1 and not found.rails.mishaps
    assert not any(train.is_moving for train in found.rails.trains)
    assert met(classic("N1", "    do: ['fault \"No train", "    do: ['note \"No train"))


def test_missed_hit_beyond_mill_halt_is_covered_by_a_timer() -> None:
    """N2 missed: Mill Halt stops all the same. Without, a fast train catches up with a slow one."""
    found = classic("N2", after_s=90)
    assert not found.rails.mishaps and not kinds(found)[w.R_FAULT]
    rule = "  - at: open runs out\n    while: [HELD in]\n    do: [Mill stops]\n"
    assert met(classic("N2", rule, rule.replace("Mill stops", "'note \"gone\"'"), after_s=90))


@pytest.mark.parametrize("sensor", ["N3", "N4"])
def test_missed_hit_in_the_siding_only_changes_who_leaves(sensor: str) -> None:
    found = classic(sensor)
    assert not found.rails.mishaps and not kinds(found)[w.R_FAULT]


def test_missed_hits_stop_the_interlocked_line_with_a_caution() -> None:
    found = evening("three-trains-interlocked_missed-hit")
    cautions = [r for r in found.records if r[1] == w.R_CAUTION]
    assert len(cautions) == 1
    assert not any(train.is_moving for train in found.rails.trains)


def test_missed_hits_of_two_trains_only_change_who_runs() -> None:
    found = evening("two-trains_missed-hit")
    assert not kinds(found)[w.R_CAUTION] and not kinds(found)[w.R_FAULT]
    assert passings(found, "N1").count("railcar") > kinds(found)[w.R_HIT] // 2


def test_the_railway_sees_a_collision_and_a_moved_turnout() -> None:
    """The model itself: two trains on one stretch, points under a train, points against a train."""
    stretches = {
        "loop": Stretch(2000, [("points A", "points")]),
        "points": Stretch(200, [("", "loop")], turnout="points"),
    }
    fast = Train("fast", 300, 200, 0, ["loop"], 400 * MM)
    slow = Train("slow", 300, 100, 0, ["loop"], 1000 * MM)
    rails = Rails(stretches, [fast, slow])
    rails.lies["points"] = "A"
    rails.feed({"track feed"})
    now = 0
    while not rails.mishaps:
        now += rails.next_ms()
        rails.run(now, rails.next_ms())
    # 300 mm between them closed at 100 mm/s: 3 s, seen at the next look
    assert 3000 <= now <= 3050 + 1 and "met on loop" in rails.mishaps[0][1]
    rails = Rails(stretches, [Train("one", 300, 200, 0, ["loop", "points"], 100 * MM)])
    rails.lies["points"] = "A"
    rails.move_turnout(7, "points", "")
    assert rails.mishaps == [(7, "points moved under the one")]
    rails = Rails(stretches, [Train("one", 300, 200, 0, ["loop"], 1990 * MM)])
    rails.lies["points"] = "B"
    rails.feed({"track feed"})
    rails.run(50, 50)
    assert rails.mishaps == [(50, "the one ran against points at the end of loop")]


@pytest.mark.parametrize("layout", ["three-trains-pairs", "three-trains-running-times"])
def test_phantom_hits_change_nothing(layout: str) -> None:
    """Six closings with no train there: every train passes every sensor in the order of the quiet evening."""
    quiet, haunted = evening(f"{layout}_ordinary"), evening(f"{layout}_phantom")
    assert kinds(haunted)[w.R_HIT] == kinds(quiet)[w.R_HIT] + 6
    assert [(train, sensor) for _, train, sensor in haunted.passed] == [
        (train, sensor) for _, train, sensor in quiet.passed
    ]
    assert kinds(haunted)[w.R_THROW] == kinds(quiet)[w.R_THROW] > 20


def test_without_confirmation_the_same_phantoms_end_in_a_collision() -> None:
    """The story of three-trains-running-times with rules in which a due hit counts at once."""
    source = (CONFIG / "three-trains-running-times.yaml").read_bytes()
    wanted = b"due_hits: by running time\n"
    assert source.count(wanted) == 1
    found = Evening(story("three-trains-running-times_phantom"), source.replace(wanted, b""))
    found.play()
    assert met(found)
