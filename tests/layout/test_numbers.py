"""Numbers of the command line: each slip in one line that says what is allowed."""

from __future__ import annotations

import pytest

from reedway import cli

LAYOUT = "my.yaml"  # not read: the command line comes first


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["plan", LAYOUT, "--scale", "x"], "argument --scale: 'x' is no number; 1 to 1000"),
        (["plan", LAYOUT, "--scale", "0"], "argument --scale: '0' is not allowed; 1 to 1000"),
        (["plan", LAYOUT, "--scale", "nan"], "argument --scale: 'nan' is not allowed; 1 to 1000"),
        (
            ["simulate", LAYOUT, "--hours", "0"],
            "argument --hours: '0' is not allowed; more than 0, at most 1000",
        ),
        (["simulate", LAYOUT, "--hours", "1,5"], "argument --hours: write a point, not a comma: 1.5"),
        (["simulate", LAYOUT, "--miss-rate", "91"], "argument --miss-rate: '91' is not allowed; 0 to 90"),
        (
            ["simulate", LAYOUT, "--phantom-rate", "inf"],
            "argument --phantom-rate: 'inf' is not allowed; 0 to 1000",
        ),
        (["tune", LAYOUT, "--seeds", "1.5"], "argument --seeds: '1.5' is no whole number; 0 to 1000"),
        (["prove", LAYOUT, "--tick", "0"], "argument --tick: '0' is not allowed; 1 to 1000"),
        (["record", LAYOUT, "--for", "x"], "argument --for: 'x' is no number; more than 0, at most 1e+06"),
        (["walk", LAYOUT, "--wait", "-1"], "argument --wait: '-1' is not allowed; more than 0, at most 3600"),
    ],
)
def test_a_slip_is_told_with_what_is_allowed(
    words: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stop:
        cli.main(words)
    assert stop.value.code == 2
    assert capsys.readouterr().err.splitlines()[-1] == f"reedway {words[0]}: error: {says}"
