"""No record is lost or doubled, whether it comes alone or with others, at the ring's end, full or drained."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from logic import on_micropython

SCRIPT = on_micropython.HERE / "journal_ring.py"


@pytest.mark.parametrize("seed", ["1", "2"])
def test_a_ring_holds_what_a_list_would(tmp_path: Path, seed: str) -> None:
    environment = os.environ | {"PYTHONPATH": str(on_micropython.FIRMWARE)}
    command = [sys.executable, str(SCRIPT), "200", seed]
    here = subprocess.run(command, env=environment, capture_output=True, text=True, check=True).stdout
    assert here.startswith("alike")
    firmware = on_micropython.compiled(tmp_path, SCRIPT, on_micropython.NATIVE_HERE)
    assert on_micropython.run("journal_ring", "200", seed, firmware=firmware) == here
