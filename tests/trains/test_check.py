"""Trains and lengths in the layout file: read as written; what cannot be is told with its line."""

from __future__ import annotations

import math
import re

import pytest

from reedway.trains.makeup import make_up
from trains.valley import VALLEY, complaints, line_of, loaded, spoiled

CASES = [
    # what is put otherwise, where the complaint belongs, what it says
    ("length: 2.2 m", "length: 0 mm", "length: 0 mm", "'0 mm' is out of range; allowed are 1 mm to 100 m"),
    ("length: 2.2 m", "length: 2.2", "length: 2.2", "'2.2' has no unit"),
    ("dead_end: 550 mm", "dead_end: 2.3 m", "dead_end: 2.3 m", "2300 mm is longer than the whole"),
    ("fouling_point: 20 mm", "fouling_point: 550 mm", "fouling_point: 550 mm", "leaves no room for a nose"),
    ("beyond_gap: 50 mm", "beyond_gap: 551 mm", "beyond_gap: 551 mm", "551 mm is off track A; .*550 mm"),
    ("set_back: 1080 mm", "set_back: 1101 mm", "set_back: 1101 mm", "is off Mill Halt; .*1100 mm"),
    ("beyond_gap: 50 mm, ", "", "clear_of: entry", "write set_back or beyond_gap"),
    ("beyond_gap: 50", "set_back: 1 mm, beyond_gap: 50", "set_back: 1 mm", "write set_back or beyond_gap"),
    ("place: track A", "place: track B", "place: track B", "no length with a dead_end 'track B'.*track A"),
    ("place: track A", "place: exit", "place: exit", "no length with a dead_end 'exit'"),
    ("{place: Mill Halt, set_back: 1080 mm}", "{}", "N2: {}", "it is nowhere"),
    ("beyond: 1 m, ", "", "N3: {clear_of", "how far behind exit"),
    ("clear_of: exit, beyond", "beyond", "N3: {beyond", "behind what"),
    ("clear_of: exit", "clear_of: exut", "exut", "did you mean exit"),
    ("clear_of: exit", "set_back: 9 mm, clear_of: exit", "set_back: 9 mm", "from which gap"),
    (", clear_of: entry", ", beyond: 1 m", "beyond: 1 m}\n  N2", "behind what"),
    ("  N3: {clear_of", "  N4: {clear_of", "N4: {clear_of", "no sensor of this name"),
    ("  exit: {length", "  exif: {length", "exif: {length", "did you mean exit"),
    ("cut_by: N1", "cut_by: N9", "cut_by: N9", "no sensor 'N9'"),
    ("exit: {length: 250 mm}", "exit: {length: 250 mm, cut_by: N3}", "cut_by: N3", "without a dead end"),
    ("cut_by: N1}", "trains: [raikar]}", "raikar", "did you mean railcar"),
    ("magnet: 60 mm", "magnet: 301 mm", "magnet: 301 mm", "behind its end; allowed are 0 mm to 300 mm"),
    ("30 mm to 270 mm", "30 mm to 310 mm", "310 mm", "pick_ups of vehicle railcar body"),
    ("30 mm to 270 mm", "270 mm to 30 mm", "270 mm to 30", "goes down"),
    ("magnet: 30 mm", "magnet: 110 mm", "magnet: 110 mm", "none fits; allowed are 9 mm to 99 mm"),
    ("[engine, car, car, car,", "[engine, cart, car, car,", "cart", "did you mean car"),
    (
        "car: {length: 130 mm}",
        "car: {length: 130 mm, couplers: [hook, loop]}",
        "[engine, car",
        "rear of car .loop. does not couple to the front of car .hook",
    ),
    (
        "30 mm to 270 mm, ",
        "30 mm to 270 mm, couplers: [hook, hook], ",
        "",
        "",
    ),
    (
        "motor: true, pick_ups: 30 mm to 270 mm",
        "pick_ups: 30 mm to 270 mm",
        "railcar:\n",
        "nothing drives it",
    ),
    ("pick_ups: 30 mm to 270 mm, ", "", "railcar:\n", "nothing drives it"),
    ("    run_on: 45 mm to 60 mm\n", "", "runs on so far", "run_on is missing"),
    ("    run_on_time: 200 ms\n", "", "runs on so long", "run_on_time is missing"),
    ("run_on_time: 200 ms", "run_on: 9 mm", "runs on so long", "run_on_time is missing"),
    (
        "when_cut: runs on so far",
        "when_cut: stops at once",
        "run_on: 45",
        "a train that stops at once has none",
    ),
    (
        "    when_cut: runs on so far\n    run_on: 45 mm to 60 mm\n",
        "    when_cut: never stops\n",
        "never stops",
        "block Mill is to stop it",
    ),
    ("45 mm to 60 mm", "45 mm to 6 m", "45 mm to 6 m", "out of range"),
    ("250 mm/s to 360 mm/s", "0 mm/s to 360 mm/s", "0 mm/s", "out of range"),
    ("250 mm/s to 360 mm/s", "360 mm/s to 250 mm/s", "360 mm/s to 250", "goes down"),
    ("250 mm/s to 360 mm/s", "250 mm", "250 mm\n", "is a length, not a speed"),
    ("200 mm/s2", "200 mm/s", "200 mm/s", "not an acceleration"),
    ("  railcar:\n", "  Goods train:\n", "goods train:", "is taken by the train 'Goods train'"),
    ("  car: {", "  c@r: {", "c@r", "has the sign '@'"),
]


@pytest.mark.parametrize(("old", "new", "at", "says"), CASES, ids=lambda c: str(c)[:24])
def test_what_cannot_be_is_told_with_its_line(old: str, new: str, at: str, says: str) -> None:
    text = spoiled((old, new))
    found = complaints(text)
    if not says:
        assert found == []
        return
    lines = {complaint.line for complaint in found if re.search(says, complaint.message)}
    assert line_of(at, text) in lines, "\n".join(map(str, found))
    assert all(str(complaint).startswith("my.yaml:") for complaint in found)


def test_everything_is_told_at_once() -> None:
    found = complaints(
        spoiled(
            ("magnet: 60 mm", "magnet: 301 mm"),
            ("dead_end: 550 mm", "dead_end: 2.3 m"),
            ("set_back: 1080 mm", "set_back: 2 m"),
        )
    )
    assert len(found) == 3


def test_read_as_written() -> None:
    stock = loaded().stock
    goods, railcar = stock.trains[1], stock.trains[0]
    assert goods.speed == (150, 240) and goods.acceleration == 200 and railcar.acceleration == math.inf
    assert [coast.distance_mm(240) for coast in goods.coasts()] == [24, 24]
    assert [coast.distance_mm(360) for coast in railcar.coasts()] == [45, 60]
    made = make_up(stock, goods, {})
    assert made.length == 120 + 6 * 130
    assert (made.first_pick_up, made.last_pick_up) == (15, 105)
    assert [(m.from_nose, m.fits, m.source) for m in made.magnets] == [(30, (9, 99), "assumed")]
    places = {length.name: length for length in stock.lengths}
    assert (places["track A"].live, places["exit"].live) == (1650, 250)
    spots = {spot.name: spot for spot in stock.spots}
    assert (spots["N1"].from_gap, spots["N2"].from_gap) == (50, -1080)


def test_names_are_taken_in_any_case() -> None:
    stock = loaded(
        spoiled(("place: track A", "place: TRACK a"), ("  exit: {length", "  EXIT: {length"))
    ).stock
    assert str(stock.spots[0].place) == "track A"
    assert stock.lengths[2].name == "exit"


def test_pick_ups_of_a_train() -> None:
    """A car wired through to the engine feeds it; a rear helper counts to its last pick-up; others do not."""
    wired = spoiled(
        (
            "  car: {length: 130 mm}",
            "  car: {length: 130 mm}\n  tender: {length: 80 mm, pick_ups: 10 mm to 70 mm}",
        ),
        ("[engine, car, car, car, car, car, car]", "[tender, engine, car, engine]"),
    )
    stock = loaded(wired).stock
    made = make_up(stock, stock.trains[1], {})
    assert (made.first_pick_up, made.last_pick_up) == (80 + 15, 80 + 120 + 130 + 105)
    stock = loaded(wired.replace("10 mm to 70 mm}", "10 mm to 70 mm, wired_through: true}")).stock
    assert make_up(stock, stock.trains[1], {}).first_pick_up == 10


def test_a_layout_without_trains_is_as_before() -> None:
    stock = loaded(VALLEY[: VALLEY.index("vehicles:")]).stock
    assert not (stock.vehicles or stock.trains or stock.lengths or stock.spots)
