"""Measures an idle scan and a hit on CPython and on MicroPython beside a plain scan; a command, never a test.

    python tests/speed/scan.py

prints JSON: for each interpreter microseconds and heap bytes per idle scan and per hit, and the same of a
plain scan with one object per input over the same inputs in the same run. The plain scan only debounces: it
journals nothing, and a hit of it runs no rules. On MicroPython the logic is compiled as `build` compiles it.
"""

from __future__ import annotations

import json
import os
import platform
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
FIRMWARE = ROOT / "firmware"
sys.path[:0] = [str(ROOT / "host"), str(FIRMWARE)]

from reedway.boardfile.firmwarefiles import compile_module  # noqa: E402

SMALL_INT_BITS_HERE = 63  # of the MicroPython that runs on this machine
NATIVE_HERE = {"x86_64": "x64", "AMD64": "x64"}.get(platform.machine(), "")


def measured(command: list[str], variable: str, firmware: Path) -> object:
    environment = os.environ | {variable: f"{firmware}{os.pathsep}{HERE}"}
    whole = [*command, str(HERE / "measure_scan.py")]
    done = subprocess.run(whole, env=environment, capture_output=True, text=True)
    if done.returncode:
        sys.exit(f"{command[0]} stopped: {done.stderr.strip()[-400:]}")
    return json.loads(done.stdout)


def compiled(folder: Path) -> Path:
    (folder / "reedlogic").mkdir()
    for source in sorted((FIRMWARE / "reedlogic").glob("*.py")):
        made = compile_module(FIRMWARE, f"reedlogic/{source.name}", SMALL_INT_BITS_HERE, NATIVE_HERE)
        (folder / "reedlogic" / f"{source.stem}.mpy").write_bytes(made)
    return folder


def main() -> None:
    beside = Path(sys.executable).parent / "micropython"
    micropython = str(beside) if beside.is_file() else shutil.which("micropython")
    result: dict[str, object] = {"cpython": measured([sys.executable], "PYTHONPATH", FIRMWARE)}
    if micropython:
        with tempfile.TemporaryDirectory() as folder:
            command = [micropython, "-X", "heapsize=8m"]
            result["micropython"] = measured(command, "MICROPYPATH", compiled(Path(folder)))
    else:
        result["micropython"] = "not on this machine"
    print(json.dumps(result, indent=2))


if __name__ == "__main__":
    main()
