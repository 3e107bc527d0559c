"""`load` at a real MicroPython prompt: what changed, hashes, cables pulled anywhere, and every refusal."""

from __future__ import annotations

import hashlib
import io
import json
from collections.abc import Iterator
from contextlib import redirect_stderr
from pathlib import Path

import pytest

from board.bench import LAYOUT
from board.fakeboard import FakeBoard
from reedlogic import words as w
from reedway.board import client, ports
from reedway.board.loading import prompt, reaching
from reedway.board.loading.drives import find_drive
from reedway.board.loading.folder import Contents, contents_of
from reedway.board.loading.load import fetch_layout, load_board
from reedway.board.ports import PortGone
from reedway.cli import main
from reedway.problems import ReedwayError
from reedway.replay.machines import find_micropython

needs_board = pytest.mark.skipif(find_micropython() is None, reason="no MicroPython on this machine")
SHA = hashlib.sha256(b"layout").hexdigest()


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """A board that says nothing says so sooner."""
    monkeypatch.setattr(client, "TRIES", 2)
    monkeypatch.setattr(client, "ANSWER_S", 0.06)
    monkeypatch.setattr(prompt, "ENTER_S", 1.0)
    monkeypatch.setattr(prompt, "READ_S", 0.5)
    monkeypatch.setattr(prompt, "BETWEEN_S", 0.02)
    monkeypatch.setattr(reaching, "BACK_S", 3.0)
    monkeypatch.setattr(reaching, "REFUSAL_S", 0.05)


@pytest.fixture
def board(tmp_path: Path) -> Iterator[FakeBoard]:
    fake = FakeBoard(tmp_path)
    yield fake
    fake.pull_out()


def contents(version: str) -> Contents:
    """A small load: the files matter, not what is in them."""
    files = {
        "layout.rwb": b"RWB" + version.encode() * 700,
        "pins.py": f"TABLE = () # {version}\n".encode(),
        "layout.yaml": b"layout",
        "boot.py": f"# boot {version}\n".encode(),
        "main.py": b"# main\n",
        "reedlogic/one.mpy": bytes(range(256)) * 5,
        "reedboard/two.mpy": version.encode() * 40,
    }
    rows = [
        {"path": path, "bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
        for path, data in files.items()
    ]
    manifest = json.dumps({"layout_sha256": SHA, "version": version, "files": rows}).encode()
    return Contents("my.yaml", "Valley", SHA, "pico", "0.1.0", files | {"manifest.json": manifest})


def quiet(text: str) -> None:
    """Progress goes nowhere."""


@needs_board
def test_an_empty_board_gets_everything_and_then_only_what_changed(board: FakeBoard) -> None:
    loaded = load_board(board.port, contents("A"), quiet)
    assert board.files() == contents("A").files
    assert loaded.plan.write[0] == "boot.py" and loaded.plan.write[-2:] == ["main.py", "manifest.json"]
    assert (loaded.hello.cause, loaded.hello.mode) == ("reset asked for", w.M_BEFORE)
    again = load_board(board.port, contents("A"), quiet)
    assert again.plan.is_empty and len(again.plan.same) == 8
    third = load_board(board.port, contents("B"), quiet)
    assert third.plan.same == ["layout.yaml", "reedlogic/one.mpy"]
    assert board.files() == contents("B").files


@needs_board
def test_stale_files_go_and_those_of_others_stay(board: FakeBoard) -> None:
    own = {"my notes.txt": b"mine", "lib/other.py": b"x = 1\n"}
    board.put(own | {"reedlogic/one.py": b"raise ValueError\n", "load.new": b"half", "main.py": b"old"})
    board.pull_out()
    board.plug_in()
    loaded = load_board(board.port, contents("A"), quiet)
    assert set(loaded.plan.take_away) == {"main.py", "reedlogic/one.py"}
    assert sorted(loaded.plan.strangers) == sorted(own)
    assert board.files() == contents("A").files | own


def whole_or_nothing(folder: Path) -> None:
    """What a boot must find: no main.py, or boot.py and the other files of one load."""
    if not (folder / "main.py").exists():
        return
    assert (folder / "boot.py").exists(), "main.py would run without boot.py"
    for version in "AB":
        files = contents(version).files
        there = {path: (folder / path).read_bytes() for path in files if (folder / path).exists()}
        free = {
            path: files[path] for path in ("boot.py", "manifest.json")
        }  # these two import nothing of ours
        if there | free == files:
            return
    raise AssertionError("main.py would run a mixture")


def cut_at(mark: bytes, count: int):  # type: ignore[no-untyped-def]
    """Pull the cable when this has been sent so often."""
    seen = bytearray()

    def cut(data: bytes) -> bool:
        seen.extend(data)
        return seen.count(mark) >= count

    return cut


MARKS = {b"os.rename(": 1, b"w(b'": 1, b"os.remove(": 1, b"hashlib": 3}  # and every how many


@needs_board
@pytest.mark.parametrize("mark", MARKS, ids=["between files", "in a file", "taking away", "checking"])
def test_a_cable_pulled_anywhere_leaves_a_safe_board_and_the_next_load_ends_well(
    tmp_path: Path, mark: bytes
) -> None:
    for count in range(1, 60, MARKS[mark]):
        folder = tmp_path / str(count)
        folder.mkdir()
        board = FakeBoard(folder)
        board.put(contents("A").files)
        board.pull_out()
        board.on_boot = whole_or_nothing
        board.plug_in()
        board.cut = cut_at(mark, count)
        try:
            load_board(board.port, contents("B"), quiet)
        except PortGone as problem:
            assert "the board is safe" in str(problem) or "vanished" in str(problem)
            board.wait_gone()
            board.plug_in()
            load_board(board.port, contents("B"), quiet)
            done = False
        else:
            done = True  # the mark was not sent so often: every place was tried
        assert board.files() == contents("B").files and board.failed == []
        board.cut = None
        board.pull_out()
        if done:
            assert count > 1
            return
    raise AssertionError("there is no end to it")


@needs_board
def test_a_running_show_is_left_alone(board: FakeBoard) -> None:
    board.put(contents("A").files)
    for mode, says in ((w.M_RUNNING, "trains run, so nothing"), (w.M_STOPPED, "at stop, and .* ends it")):
        _in_mode(board, mode)
        with pytest.raises(ReedwayError, match=says):
            fetch_layout(board.port, board.folder / "new.yaml")
        if mode == w.M_RUNNING:
            with pytest.raises(ReedwayError, match="trains run, so nothing was touched; stop them"):
                load_board(board.port, contents("B"), quiet)
    assert board.files() == contents("A").files


def _in_mode(board: FakeBoard, mode: int) -> None:
    """Switched off and on, it says that it is in this mode."""
    board.mode = mode
    board.pull_out()
    board.plug_in()


@needs_board
def test_a_show_at_stop_ends_when_its_records_are_taken(board: FakeBoard) -> None:
    board.put(contents("A").files)
    _in_mode(board, w.M_STOPPED)
    assert board._bench
    board._bench.board.controller.journal.put(5, w.R_HIT, 0, 0)
    with pytest.raises(ReedwayError, match="stands at stop and the board holds 1 record that nobody"):
        load_board(board.port, contents("B"), quiet)
    assert board.files() == contents("A").files
    board._bench.board.controller.journal.drop(1)
    board.mode = w.M_BEFORE  # after the reset
    told: list[str] = []
    load_board(board.port, contents("B"), told.append)
    assert told[0].startswith("the show stood at stop and has ended")
    assert board.files() == contents("B").files


@needs_board
def test_records_of_a_fault_are_not_lost(board: FakeBoard) -> None:
    board.put(contents("A").files)
    _in_mode(board, w.M_FAULT)
    assert board._bench
    board._bench.board.controller.journal.put(5, w.R_FAULT, 0, w.F_RULE)
    with pytest.raises(ReedwayError, match="holds 1 record that nobody has taken; keep them with"):
        load_board(board.port, contents("B"), quiet)


@needs_board
def test_the_wrong_board_is_told(tmp_path: Path) -> None:
    board = FakeBoard(tmp_path, machine="Raspberry Pi Pico2 with RP2350")
    with pytest.raises(ReedwayError, match="this is a Pico 2, and my.yaml is for a Pico;.*board: pico2"):
        load_board(board.port, contents("A"), quiet)
    assert board.files() == {}
    board.pull_out()


@needs_board
def test_a_full_flash_is_told_before_anything_is_written(tmp_path: Path) -> None:
    board = FakeBoard(tmp_path, free=3)
    board.put({"pictures.bin": bytes(5000)})
    with pytest.raises(ReedwayError, match="flash is full: 36 KB are wanted, 12 KB are free.*pictures.bin"):
        load_board(board.port, contents("A"), quiet)
    assert board.files() == {"pictures.bin": bytes(5000)}
    board.pull_out()


@needs_board
def test_a_flash_that_fills_up_or_is_worn_out_is_told_and_leaves_no_main(board: FakeBoard) -> None:
    for values, says in (
        ({"writes": 3}, "flash is full: no room for reedlogic/one.mpy"),
        ({"writes": 10**6, "worn": 1}, "reedlogic/one.mpy: the board does not keep what is written"),
    ):
        board.put({"main.py": b"# of an earlier load\n", "boot.py": contents("A").files["boot.py"]})
        board.values |= values
        board.pull_out()
        board.plug_in()
        with pytest.raises(ReedwayError, match=says):
            load_board(board.port, contents("A"), quiet)
        assert "main.py" not in board.files()
    board.values["worn"] = 0
    board.pull_out()
    board.plug_in()
    load_board(board.port, contents("A"), quiet)
    assert board.files() == contents("A").files


@needs_board
def test_a_watchdog_that_runs_is_told(board: FakeBoard) -> None:
    board.values["watchdog"] = 1
    board.pull_out()
    board.plug_in()
    with pytest.raises(
        ReedwayError, match="a watchdog runs on the board; it cannot be stopped.*white button"
    ):
        load_board(board.port, contents("A"), quiet)
    assert board.files() == {}


@needs_board
def test_a_board_that_says_nothing_is_told_what_it_may_want(board: FakeBoard) -> None:
    board.is_silent = True
    with pytest.raises(ReedwayError, match="neither Reedway nor MicroPython answers.*RPI_PICO-"):
        load_board(board.port, contents("A"), quiet)


@needs_board
def test_a_newer_reedway_on_the_board_is_not_overwritten_unasked(board: FakeBoard) -> None:
    board.put(contents("A").files)
    board.firmware = b"9.1.0"
    board.pull_out()
    board.plug_in()
    with pytest.raises(ReedwayError, match="carries Reedway 9.1.0, newer .* --older"):
        load_board(board.port, contents("B"), quiet)
    board.firmware = b"0.1.0"
    load_board(board.port, contents("B"), quiet, accepts_newer=True)
    assert board.files() == contents("B").files


@needs_board
def test_the_command_loads_and_fetches(
    board: FakeBoard, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    layout = tmp_path / "bench.yaml"
    layout.write_bytes(LAYOUT)
    assert main(["load", str(layout), "--port", board.port, "--json"]) == 0
    out, err = capsys.readouterr()
    told = json.loads(out)
    assert told["verified_on_board"] and told["written"][0] == "boot.py" and "1/" in err
    assert board.files() == contents_of(str(layout)).files
    back = tmp_path / "back.yaml"
    assert main(["load", "--fetch", str(back), "--port", board.port]) == 0
    assert back.read_bytes() == LAYOUT
    assert "28" not in capsys.readouterr().err
    assert main(["load", "--fetch", str(back), "--port", board.port]) == 1
    assert "is there already" in capsys.readouterr().err
    folder = tmp_path / "built"
    assert main(["build", str(layout), "--out", str(folder)]) == 0
    assert main(["load", str(folder), "--port", board.port]) == 0
    assert "0 of " in capsys.readouterr().out


def test_virtual_says_what_would_be_loaded(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    layout = tmp_path / "bench.yaml"
    layout.write_bytes(LAYOUT)
    assert main(["load", str(layout), "--port", "virtual"]) == 0
    assert "nothing was written" in capsys.readouterr().out
    assert main(["load", str(layout), "--port", "virtual", "--json"]) == 0
    assert "boot.py" in json.loads(capsys.readouterr().out)["would_write"]
    for words in (["load"], ["load", str(layout), "--fetch", "x.yaml"]):
        assert main(words) == 1
        assert "wants one of two" in capsys.readouterr().err


def test_a_damaged_or_newer_folder_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    layout, folder = tmp_path / "bench.yaml", tmp_path / "built"
    layout.write_bytes(LAYOUT)
    assert main(["build", str(layout), "--out", str(folder)]) == 0
    (folder / "pins.py").write_text("TABLE = ()\n")
    with pytest.raises(ReedwayError, match="not as it was built"):
        contents_of(str(folder))
    manifest = folder / "manifest.json"
    manifest.write_text(manifest.read_text().replace('"reedway": "0.1.0"', '"reedway": "7.0.0"'))
    with pytest.raises(ReedwayError, match="built by Reedway 7.0.0, newer than this one"):
        contents_of(str(folder))
    capsys.readouterr()


def test_a_pico_without_micropython_is_seen_as_a_drive(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "INFO_UF2.TXT").write_text("UF2 Bootloader v3.0\nModel: X\nBoard-ID: RP2350\n")
    drive = find_drive([tmp_path / "nothing", tmp_path])
    assert drive and drive.board == "pico2"
    monkeypatch.setattr(ports.list_ports, "comports", list)
    monkeypatch.setattr(ports, "find_drive", lambda: drive)
    with pytest.raises(ReedwayError, match="a Pico 2 without MicroPython .* drag RPI_PICO2-.*not the file"):
        ports.find_port()


def test_the_marks_are_those_of_the_firmware() -> None:
    from reedboard import marks

    assert (prompt.MAGIC, prompt.RESET_MARK) == (marks.MAGIC, marks.RESET)
    assert prompt.MAINTENANCE_MARK == marks.MAINTENANCE


def test_progress_is_told_on_the_error_stream() -> None:
    from reedway.board.loading import commands

    err = io.StringIO()
    with redirect_stderr(err):
        commands._progress("half")
    assert err.getvalue() == "half\n"


@pytest.mark.parametrize(
    ("problem", "says"),
    [
        (PermissionError(13, "Permission denied"), "rights to the port"),
        (
            OSError("[Errno 11] Could not exclusively lock port x"),
            "holds the port, most likely a `reedway record`: end it",
        ),
        (OSError("no such file"), "cannot be opened; is the board plugged in"),
    ],
)
def test_a_port_that_does_not_open_is_one_line(
    monkeypatch: pytest.MonkeyPatch, problem: OSError, says: str
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise problem

    monkeypatch.setattr(ports.serial, "serial_for_url", refuse)
    with pytest.raises(ReedwayError, match=says) as raised:
        load_board("x", contents("A"), quiet)
    assert "\n" not in str(raised.value)


def test_two_boards_are_listed(monkeypatch: pytest.MonkeyPatch) -> None:
    class Found:
        vid = ports.MAKER

        def __init__(self, device: str) -> None:
            self.device = device

    monkeypatch.setattr(ports.list_ports, "comports", lambda: [Found("ttyB"), Found("ttyA")])
    with pytest.raises(ReedwayError, match=r"2 boards are plugged in \(ttyA, ttyB\); choose one with --port"):
        ports.find_port()
