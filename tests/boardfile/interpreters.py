"""Runs a few lines of Python in a real MicroPython, with the firmware on its path."""

from __future__ import annotations

import subprocess

import pytest

from reedway.replay.machines import find_micropython
from reedway.resources import firmware_folder

needs_micropython = pytest.mark.skipif(find_micropython() is None, reason="no MicroPython for this machine")


def micropython(program: str, *paths: str) -> str:
    """What the program prints; it fails the test when MicroPython does."""
    interpreter = find_micropython()
    assert interpreter is not None
    done = subprocess.run(
        [interpreter, "-c", program],
        env={"MICROPYPATH": ":".join([*paths, str(firmware_folder())])},
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout
