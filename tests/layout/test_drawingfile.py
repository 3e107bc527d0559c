"""A slip in the name of an output costs no layout and no log."""

from __future__ import annotations

from pathlib import Path

import pytest

from layout.base import CONFIG
from reedway import cli
from reedway.board.walking.answers import Answers
from reedway.problems import ReedwayError

SOURCE = (CONFIG / "three-trains-go-sensor.yaml").read_bytes()
VARY = ["--vary", "sensor N1 spot", "1 m", "1100 mm", "100 mm", "--seeds", "0", "--hours", "0.01"]


@pytest.mark.parametrize(
    ("words", "option"),
    [
        (["explain"], "--card"),
        (["wiring"], "--svg"),
        (["wiring"], "--labels"),
        (["simulate", "--hours", "0.01"], "--chart"),
        (["tune", *VARY], "--chart"),
    ],
)
def test_a_drawing_replaces_a_drawing_and_nothing_else(
    words: list[str], option: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    layout, drawing = tmp_path / "my.yaml", tmp_path / "my.svg"
    layout.write_bytes(SOURCE)
    command = [words[0], str(layout), *words[1:], option]
    assert cli.main([*command, str(layout)]) == 1
    said = capsys.readouterr().err.splitlines()[-1]
    assert said == f"{layout}: is there already and is no drawing of Reedway's; name another file"
    assert layout.read_bytes() == SOURCE
    for _ in range(2):  # it is drawn again after each change of the layout
        assert cli.main([*command, str(drawing)]) == 0
        assert drawing.read_bytes().startswith(b"<svg ")


def test_the_drawings_of_a_plan_leave_others_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    layout, other = tmp_path / "my.yaml", tmp_path / "plans" / "1-N1.svg"
    layout.write_bytes(SOURCE)
    other.parent.mkdir()
    other.write_text("<?xml version='1.0'?><!-- drawn by hand -->")
    assert cli.main(["plan", str(layout), "--drawings", str(other.parent)]) == 1
    assert "1-N1.svg: is there already and is no drawing" in capsys.readouterr().err
    assert "by hand" in other.read_text()


def test_a_walk_begun_anew_replaces_answers_only(tmp_path: Path) -> None:
    path = tmp_path / "my.json"
    for text in ("", "{}", '{\n "reedway_walk": 1, "torn'):
        path.write_text(text)
        assert Answers(path, "My", begins_anew=True).seen == {}
    for text in ("reedway: 1\n", '{"reedway_log":1,"layout":"My"}\n'):
        path.write_text(text)
        with pytest.raises(ReedwayError, match="holds no answers of a walk; name another file"):
            Answers(path, "My", begins_anew=True)
        assert path.read_text() == text
