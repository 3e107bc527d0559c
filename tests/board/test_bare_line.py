"""The line's bare functions, compiled to instructions as for a board, and as plain Python: the same bytes."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from logic import on_micropython
from reedway.board.protocol import crc16
from reedway.boardfile.firmwarefiles import compile_module

SCRIPT = Path(__file__).with_name("line_bytes.py")
COUNT = "1500"
MODULES = ("reedlogic/bare.py", "reedboard/crc.py", "reedboard/sender.py", "reedboard/receiver.py")


def here(seed: str) -> str:
    environment = os.environ | {"PYTHONPATH": str(on_micropython.FIRMWARE)}
    command = [sys.executable, str(SCRIPT), COUNT, seed]
    return subprocess.run(command, env=environment, capture_output=True, text=True, check=True).stdout


@pytest.mark.parametrize("native", ["", on_micropython.NATIVE_HERE])
def test_lines_are_the_same_compiled_and_plain(tmp_path: Path, native: str) -> None:
    for module in MODULES:
        (tmp_path / module).parent.mkdir(exist_ok=True)
        made = compile_module(on_micropython.FIRMWARE, module, on_micropython.SMALL_INT_BITS_HERE, native)
        (tmp_path / module).with_suffix(".mpy").write_bytes(made)
    for seed in ("1", "2"):
        plain = here(seed)
        assert on_micropython.run(SCRIPT, COUNT, seed, firmware=tmp_path) == plain
        read = plain.splitlines()[1::2]
        assert 100 < sum(not line.startswith("refused") for line in read) < len(read) - 100


def test_the_computer_counts_the_same_checks() -> None:
    lines = [eval(line) for line in here("3").splitlines()[::2]]
    assert len(lines) == int(COUNT)
    for line in lines:
        body, trailer = line[:-1].rsplit(b"*", 1)
        assert trailer.decode() == f"{crc16(body):04X}{sum(body) & 0xFF:02X}", line
