"""The figures of a report against counts made another way: from whole lists and each millisecond."""

from __future__ import annotations

import statistics
import tempfile
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from reedway.report.figures import figures, read_session
from sessionlog.made import record, write_log

SENSORS, TURNOUTS, COILS, BLOCKS = (
    ("N1", "N2"),
    ("exit", "entry"),
    ("exit to A", "entry to B"),
    ("Hold", "Mill"),
)
Made = tuple[int, str, str, int]  # t, kind, name, value


def one_of(kinds: dict[str, tuple[str, ...]]) -> st.SearchStrategy[tuple[str, str]]:
    return st.sampled_from([(kind, name) for kind, names in kinds.items() for name in names])


EVENTS = one_of(
    dict.fromkeys(("hit", "opening", "chatter", "rest", "edge"), SENSORS)
    | dict.fromkeys(("throw", "deferred", "refresh", "position"), TURNOUTS)
    | dict.fromkeys(("pulse", "pulse end"), COILS)
    | {
        "feed": BLOCKS,
        "go": BLOCKS,
        "note": ("a train", "missed"),
        "change": ("siding",),
        "timer": ("let out",),
    }
)
LOGS = st.lists(st.tuples(st.integers(0, 40), EVENTS, st.integers(0, 2)), min_size=1, max_size=120)


def lay_out(drawn: list[tuple[int, tuple[str, str], int]]) -> list[Made]:
    """Drawn steps as records; what can only alternate does, as it does in a real log."""
    t, made = 100, []
    level: dict[tuple[str, str], int] = {}
    running: set[str] = set()
    for gap, (kind, name), value in drawn:
        t += gap
        if kind in ("feed", "edge"):
            value = level[kind, name] = 1 - level.get((kind, name), value & 1)
        elif kind in ("position", "throw", "change"):
            value &= 1
        elif kind in ("pulse", "pulse end"):
            kind = "pulse end" if name in running else "pulse"
            running ^= {name}
        made.append((t, kind, name, value))
    return made


def report(made: list[Made]) -> dict[str, Any]:
    with tempfile.TemporaryDirectory() as folder:
        path = write_log(Path(folder) / "a.jsonl", *(record(*m) for m in made))
        return figures(read_session(str(path)))


def times(made: list[Made], kind: str, name: str) -> list[int]:
    return [t for t, k, n, _ in made if (k, n) == (kind, name)]


@settings(max_examples=120, deadline=None)
@given(LOGS)
def test_counts_are_those_of_the_list(drawn: list[tuple[int, tuple[str, str], int]]) -> None:
    made = lay_out(drawn)
    found = report(made)
    assert found["records"] == len(made)
    assert found["span_ms"] == made[-1][0] - made[0][0]
    for name in SENSORS:
        mine = [m for m in made if m[2] == name]
        if not any(k in ("hit", "opening", "chatter", "rest") for _, k, _, _ in mine):
            assert name not in found["sensors"]
            continue
        sensor = found["sensors"][name]
        hits = times(made, "hit", name)
        assert sensor["hits"] == len(hits)
        assert sensor["chatter"] == sum(v for _, k, _, v in mine if k == "chatter")
        assert sensor["rests"] == len(times(made, "rest", name))
        gaps = [b - a for a, b in zip(hits, hits[1:], strict=False)]
        if gaps:
            expected = (min(gaps), statistics.median_low(gaps), max(gaps))
            assert tuple(sensor["interval"].values()) == expected
        else:
            assert sensor["interval"] is None
    for name in TURNOUTS:
        throws = times(made, "throw", name)
        turnout = found["turnouts"].get(name, {"throws": 0, "deferred": 0, "refreshes": 0, "skipped": 0})
        refreshes = [v for _, k, n, v in made if (k, n) == ("refresh", name)]
        assert turnout == {
            "throws": len(throws),
            "deferred": len(times(made, "deferred", name)),
            "refreshes": refreshes.count(0),
            "skipped": len(refreshes) - refreshes.count(0),
        }
    for message in found["messages"]:
        assert message["count"] == len(times(made, "note", message["text"]))
    assert {m["text"] for m in found["messages"]} == {n for _, k, n, _ in made if k == "note"}
    assert found["levels"].get("siding", 0) == len(times(made, "change", "siding"))


def each_ms(made: list[Made], kind: str, name: str, before: int) -> list[int]:
    """The level of something in every millisecond of the log, from the records that change it."""
    levels = []
    level, changes = before, [(t, v) for t, k, n, v in made if (k, n) == (kind, name)]
    for ms in range(made[0][0], made[-1][0]):
        while changes and changes[0][0] <= ms:
            level = changes.pop(0)[1]
        levels.append(level)
    return levels


@settings(max_examples=80, deadline=None)
@given(LOGS)
def test_durations_are_those_counted_each_millisecond(drawn: list[tuple[int, tuple[str, str], int]]) -> None:
    made = lay_out(drawn)
    found = report(made)
    for name in BLOCKS:
        feeds = [v for _, k, n, v in made if (k, n) == ("feed", name)]
        if not feeds:
            assert name not in found["blocks"]
            continue
        block = found["blocks"][name]
        go_ms = sum(each_ms(made, "feed", name, before=1 - feeds[0]))
        assert block["changes"] == len(feeds)
        assert block["go_ms"] == go_ms
        assert abs(block["go_share"] - (go_ms / found["span_ms"] if found["span_ms"] else 0)) <= 0.00005
    for name in COILS:
        begins, ends = times(made, "pulse", name), times(made, "pulse end", name)
        lengths = [b - a for a, b in zip(begins, ends, strict=False)]
        coil = found["coils"].get(name, {"pulses": 0, "longest_ms": 0, "total_ms": 0})
        assert coil == {
            "pulses": len(begins),
            "longest_ms": max(lengths, default=0),
            "total_ms": sum(lengths),
        }


# A sensor's life: passes with bounce, and stays with chatter. (closed ms, open ms) again and again.
BURST = st.lists(st.tuples(st.integers(1, 60), st.integers(1, 30)), min_size=1, max_size=6)
PASSES = st.lists(st.tuples(BURST, st.booleans(), st.integers(100, 400)), min_size=1, max_size=6)
CONFIRM_MS, OPENING_MS = 5, 20


@settings(max_examples=80, deadline=None)
@given(PASSES, st.booleans())
def test_what_a_relay_would_have_done_is_the_time_the_contact_was_closed(
    passes: list[tuple[list[tuple[int, int]], bool, int]], ends_closed: bool
) -> None:
    """Each pass: a burst of closings, of which the last lasts until the hit; half of them throw."""
    made: list[Made] = []
    expected: list[int] = []
    t = 1000
    for number, (burst, throws, rest) in enumerate(passes):
        closed = 0
        made.append((t, "edge", "N1", 1))
        made.append((t + CONFIRM_MS, "hit", "N1", 0))
        if throws:
            made += [(t + CONFIRM_MS, "throw", "exit", 1), (t + CONFIRM_MS, "throw", "entry", 1)]
        for i, (on, off) in enumerate(burst):
            on += CONFIRM_MS + 1
            if i:
                made.append((t, "edge", "N1", 1))
            closed += on
            t += on
            last = i == len(burst) - 1
            if last and number == len(passes) - 1 and ends_closed:
                made.append((t, "note", "the log ends here", 0))
                break
            made.append((t, "edge", "N1", 0))
            t += off
        else:
            made.append((t + OPENING_MS, "opening", "N1", 0))
            t += OPENING_MS + 50
            made += [
                (t, "edge", "N1", 1),
                (t + 1, "edge", "N1", 0),
            ]  # a glitch
        if throws:
            expected.append(closed)
        t += rest
    found = report(made)["relays"]
    if not expected:
        assert found == {}
        return
    relay = found["N1"]
    assert relay["throws"] == len(expected)
    assert relay["turnouts"] == ["exit", "entry"]
    assert relay["held_longest_ms"] == max(expected)
    assert relay["held_total_ms"] == sum(expected)


def test_a_reset_puts_the_parts_end_to_end() -> None:
    made = [
        (100, "feed", "Hold", 1),
        (200, "hit", "N1", 0),
        (5, "state", "", 0),
        (5, "hit", "N1", 0),
        (65, "feed", "Hold", 1),
    ]
    with tempfile.TemporaryDirectory() as folder:
        lines = [record(t, k, n, [] if k == "state" else v) for t, k, n, v in made]
        found = figures(read_session(str(write_log(Path(folder) / "a.jsonl", *lines))))
    assert found["resets"] == 1
    assert found["span_ms"] == 160
    assert found["blocks"]["Hold"] == {"changes": 2, "go_ms": 100, "go_share": 0.625}
    assert found["sensors"]["N1"]["interval"] is None  # nobody knows how long the reset took
