"""What is wrong with a track is said with its line, what is allowed and what to do."""

from __future__ import annotations

import pytest

from reedway.problems import LayoutError
from track.lines import Line, load_unwired

GOOD = Line(pairs=False, trains=2).text()


def complaints(text: str) -> list[str]:
    with pytest.raises(LayoutError) as caught:
        load_unwired(text)
    assert all(0 < one.line <= text.count("\n") + 1 for one in caught.value.complaints)
    return [one.message for one in caught.value.complaints]


def line_of(text: str, what: str) -> int:
    """Line of the complaint, and that it is the line where this stands."""
    with pytest.raises(LayoutError) as caught:
        load_unwired(text)
    line = min(one.line for one in caught.value.complaints)
    assert what in text.split("\n")[line - 1]
    return line


CHANGES = [
    ("home: {to: entry 1", "home: {to: entri 1", "there is no section 'entri 1'", "entri 1"),
    ("home: {to: entry 1", "home: {to: track 1", "is entered from", "track 1"),
    ("line: {to: hold 1", "line: {to: [hold 1, hold 2]", "leads to 2 sections", "line: {"),
    ("line: {to: hold 1", "line: {to: hold 2", "is entered from line and hold 1", "hold 2"),
    ("exit 1: {from: [track 1, track 2], to: line}", "exit 1: {to: line}", "which way is it run", "exit 1"),
    (
        "exit 1: {from: [track 1, track 2], to: line}",
        "exit 1: {from: [track 1, track 2], to: [line, home]}",
        "two ways in and two ways out",
        "exit 1",
    ),
    ("track 2: {to: exit 1", "track 2: {to: entry 1", "no two-way running", "exit 1: {"),
    ("  line: {to: hold 1", "  spur: {to: hold 1}\n  line: {to: hold 1", "no section leads to spur", "spur"),
    ("tail_clear_of: hold 2", "tail_clear_of: hold 22", "there is no section 'hold 22'", "hold 22"),
    ("tail_clear_of: hold 2", "tail_clear_of: home", "lies in home, so the train has not left it", "home"),
    ("hold 2: {to: home, sensors: H2", "hold 2: {to: home", "lies in no section", "H2"),
    ("hold 1: {to: hold 2", "hold 1: {to: hold 2, sensors: H2", "sensor H2 lies in hold 1 already", "H2"),
    ("hold 1: {to: hold 2", "hold 1: {to: hold 2, in_time: true", "in_time is for turnouts", "hold 1"),
    ("hold 1: {to: hold 2", "hold 1: {to: hold 2, leaves: leave at the go sensor", "add go_sensor", "hold 1"),
    ("hold 1: {to: hold 2", "hold 1: {to: hold 2, leaves: at once", "is not known here", "at once"),
]


def test_the_line_itself_is_good() -> None:
    assert load_unwired(GOOD).rules_derived


@pytest.mark.parametrize(("old", "new", "message", "where"), CHANGES, ids=[c[2][:30] for c in CHANGES])
def test_a_wrong_track_is_told(old: str, new: str, message: str, where: str) -> None:
    assert GOOD.count(old) == 1
    text = GOOD.replace(old, new)
    assert any(message in one for one in complaints(text)), complaints(text)
    line_of(text, where)


def test_a_reversing_loop_is_refused() -> None:
    """The way through track 2 comes back to the points of the exit from the other side."""
    text = GOOD.replace("track 2: {to: exit 1", "track 2: {to: home")
    assert any("no reversing loops" in one for one in complaints(text))


def test_a_place_that_is_not_on_the_track_is_told() -> None:
    text = GOOD.replace("  hold 1: {block: B hold 1}", "  hold 1: {block: B hold 1}\n  shed: {}")
    assert complaints(text) == ["place shed is not on the track; add shed: under track"]


def test_two_circuits_are_told() -> None:
    text = GOOD.replace("  line: {to", "  east: {to: west}\n  west: {to: east}\n  line: {to")
    assert any("one circuit" in one for one in complaints(text))


def test_pairs_must_lie_together_and_say_the_same() -> None:
    text = Line().text()
    swapped = text.replace("[T1a, T1b]", "[T1b, T1a]")
    assert any("lies just before it" in one for one in complaints(swapped))
    unlike = text.replace("H2b: {terminal: sensor 4, tail_clear_of: hold 1", "H2b: {terminal: sensor 4")
    assert any("must say the same" in one for one in complaints(unlike))


DERIVABLE = [
    ("  hold 1: {block: B hold 1}", "  hold 1: {}", "place hold 1 has no block"),
    ("  hold 1: {block: B hold 1}", "  hold 1: {block: B hold 2}", "places share a block only"),
    (
        "hold 1: {to: hold 2",
        "hold 1: {to: hold 2, used_while: second in service",
        "is not how a switch can stand",
    ),
]


@pytest.mark.parametrize(("old", "new", "message"), DERIVABLE, ids=[c[2] for c in DERIVABLE])
def test_what_cannot_be_derived_is_told(old: str, new: str, message: str) -> None:
    text = GOOD.replace(old, new)
    assert any(message in one and "safe_rules: written" in one for one in complaints(text))
    written = text.replace("layout:", "safe_rules: written\nlayout:", 1)
    assert not load_unwired(written).rules_derived


OVAL = """\
reedway: 1
layout: Oval
board: pico
sensors: {S: {terminal: sensor 1}}
detectors:
  one taken: {terminal: sensor 2}
  two taken: {terminal: sensor 3}
blocks:
  B1: {terminal: feed 1}
  B2: {terminal: feed 2}
places:
  one: {block: B1}
  two: {block: B2}
track:
  one: {to: two, sensors: S, detector: one taken}
  two: {to: one, detector: two taken}
starts:
  all: {trains: one}
"""


def test_a_detector_alone_frees_nothing_in_derived_rules() -> None:
    assert any(
        "a detector alone does not free it in derived rules, as it lets go for a moment" in one
        for one in complaints(OVAL)
    )
    assert load_unwired(OVAL.replace("track:", "safe_rules: written\ntrack:")).track


def test_what_nothing_frees_is_told() -> None:
    text = OVAL.replace(", detector: two taken", "")
    assert any("nothing frees section two" in one for one in complaints(text))
    line_of(text, "two: {to: one}")


def test_tail_clear_of_without_a_track_is_told() -> None:
    text = GOOD[: GOOD.index("track:\n")] + GOOD[GOOD.index("starts:") :]
    assert any("describes no track" in one for one in complaints(text))


@pytest.mark.parametrize(
    ("key", "says"),
    [
        ("both_ways: true", "no reversing loops and no two-way running: every section is run one way only"),
        ("two-way: true", "no reversing loops and no two-way running"),
        ("reversing_loop: true", "no reversing loops and no two-way running"),
        ("polarity: relay", "no reversing loops and no two-way running"),
    ],
)
def test_two_way_running_is_refused_with_a_clear_line(key: str, says: str) -> None:
    text = Line().text().replace("  line: {", f"  line: {{{key}, ")
    with pytest.raises(LayoutError) as raised:
        load_unwired(text)
    (complaint,) = raised.value.complaints
    assert says in complaint.message and "allowed are" not in complaint.message
    assert complaint.line == next(n for n, line in enumerate(text.splitlines(), 1) if key in line)


@pytest.mark.parametrize("key", ["motor: coil 1", "slow_motion: true", "servo: coil 1", "stall: 20 mA"])
def test_motors_that_need_steady_current_are_refused_with_a_clear_line(key: str) -> None:
    text = Line().text().replace("{positions: [A, B], ", f"{{positions: [A, B], {key}, ", 1)
    with pytest.raises(LayoutError) as raised:
        load_unwired(text)
    (complaint,) = raised.value.complaints
    assert "need steady current, and Reedway's coil outputs give single pulses only" in complaint.message


def test_a_pulse_of_seconds_is_refused_as_no_coil() -> None:
    text = Line().text().replace("{positions: [A, B], ", "{positions: [A, B], pulse: 4 s, ", 1)
    with pytest.raises(LayoutError) as raised:
        load_unwired(text)
    assert "what needs steady current is no coil" in raised.value.complaints[0].message
