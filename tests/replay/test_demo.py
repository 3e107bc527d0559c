"""The demo: its last line counts from the two files, and one byte changed in either is found."""

from __future__ import annotations

import io
import json
from pathlib import Path
from types import SimpleNamespace

import pytest

from reedway.layout.load import load
from reedway.replay import demo, film
from reedway.replay.machines import find_micropython
from reedway.replay.picture import Live, Picture
from reedway.sessionlog.header import Header
from reedway.sessionlog.reader import Line, LogReader
from reedway.sessionlog.tell import Teller
from replay.command import run

Captured = pytest.CaptureFixture[str]
LAYOUT, LOG = demo.demo_files()
RECORDS = len(LOG.read_text().splitlines()) - 1
LAST = f"{RECORDS:,} records identical on MicroPython and CPython"
needs_micropython = pytest.mark.skipif(find_micropython() is None, reason="no MicroPython for this machine")


def change_one_byte(path: Path, at: int) -> None:
    data = bytearray(path.read_bytes())
    data[at] ^= 1
    path.write_bytes(data)


@needs_micropython
def test_the_demo_shows_everything_and_counts_last(tmp_path: Path, capsys: Captured) -> None:
    assert demo.run_demo(tmp_path) == 0
    out = capsys.readouterr().out
    lines = out.splitlines()
    assert lines[-1] == LAST
    assert "magnet at rest on N" in out
    assert "a relay would have held the coil" in out
    assert "my.yaml:" in out
    assert "reedway new" in out
    assert max(map(len, lines)) <= 80
    assert "\x1b" not in out  # nobody watches


@needs_micropython
@pytest.mark.parametrize("which", [0, 1])
@pytest.mark.parametrize("at", [20, 5000, -1])
def test_one_byte_changed_in_either_file_is_found(
    which: int, at: int, tmp_path: Path, capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(demo, "_show", lambda *_: None)
    monkeypatch.setattr(demo, "_tell", lambda *_: None)

    def tamper(both: demo.Both) -> None:
        changed = both[which]
        assert changed is not None
        change_one_byte(changed, at)

    assert demo.run_demo(tmp_path, tamper) == 1
    lines = capsys.readouterr().out.splitlines()
    assert lines[-2].startswith("MicroPython and CPython differ: line ")
    assert lines[-1] != LAST or at == 20  # the first line is no record, and is compared all the same


@needs_micropython
def test_kept_files_are_compared_again(tmp_path: Path, capsys: Captured) -> None:
    demo.write_both(tmp_path)
    assert run("demo", "--compare-only", tmp_path) == (0, "")
    assert capsys.readouterr().out.splitlines()[-1] == LAST
    change_one_byte(tmp_path / "micropython.jsonl", 3000)
    assert run("demo", "--compare-only", tmp_path) == (1, "")
    out = capsys.readouterr().out
    assert "host.jsonl has {" in out
    assert f"{RECORDS - 1:,} records identical" in out


@needs_micropython
def test_the_demo_in_json(tmp_path: Path, capsys: Captured) -> None:
    assert run("demo", "--json", "--keep", tmp_path / "new" / "folder") == (0, "")
    found = json.loads(capsys.readouterr().out)
    assert found["same"] is True
    assert found["identical"] == found["first"] == found["second"] == RECORDS
    assert (tmp_path / "new" / "folder" / "host.jsonl").read_bytes() == LOG.read_bytes()


def test_nothing_to_compare_is_one_line(tmp_path: Path) -> None:
    code, said = run("demo", "--compare-only", tmp_path)
    assert code == 1
    assert said == f"{tmp_path / 'host.jsonl'}: cannot be read: No such file or directory"


def test_without_micropython_the_host_half_is_shown(
    tmp_path: Path, capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(demo, "find_micropython", lambda: None)
    assert demo.run_demo(tmp_path) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[-1] == f"{RECORDS:,} records made by CPython, compared with nothing"
    assert not (tmp_path / "micropython.jsonl").exists()


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(
    ("set_to", "moving", "colours"),
    [
        ({}, True, True),
        ({"NO_COLOR": "1"}, True, False),
        ({"NO_COLOR": ""}, True, True),
        ({"TERM": "dumb"}, False, False),
    ],
)
def test_a_terminal_moves_and_no_color_is_honoured(
    set_to: dict[str, str], moving: bool, colours: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """no-color.org: NO_COLOR when present and not empty means no ANSI colour."""
    for name, value in ({"TERM": "xterm", "COLUMNS": "80", "LINES": "30"} | set_to).items():
        monkeypatch.setenv(name, value)
    if "NO_COLOR" not in set_to:
        monkeypatch.delenv("NO_COLOR", raising=False)
    screen = film.screen_of(Terminal())
    assert (screen.moving, screen.colours) == (moving, colours)
    monkeypatch.setenv("COLUMNS", "60")
    assert not film.screen_of(Terminal()).moving
    nobody = film.screen_of(io.StringIO())
    assert (nobody.moving, nobody.colours) == (False, False)


def line(t: int, kind: str, name: str, value: int) -> Line:
    return Line(2, 0, t, kind, name, value)


def test_names_in_the_drawing_are_lit_by_their_state() -> None:
    layout = load(str(LAYOUT))
    live = Live(layout, Teller())
    for record in (
        line(0, "hit", "N1", 0),
        line(0, "feed", "Mill", 1),
        line(0, "position", "exit", 1),
        line(10, "rest", "N4", 0),
    ):
        live.take(record)
    drawing = "\n".join(Picture(layout, colours=True).lit(live.states(10)))
    assert "\x1b[30;43mN1\x1b[0m" in drawing
    assert "\x1b[1;97;41mN4\x1b[0m" in drawing
    assert "\x1b[1;32mMill Halt\x1b[0m (\x1b[1;32mMill\x1b[0m)" in drawing
    assert "\x1b[1;35mexit\x1b[0m" in drawing
    assert " N2 " in drawing  # open: not lit
    plain = Picture(layout, colours=False).lit(live.states(10))
    assert plain == layout.drawing


def test_a_hit_glows_for_a_while() -> None:
    live = Live(load(str(LAYOUT)), Teller())
    live.take(line(1000, "hit", "N1", 0))
    live.take(line(1050, "opening", "N1", 0))
    assert live.states(3999)["N1"] == "hit"
    assert live.states(4000)["N1"] == "open"


def test_the_film_keeps_its_time_and_its_place(monkeypatch: pytest.MonkeyPatch) -> None:
    now = [100.0]
    clock = SimpleNamespace(monotonic=lambda: now[0], sleep=lambda s: now.__setitem__(0, now[0] + s))
    monkeypatch.setattr(film, "time", clock)  # the film's alone: threads of other tests go on by the real one
    layout = load(str(LAYOUT))
    lines = list(LogReader(LOG))
    out = Terminal()
    screen = film.Screen(out, moving=True, colours=False)
    header: Header = LogReader(LOG).header
    film.show(lines, header, Picture(layout, False), Live(layout, Teller()), screen, 18.0)
    assert now[0] - 100 == pytest.approx(18.0, abs=0.2)
    assert lines == []  # everything was shown
    text = out.getvalue()
    assert text.startswith("\x1b[?25l") and text.endswith("\x1b[?25h\x1b[0m")
    assert "N4 at rest" in text
