"""The strip over time: no millisecond is lost when steps are joined; a column shows what there was most."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from reedway.report.strip import BLOCK, SENSOR, TURNOUT, Strip
from reedway.report.tally import Tally
from reedway.report.text import strip_lines
from reedway.sessionlog.reader import Line
from sessionlog.made import HEADER

STEPS = st.lists(st.tuples(st.integers(1, 5000), st.sampled_from(["hit", "opening", "feed"])), max_size=200)


@settings(max_examples=80, deadline=None)
@given(STEPS)
def test_joined_steps_keep_every_millisecond_and_every_hit(drawn: list[tuple[int, str]]) -> None:
    strip = Strip()
    strip.take(0, "note", "begin", 0)
    t, fed, closed = 0, 0, 0
    fed_ms = closed_ms = hits = 0
    for gap, kind in drawn:
        t += gap
        fed_ms += gap * fed
        closed_ms += gap * closed
        if kind == "feed":
            fed = 1 - fed
            strip.take(t, "feed", "Hold", fed)
        elif (kind == "hit") != bool(closed):
            closed = 1 - closed
            hits += closed
            strip.take(t, kind, "N1", 0)
        else:
            strip.take(t, "note", "", 0)
    strip.close(t)
    for key, busy_ms in (((BLOCK, "Hold"), fed_ms), ((SENSOR, "N1"), closed_ms)):
        if key in strip.rows:
            row = strip.rows[key]
            assert [sum(row.ms[0]), sum(row.ms[1])] == [t - busy_ms, busy_ms]
    if (SENSOR, "N1") in strip.rows:
        assert sum(strip.rows[SENSOR, "N1"].marks) == hits


def drawn(*records: tuple[int, str, str, int], columns: int = 10) -> dict[tuple[str, str], str]:
    strip = Strip()
    for item in records:
        strip.take(*item)
    strip.close(records[-1][0])
    return strip.draw(columns)


def test_a_magnet_comes_to_rest_and_leaves() -> None:
    rows = drawn(
        (0, "note", "begin", 0),
        (1100, "hit", "N1", 0),
        (4000, "rest", "N1", 0),
        (4500, "opening", "N1", 0),  # chatter: it is still at rest
        (8000, "clear", "N1", 1),
        (9999, "note", "end", 0),
    )
    assert rows[SENSOR, "N1"] == ".|==####.."


def test_blocks_and_turnouts() -> None:
    rows = drawn(
        (0, "feed", "Hold", 1),
        (2500, "feed", "Hold", 0),
        (3100, "throw", "exit", 1),
        (3180, "position", "exit", 1),
        (6100, "throw", "exit", 0),
        (6180, "position", "exit", 0),
        (9999, "note", "end", 0),
    )
    assert rows[BLOCK, "Hold"] == "==-......."
    assert rows[TURNOUT, "exit"] == "???x//x___"


def test_the_picture_is_80_columns_wide_with_its_clock() -> None:
    tally = Tally()
    tally.take(Line(2, 0, 0, "hit", "a sensor with a long name", 0))
    tally.take(Line(3, 0, 360_000, "throw", "exit", 1))
    tally.finish()
    lines = list(strip_lines(tally, HEADER))
    assert max(map(len, lines)) == 80
    assert lines[0].split() == ["19:30:00", "19:33:00", "19:36:00"]
    assert lines[1].startswith("a sensor with a~  |=====")


def test_a_log_of_one_record_has_a_strip() -> None:
    assert drawn((5, "hit", "N1", 0)) == {(SENSOR, "N1"): "|"}
