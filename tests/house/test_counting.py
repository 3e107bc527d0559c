"""One of a thing is not several."""

from reedway.counting import counted, times


def test_one_is_told_as_one() -> None:
    assert [times(n) for n in (0, 1, 2, 1200)] == ["0 times", "once", "2 times", "1,200 times"]
    assert [counted(n, "record") for n in (0, 1, 1200)] == ["0 records", "1 record", "1,200 records"]
    assert [counted(n, "record was", "records were") for n in (1, 2)] == ["1 record was", "2 records were"]
