"""`reedway replay` as the owner uses it: verify, compare, both interpreters, outputs, bad logs."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from reedway.replay.machines import find_micropython
from reedway.resources import config_folder
from replay.command import run

CONFIG = config_folder()
LAYOUT = CONFIG / "two-trains.yaml"
LOG = CONFIG / "sessions" / "two-trains_ordinary.jsonl"
needs_micropython = pytest.mark.skipif(find_micropython() is None, reason="no MicroPython for this machine")
Captured = pytest.CaptureFixture[str]


@pytest.fixture
def lines() -> list[str]:
    return LOG.read_text().splitlines()


def write(folder: Path, lines: list[str], end: str = "\n") -> Path:
    path = folder / "log.jsonl"
    path.write_text("\n".join(lines) + end)
    return path


def at(lines: list[str], kind: str, nth: int = 0) -> int:
    """Index of the nth record of a kind."""
    return [i for i, line in enumerate(lines) if f'"kind":"{kind}"' in line][nth]


def test_verify_tells_the_first_record_that_is_not_so(
    lines: list[str], tmp_path: Path, capsys: Captured
) -> None:
    where = at(lines, "throw")
    lines[where] = lines[where].replace('"value":0', '"value":1')
    assert run("replay", write(tmp_path, lines), "--layout", LAYOUT, "--verify") == (1, "")
    out = capsys.readouterr().out
    name = json.loads(lines[where])["name"]
    assert f"line {where + 1} of the log), after {where - 1} equal records:" in out
    assert f"  recorded: {name} thrown to B\n  now:      {name} thrown to A\n" in out
    assert "real trains" not in out


def test_verify_finds_a_record_too_few_at_the_end(lines: list[str], tmp_path: Path, capsys: Captured) -> None:
    where = max(i for i, line in enumerate(lines) if '"kind":"throw"' in line)
    assert run("replay", write(tmp_path, lines[:where]), "--layout", LAYOUT, "--verify") == (1, "")
    assert "recorded: the log ends here" in capsys.readouterr().out


def test_verify_wants_the_same_layout(tmp_path: Path) -> None:
    changed = tmp_path / "changed.yaml"
    changed.write_text(LAYOUT.read_text() + "# a word more\n")
    code, said = run("replay", LOG, "--layout", changed, "--verify")
    assert code == 1
    assert "recorded with another layout" in said


def test_compare_tells_clock_time_old_act_and_new_act(tmp_path: Path, capsys: Captured) -> None:
    changed = tmp_path / "changed.yaml"
    changed.write_text(LAYOUT.read_text().replace("pulse: 80 ms", "pulse: 90 ms"))
    assert run("replay", LOG, "--layout", changed, "--compare") == (0, "")
    captured = capsys.readouterr()
    assert "recorded with another layout (Two trains); its inputs are matched by name" in captured.err
    assert (
        "First difference at 19:30:02.509 (t 2509 ms, line 17 of the log), after 15 equal records:"
        in captured.out
    )
    assert (
        "  recorded: pulse of 80 ms on exit to A\n  now:      pulse of 90 ms on exit to A\n" in captured.out
    )
    assert "real trains would have moved differently" in captured.out


def test_compare_lists_inputs_that_the_layout_lacks(tmp_path: Path, capsys: Captured) -> None:
    changed = tmp_path / "changed.yaml"
    changed.write_text(LAYOUT.read_text().replace("N2", "N9"))
    edges = LOG.read_text().count('"kind":"edge","name":"N2"')
    assert run("replay", LOG, "--layout", changed, "--compare") == (0, "")
    out = capsys.readouterr().out
    assert f"Not in this layout, left out: N2 ({edges})" in out
    assert "recorded: N2" not in out


def test_a_comment_changes_nothing(tmp_path: Path, capsys: Captured) -> None:
    changed = tmp_path / "changed.yaml"
    changed.write_text("# a word more\n" + LAYOUT.read_text())
    assert run("replay", LOG, "--layout", changed, "--compare", "--json") == (0, "")
    found = json.loads(capsys.readouterr().out)
    assert found["first"] is None
    assert found["same"] == found["recorded"] == found["replayed"] == len(LOG.read_text().splitlines()) - 1


def test_a_log_of_quite_another_layout_is_refused(tmp_path: Path) -> None:
    other = tmp_path / "other.yaml"
    other.write_text("reedway: 1\nlayout: Other\nboard: pico\nsensors: {X1: {terminal: sensor 1}}\n")
    code, said = run("replay", LOG, "--layout", other)
    assert code == 1
    assert "is a log of another layout; none of its inputs is in this one" in said


@needs_micropython
def test_both_interpreters_are_compared_and_counted(tmp_path: Path, capsys: Captured) -> None:
    out = tmp_path / "out.jsonl"
    assert run("replay", LOG, "--layout", LAYOUT, "--on", "both", "--out", out) == (0, "")
    records = len(LOG.read_text().splitlines()) - 1
    assert (
        capsys.readouterr().out.splitlines()[-1] == f"{records} records identical on MicroPython and CPython"
    )
    assert (tmp_path / "out.host.jsonl").read_bytes() == (tmp_path / "out.micropython.jsonl").read_bytes()


@needs_micropython
def test_what_stops_micropython_is_told_in_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("reedway.replay.machines.HEAP", "9k")
    code, said = run("replay", LOG, "--layout", LAYOUT, "--on", "micropython")
    assert code == 1
    assert said.startswith("MicroPython stopped (")
    assert "\n" not in said


def test_no_micropython_is_said_with_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("reedway.replay.machines.find_micropython", lambda: None)
    code, said = run("replay", LOG, "--layout", LAYOUT, "--on", "micropython")
    assert code == 1
    assert said.startswith("no MicroPython on this machine; ")


def test_out_never_is_what_is_read(lines: list[str], tmp_path: Path) -> None:
    log = write(tmp_path, lines)
    before = log.read_bytes()
    (tmp_path / "link.jsonl").symlink_to(log)
    os.link(log, tmp_path / "hard.jsonl")
    for out in (
        log,
        tmp_path / "link.jsonl",
        tmp_path / "hard.jsonl",
        tmp_path / ".." / tmp_path.name / log.name,
    ):
        code, said = run("replay", log, "--layout", LAYOUT, "--out", out, "--force")
        assert code == 1
        assert said.endswith(f"is the file {log} that is read; choose another")
    code, said = run("replay", log, "--layout", LAYOUT, "--out", LAYOUT, "--force")
    assert "that is read" in said
    assert log.read_bytes() == before


def test_out_replaces_nothing_unless_told(tmp_path: Path) -> None:
    out = tmp_path / "out.jsonl"
    out.touch()  # an empty file is no loss
    assert run("replay", LOG, "--layout", LAYOUT, "--out", out) == (0, "")
    code, said = run("replay", LOG, "--layout", LAYOUT, "--out", out)
    assert (code, said) == (1, f"--out {out} is there already; choose another, or say --force to replace it")
    assert run("replay", LOG, "--layout", LAYOUT, "--out", out, "--force") == (0, "")
    assert [path.name for path in tmp_path.iterdir()] == ["out.jsonl"]


@pytest.mark.parametrize("out", [".", "none/out.jsonl", "/dev/full"])
def test_out_that_cannot_be_written_is_one_line(
    out: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    code, said = run("replay", LOG, "--layout", LAYOUT, "--out", out)
    assert code == 1
    assert said.startswith(f"--out {out} ")
    assert "\n" not in said


def test_out_to_the_terminal(capsys: Captured) -> None:
    assert run("replay", LOG, "--layout", LAYOUT, "--out", "-") == (0, "")
    assert capsys.readouterr().out == LOG.read_text()
    assert run("replay", LOG, "--layout", LAYOUT, "--out", "-", "--json")[0] == 1


def test_a_torn_log_is_replayed_as_far_as_it_goes(lines: list[str], tmp_path: Path, capsys: Captured) -> None:
    where = at(lines, "throw", nth=1)  # in the middle of what a hit did
    torn = [*lines[:where], lines[where][:30]]
    assert run("replay", write(tmp_path, torn, end=""), "--layout", LAYOUT, "--verify") == (0, "")
    captured = capsys.readouterr()
    assert f":{where + 1}: the last line is torn and left out" in captured.err
    assert f"No difference: {where - 1} records" in captured.out


EDGE = '"kind":"edge","name":"N1","value":1'


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('"kind":"hit","name":"N1"', '"kind":"hit","name":"N17"', "no 'N17'; did you mean N1?"),
        ('"kind":"hit"', '"kind":"hot"', "'hot' is no kind of record; did you mean hit?"),
        (EDGE, '"kind":"edge","name":"N1","value":2', "is 0 or 1, not 2"),
        (EDGE, '"kind":"late","name":"","value":9000000', "reaches back over"),
        (EDGE, '"kind":"order","name":"halt","value":0', "no order 'halt'"),
        (EDGE, '"kind":"order","name":"stop","value":999999', "can hold"),
        (EDGE, '"kind":"state","name":"","value":[1]', "a state of this layout has"),
    ],
)
def test_a_bad_line_is_told_with_its_number(
    old: str, new: str, says: str, lines: list[str], tmp_path: Path
) -> None:
    where = next(i for i, line in enumerate(lines) if old in line)
    lines[where] = lines[where].replace(old, new)
    log = write(tmp_path, lines)
    code, said = run("replay", log, "--layout", LAYOUT)
    assert code == 1
    assert said.startswith(f"{log}:{where + 1}: ")
    assert says in said.splitlines()[0]


def test_all_bad_lines_are_told_at_once(lines: list[str], tmp_path: Path) -> None:
    first, second = at(lines, "hit"), at(lines, "hit", nth=2)
    lines[first] = "rubbish"
    lines[second] = lines[second].replace('"t":', '"t":0')
    lines.append(lines[3])
    log = write(tmp_path, lines)
    said = run("replay", log, "--layout", LAYOUT)[1].splitlines()
    assert [line.removeprefix(f"{log}:").split(":")[0] for line in said] == [
        str(first + 1),
        str(second + 1),
        str(len(lines)),
    ]


def test_a_log_without_records_is_one_line(lines: list[str], tmp_path: Path) -> None:
    code, said = run("replay", write(tmp_path, lines[:1]), "--layout", LAYOUT)
    assert (code, said.split(": ", 1)[1]) == (1, "the log holds no record that could be replayed")


def test_a_bad_layout_is_told_with_its_lines(tmp_path: Path) -> None:
    bad = tmp_path / "bad.yaml"
    bad.write_text(LAYOUT.read_text().replace("rearm: 2 s", "rearm: 2"))
    code, said = run("replay", LOG, "--layout", bad)
    assert code == 1
    assert said.startswith(f"{bad}:")
