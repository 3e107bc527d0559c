"""What `plan` says about the valley: figures worked out by hand, findings, intervals and what to change."""

from __future__ import annotations

import re

import pytest

from reedway.boardfile.compile import compile_layout
from reedway.trains.planned import Plan
from reedway.trains.planning import plan
from reedway.trains.plantext import as_json, interval, text
from reedway.trains.times import times_of
from trains.valley import VALLEY, loaded, spoiled

ASSUMED = (10, 30)  # mm, operating length that nobody measured


def planned(*changes: tuple[str, str]) -> Plan:
    return plan(loaded(spoiled(*changes)), {})


def problems(*changes: tuple[str, str]) -> list[str]:
    return [problem.text for problem in planned(*changes).problems]


def test_where_they_stand() -> None:
    """By hand. Railcar in track A: its last pick-up, 270 mm back, passes the gap last; 45 to 60 mm of run-on.
    Goods train: last pick-up 105 mm back; 150 to 240 mm/s, slowing for 200 ms: 15 to 24 mm."""
    stands = {(s.place, s.train): s for s in planned().stands}
    railcar, goods = stands["track A", "railcar"], stands["track A", "goods train"]
    assert railcar.nose == (270 + 45, 270 + 60) and goods.nose == pytest.approx((105 + 15, 105 + 24))
    assert goods.tail == pytest.approx((120 - 900, 129 - 900))
    assert goods.tail_clear == pytest.approx(1650 + 120 - 900)
    assert railcar.nose_short == pytest.approx(550 - 20 - 330)
    assert railcar.dead_needed == 270 - 30 + 60
    assert goods.pick_ups[0] == pytest.approx((120 - 15, 129 - 15))
    assert goods.set_on == pytest.approx((50 + 15 + 30, 530), abs=10.001)


def test_over_the_sensor() -> None:
    rows = {(p.sensor, p.train): p for p in planned().passings}
    goods = rows["N1", "goods train"]
    # at rest its magnet is at 120 - 30 at least; the sensor's band ends at 50 + 15
    assert goods.beyond is not None and goods.beyond[0] == pytest.approx(90 - 65)
    assert goods.closed_ms == pytest.approx(10 / 240 * 1000) and goods.needed_ms == 5 + 1 + 1
    # at the hit: magnet 15 mm short of 1700 mm behind entry, nose 30 mm ahead of it, 900 mm long
    assert goods.tail_clear == pytest.approx(1700 - 15 + 30 - 900)
    assert rows["N3", "goods train"].tail_clear == pytest.approx(1000 - 15 + 30 - 900)
    # N3 throws nothing: nose ahead by 60 mm, closing 5 mm before the middle, 7 ms at 360 mm/s
    assert rows["N3", "railcar"].next_clear == pytest.approx(700 - (60 - 5 + 360 * 0.007))
    assert planned().problems == []


def test_throwing_takes_its_time() -> None:
    """Relay 10 ms, bounce 5 ms and a pulse of 100 ms: 34.5 mm at 0.3 m/s, 115 mm at 1 m/s.

    10 ms: automotive plug-in relay, series 79 data sheet.
    """
    layout = loaded(
        spoiled(
            ("  N3: {terminal: sensor 3}", "  N3: {terminal: sensor 3, confirm: 1 ms}"),
            ("  - at: N2 hit", "  - at: N3 hit\n    do: [throw entry to B]\n  - at: N2 hit"),
            (
                "entry: {positions: [A, B], coils: [coil 3, coil 4]}",
                "entry: {positions: [A, B], coils: [coil 3, coil 4], pulse: 105 ms, relay_operate: 10 ms}",
            ),
        )
    )
    times = times_of(layout, compile_layout(layout), layout.sensors[2])
    assert times.throw_s * 300 == pytest.approx(34.5) and times.throw_s * 1000 == pytest.approx(115)
    row = next(p for p in plan(layout, {}).passings if (p.sensor, p.train) == ("N3", "railcar"))
    assert row.next_clear == pytest.approx(700 - (55 + 360 * (0.003 + 0.115)))


FINDINGS = [
    # what is put otherwise, what is found
    (("beyond_gap: 50 mm", "beyond_gap: 76 mm"), "N1: the magnet of the goods train may stand over it: 1 mm"),
    (("length: 2.2 m", "length: 880 mm"), "track A: the goods train is longer than the place .900 mm of 880"),
    (("length: 1.6 m", "length: 1.2 m"), "N2"),
    (("dead_end: 500 mm", "dead_end: 320 mm"), "Mill Halt: the railcar may stand with its nose 10 mm past"),
    (("45 mm to 60 mm", "45 mm to 320 mm"), "Mill Halt: the railcar needs a dead end of 560 mm"),
    (
        ("beyond: 1 m", "beyond: 880 mm"),
        "goods train makes its hit when the tail is 5 mm short of clear of",
    ),
    (
        ("next_spot: 700 mm", "next_spot: 50 mm"),
        "N3: the magnet of the railcar comes to the next spot too soon",
    ),
    (
        ("250 mm/s to 360 mm/s", "250 mm/s to 1.5 m/s"),
        "closes it for 6.6 ms .*; a sure hit needs 7.0",
    ),
    (
        ("N1: {terminal: sensor 1}", "N1: {terminal: sensor 1, confirm: 50 ms}"),
        "railcar closes it for 27",
    ),
    (("magnet: 60 mm", "magnet: 60 mm, magnet_side: left"), "is on the left, the sensor on the middle"),
    ((", magnet: 60 mm", ""), "the railcar has no magnet to close N1: nothing cuts its feed"),
    (("beyond: 1 m", "beyond: 1 m, side: right"), "is on the middle, the sensor on the right"),
    (
        ("runs on so far\n    run_on: 45 mm", "steps its reverser\n    run_on: 45 mm"),
        "railcar steps its reverser when its feed is cut: lock the reverser out",
    ),
    (
        ("{place: track A, beyond_gap: 50 mm, clear_of: entry}", "{clear_of: exit, beyond: 1 m}"),
        "where N1 is",
    ),
]


@pytest.mark.parametrize(
    ("change", "says"), FINDINGS, ids=lambda c: c[1][:30] if isinstance(c, tuple) else ""
)
def test_findings(change: tuple[str, str], says: str) -> None:
    if says == "N2":  # the change makes the spot itself impossible: mend that too
        found = problems(change, ("set_back: 1080 mm", "set_back: 690 mm"))
        assert any("the goods train may stand with its tail 80 mm out of the place" in text for text in found)
        return
    found = problems(change)
    assert any(re.search(says, text) for text in found), found


def test_a_magnet_short_of_its_sensor() -> None:
    far = ("{place: Mill Halt, set_back: 1080 mm}", "{place: Mill Halt, beyond_gap: 270 mm}")
    found = problems(far)
    assert any("goods train stands 156 mm short of closing it" in text for text in found), found
    assert any("railcar may stand over it: 30 mm are missing" in text for text in found), found


def test_at_rest_never_takes_standing_over_as_planned() -> None:
    over = ("beyond_gap: 50 mm", "beyond_gap: 76 mm")
    assert problems(over, ("N1: {terminal: sensor 1}", "N1: {terminal: sensor 1, at_rest: never}")) == []


def test_a_second_magnet_acts_again() -> None:
    """The car at the end carries one too: 900 mm behind it stands short of N1; over N3 it comes after 5 s."""
    found = problems(
        ("  car: {length: 130 mm}", "  car: {length: 130 mm}\n  brake van: {length: 130 mm, magnet: 65 mm}"),
        ("car, car, car, car, car]", "car, car, car, car, brake van]"),
    )
    assert any(text.startswith("N1") and "makes a hit when the train leaves" in text for text in found)
    second = next(text for text in found if text.startswith("N3"))
    # 120 + 5 * 130 + 65 - 30 = 805 mm between the magnets, less 10, at 150 mm/s; opening 20 ms, rearm 2 s
    assert "under brake van acts again: up to 5.3 s after the one before it; 2.0 s make another" in second


def test_a_second_magnet_within_rearm_does_not() -> None:
    near = ("  car: {length: 130 mm}", "  car: {length: 130 mm, magnet: 20 mm}")
    few = ("[engine, car, car, car, car, car, car]", "[engine, car]")
    rearm = ("N3: {terminal: sensor 3}", "N3: {terminal: sensor 3, rearm: 20 s}")
    assert not [text for text in problems(near, few, rearm) if text.startswith("N3")]
    assert [text for text in problems(near, few) if text.startswith("N3")] == []  # 100 mm: 0.7 s, within 2 s


WINDOWS = [
    # sensor, its spot with a number to put in, from gap or beyond; train that limits low, high
    ("N1", "{place: track A, %s, clear_of: entry}", ("goods train", "goods train")),
    ("N2", "{place: Mill Halt, %s}", ("", "goods train")),
    ("N3", "{clear_of: exit, beyond: %s, next_spot: %s}", ("goods train", "railcar")),
]
SPOT = {
    "N1": "{place: track A, beyond_gap: 50 mm, clear_of: entry}",
    "N2": "{place: Mill Halt, set_back: 1080 mm}",
    "N3": "{clear_of: exit, beyond: 1 m, next_spot: 700 mm}",
}


def put(sensor: str, form: str, at: float) -> tuple[str, str]:
    """The spot line with the sensor at `at`."""
    if sensor == "N3":
        return SPOT[sensor], form % (f"{at} mm", f"{1700 - at} mm")
    return SPOT[sensor], form % (f"beyond_gap: {at} mm" if at >= 0 else f"set_back: {-at} mm")


@pytest.mark.parametrize(("sensor", "form", "trains"), WINDOWS)
def test_the_interval_is_what_plan_itself_finds(sensor: str, form: str, trains: tuple[str, str]) -> None:
    """Inside nothing is wrong; a millimetre outside something is, with the train that is named."""
    found = planned()
    window, site = found.windows[sensor], found.site(sensor)
    low, high = interval(site, window)
    assert (window.low.train, window.high.train) == trains
    for at in (low, (low + high) // 2, high):
        assert problems(put(sensor, form, at)) == [], at
        moved = planned(put(sensor, form, at))
        assert interval(moved.site(sensor), moved.windows[sensor]) == (low, high)
    for at, train in ((low - 1, trains[0]), (high + 1, trains[1])):
        if train:
            assert any(
                f"{sensor}: the magnet of the {train}" in text for text in problems(put(sensor, form, at))
            )


def test_no_spot_and_what_would_do() -> None:
    """A short track: the tail wants N1 far on, the magnet wants it far back. Each remedy is tried here."""
    short = ("length: 2.2 m", "length: 1.3 m")
    found = planned(short)
    window = found.windows["N1"]
    low, high = interval(found.site("N1"), window)
    # tail clear: 900 - 30 + 15 - 750 = 135 beyond the gap; magnet clear: 105 + 15 - 30 - 15 = 75
    assert (low, high) == (135, 75) and window.is_empty
    tried = found.remedies["N1"]
    assert "make track A 60 mm longer before the gap" in tried
    assert not any("magnet of the goods train" in text for text in tried)  # it limits both ends
    longer = planned(("length: 2.2 m", "length: 1.36 m"))
    assert not longer.windows["N1"].is_empty
    assert planned(("length: 2.2 m", "length: 1.359 m")).windows["N1"].is_empty
    said = "\n".join(text(found, None))
    assert "No spot serves the whole stock." in said and "would do: make track A 60 mm longer" in said


def test_a_magnet_moved_opens_the_interval() -> None:
    """The milk train's magnet sits at its very front and the railcar's far back; moving one will do."""
    changes = (
        ("length: 2.2 m", "length: 1.3 m"),
        ("magnet: 30 mm, magnet_fits: 9 mm to 99 mm", "magnet: 30 mm"),
        ("car, car, car, car, car, car]", "car, car, car, car, car]"),  # 770 mm
        ("magnet: 60 mm", "magnet: 280 mm"),
        ("45 mm to 60 mm", "0 mm to 60 mm"),
    )
    found = planned(*changes)
    assert found.windows["N1"].is_empty
    assert found.windows["N1"].high.train == "railcar"
    # low: 770 - 30 + 15 - 750 = 5; high: 270 - 280 - 15 = -25 for the railcar, which may stop at once
    moved = [text for text in found.remedies["N1"] if "magnet of the railcar" in text]
    assert moved and "forward" in moved[0]


def test_json_and_text_say_the_same() -> None:
    found = planned()
    data = as_json(found)
    n1 = data["sensors"][0]
    assert (n1["window"]["from_mm"], n1["window"]["to_mm"]) == (-765, 75)
    assert data["problems"] == [] and data["stands"][0]["nose"] == [315, 330]
    said = "\n".join(text(found, 87))
    assert "Serves the whole stock from 765 mm before the gap to 75 mm beyond the gap." in said
    assert "from 885 mm to 1642 mm behind exit" in said
    assert "1:87: 78 to 113 km/h" in said  # 250 and 360 mm/s by 3.6 * 87 / 1000
    assert "Everything planned will do." in said


def test_operating_lengths_worked_out_are_taken() -> None:
    kind = "magnet: 60 mm, magnet_kind: head magnet"
    more = (
        "electrics:\n  magnets:\n    head magnet: {shape: cylinder, size: 6 x 20 mm, height: 6 mm to 9 mm}\n"
    )
    layout = loaded(VALLEY.replace("magnet: 60 mm", kind) + more)
    railcar = next(
        made for made in plan(layout, {"head magnet": (20.0, 29.0)}).stock if made.name == "railcar"
    )
    assert (railcar.magnets[0].operating, railcar.magnets[0].source) == ((20.0, 29.0), "worked out")
    assert next(m for m in plan(layout, {}).stock).magnets[0].operating == ASSUMED


def test_a_throw_that_waits_lets_noses_pass_and_is_noted() -> None:
    """A supply that recharges for 3 s; the hit comes with the nose at 105 mm. By hand 1305.1 mm."""
    slow = planned(
        ("gangs:", "supplies:\n  bank: {recharge: 3 s}\ngangs:"),
        (
            "exit: {positions: [A, B], coils: [coil 1, coil 2], power_routing: true}",
            "exit: {positions: [A, B], coils: [coil 1, coil 2], power_routing: true, supply: bank}",
        ),
    )
    assert slow.problems == []
    (note,) = slow.notes
    late_mm = 105 + 360 * (0.007 + 0.080 + 3.0 + 0.080) + 60
    railcar = next(s for s in slow.stands if s.train == "railcar")
    assert railcar.nose_short_worst == pytest.approx(530 - late_mm)
    assert note.startswith("track A: a throw that waits") and "the railcar by 776 mm" in note


def test_a_tail_that_only_a_late_hit_brings_in() -> None:
    """By hand: 600 mm before the gap hold a tail of 900 mm when the nose stands 300 mm beyond it.

    Hit 15 mm before N1, nose 30 mm ahead, 0.75 mm until confirmed, 75 mm of run-on: N1 at 209.25 mm at least.
    """
    changes = (
        ("length: 2.2 m", "length: 1.15 m"),
        ("run_on_time: 200 ms", "run_on_time: 1 s"),
        (", clear_of: entry", ""),
    )
    found = planned(*changes)
    window = found.windows["N1"]
    assert (window.low.kind, window.low.train) == ("tail clear where it stands", "goods train")
    assert interval(found.site("N1"), window)[0] == 210
    for at, wrong in ((209, True), (210, False)):
        said = problems(*changes, ("beyond_gap: 50 mm", f"beyond_gap: {at} mm"))
        assert any("track A: the goods train may stand with its tail 1 mm" in text for text in said) == wrong
