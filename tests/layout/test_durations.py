"""Times with units against the standard library's own clock arithmetic."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedway.durations import NotATime, as_written, parse_ms

NAMES = {"ms": "milliseconds", "s": "seconds", "min": "minutes", "h": "hours"}


@given(st.integers(0, 100_000), st.sampled_from(sorted(NAMES)))
def test_units_are_those_of_the_standard_library(number: int, unit: str) -> None:
    assert parse_ms(f"{number} {unit}") == timedelta(**{NAMES[unit]: number}) // timedelta(milliseconds=1)


@given(st.integers(0, 10**8))
def test_what_is_written_reads_back(time_ms: int) -> None:
    assert parse_ms(as_written(time_ms)) == time_ms


@pytest.mark.parametrize(
    ("text", "time_ms"), [("1.6 s", 1600), (".5 s", 500), ("0.005 s", 5), ("80ms", 80), (" 2 min ", 120_000)]
)
def test_fractions_and_spaces(text: str, time_ms: int) -> None:
    assert parse_ms(text) == time_ms


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("80", "has no unit; units are ms, s, min, h; write 80 ms or 80 s"),
        ("-5 ms", "negative"),
        ("0.5 ms", "not a whole number of milliseconds"),
        ("1,6 s", "write a point, not a comma: 1.6 s"),
        ("1:30", "write seconds: 90 s"),
        ("5 sec", "write 5 s"),
        ("5 m", "write 5 min"),
        ("5 MS", "write 5 ms"),
        ("5 V", "'V' is not a unit of time"),
        ("soon", "is not a time"),
        ("", "is not a time"),
        ("٣ s", "is not a time"),
    ],
)
def test_what_is_no_time_says_what_to_write(text: str, says: str) -> None:
    with pytest.raises(NotATime) as why:
        parse_ms(text)
    assert says in str(why.value)


@pytest.mark.parametrize(
    ("time_ms", "text"),
    [(0, "0 ms"), (80, "80 ms"), (1500, "1.5 s"), (90_000, "90 s"), (120_000, "2 min"), (7_200_000, "2 h")],
)
def test_the_shortest_way_to_write(time_ms: int, text: str) -> None:
    assert as_written(time_ms) == text
