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


def run(script: Path | str, *arguments: str, heap: str = "32m", firmware: Path = FIRMWARE) -> str:
    """What a script prints, or a compiled module (given by its bare name) of the firmware folder."""
    environment = os.environ | {"MICROPYPATH": f"{firmware}:{HERE.parent}"}
    what = [str(script)] if isinstance(script, Path) else ["-m", script]
    command = [program(), "-X", f"heapsize={heap}", *what, *arguments]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stdout[-500:] + done.stderr[-2000:]
    return done.stdout


def compiled(folder: Path, script: Path) -> Path:
    """The logic and a script compiled to .mpy below `folder`, as they go on a board."""
    compiler = program("mpy-cross")
    (folder / "reedlogic").mkdir()
    sources = {f"reedlogic/{source.stem}": source for source in sorted((FIRMWARE / "reedlogic").glob("*.py"))}
    for name, source in {**sources, script.stem: script}.items():
        command = [compiler, "-s", f"{name}.py", "-o", str(folder / f"{name}.mpy"), str(source)]
        subprocess.run(command, check=True, timeout=60)
    return folder
