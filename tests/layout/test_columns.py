"""Tables and sentences fit a terminal of 80 columns, and lose nothing by it."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from reedway import cli
from reedway.columns import COLUMNS, cut, table
from reedway.resources import config_folder

PLANNED = sorted(config_folder().glob("t*-trains*.yaml"))
HEAD = ("train", "magnet", "closed ms", "passes clear by", "tail clear by", "next spot by", "acts again")


@pytest.mark.parametrize("path", PLANNED, ids=lambda path: path.stem)
def test_plan_simulate_and_tune_fit_the_terminal(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    speed = ["--vary", "train railcar speed", "300 mm/s", "360 mm/s", "60 mm/s"]
    speed += ["--seeds", "0", "--hours", "0.02"]
    for words in (["plan", "--scale", "87"], ["simulate", "--hours", "0.1"], ["tune", *speed]):
        cli.main([words[0], str(path), *words[1:]])
        told = capsys.readouterr().out.splitlines()
        assert len(told) > 5
        assert [line for line in told if len(line) > COLUMNS] == []


def test_heads_stand_in_lines_only_where_the_table_is_too_wide() -> None:
    row = ("railcar", "railcar body", "27.7", "320", "780", "-", "no")
    assert table(HEAD[:4], [row[:4]]) == [
        "  train    magnet        closed ms  passes clear by",
        "  railcar  railcar body       27.7              320",
    ]
    long = ("railcar", "railcar body of second class", *row[2:])
    assert table(HEAD, [long]) == [
        "                                                 passes   tail  next",
        "                                         closed   clear  clear  spot   acts",
        "  train    magnet                            ms      by     by    by  again",
        "  railcar  railcar body of second class    27.7     320    780     -     no",
    ]


def test_long_names_are_cut_between_words_and_nothing_is_lost() -> None:
    name = "the heavy goods train of the northern quarries with two engines"
    lines = table(HEAD, [(name, "second engine from the front", *["1234567"] * 5)])
    assert max(map(len, lines)) <= COLUMNS
    words = " ".join(lines).split()
    for word in [*name.split(), *" ".join(HEAD).split(), "second", "engine", "from", "front"]:
        assert word in words
    assert words.count("1234567") == 5


def test_a_sentence_is_cut_between_words_but_not_before_a_unit() -> None:
    line = "  goods train: " + ", ".join(f"{n} mm" for n in range(10, 40))
    lines = cut(line).split("\n")
    assert max(map(len, lines)) <= COLUMNS and lines[1].startswith("    ")
    assert " ".join(" ".join(lines).split()) == line.strip()
    assert not any(one.strip().startswith("mm") for one in lines)
    assert cut("  short") == "  short"


@pytest.mark.parametrize("command", ["check", "explain", "coils", "magnets", "wiring"])
def test_long_lines_are_cut_on_a_terminal_and_whole_elsewhere(
    command: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(config_folder())
    layout = "three-trains-go-sensor.yaml"
    cli.main([command, layout])
    whole = capsys.readouterr().out
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    monkeypatch.setenv("COLUMNS", "72")
    cli.main([command, layout])
    told = capsys.readouterr().out
    assert max(map(len, told.splitlines())) <= 72
    assert told.split() == whole.split()
