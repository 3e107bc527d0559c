"""Measures an idle scan and a hit on CPython and on MicroPython beside a plain scan; a command, never a test.

    python tests/speed/scan.py

prints JSON: for each interpreter microseconds and heap bytes per idle scan and per hit, and the same of a
plain scan with one object per input over the same 26 inputs in the same run.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
FIRMWARE = HERE.parents[1] / "firmware"


def measured(command: list[str], paths: str) -> dict[str, object] | str:
    environment = os.environ | {paths: f"{FIRMWARE}{os.pathsep}{HERE}"}
    done = subprocess.run(
        [*command, str(HERE / "measure_scan.py")], env=environment, capture_output=True, text=True
    )
    if done.returncode:
        sys.exit(f"{command[0]} stopped: {done.stderr.strip()[-400:]}")
    figures: dict[str, object] = json.loads(done.stdout)
    return figures


def main() -> None:
    beside = Path(sys.executable).parent / "micropython"
    micropython = str(beside) if beside.is_file() else shutil.which("micropython")
    result: dict[str, object] = {"cpython": measured([sys.executable], "PYTHONPATH")}
    if micropython:
        result["micropython"] = measured([micropython, "-X", "heapsize=8m"], "MICROPYPATH")
    else:
        result["micropython"] = "not on this machine"
    print(json.dumps(result, indent=2))


if __name__ == "__main__":
    main()
