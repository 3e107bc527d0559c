"""The MicroPython image that the tests of this folder boot, or the one line that says why they do not."""

from __future__ import annotations

import os
from pathlib import Path

import pytest


def image() -> Path:
    """The image that REEDWAY_PICO_UF2 names; without it, or without the emulator, the module is skipped."""
    name = os.environ.get("REEDWAY_PICO_UF2")
    if not name:
        pytest.skip("REEDWAY_PICO_UF2 names no MicroPython image", allow_module_level=True)
    if not Path(name).is_file():
        pytest.fail(f"REEDWAY_PICO_UF2: {name} is not there", pytrace=False)
    pytest.importorskip("rp2040py")
    pytest.importorskip("littlefs")
    return Path(name)
