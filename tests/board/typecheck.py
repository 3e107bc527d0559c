"""Checks the types of the firmware against the stubs of MicroPython on both boards.

python tests/board/typecheck.py [pico] [pico2]

The stubs of the two boards are the same files in two packages, so only those of the Pico are installed;
those of the Pico 2 lie in a folder of their own in the virtual environment (see Makefile).
"""

from __future__ import annotations

import subprocess
import sys
import sysconfig
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SKIPPED_STUBS = ("__builtins__",)
SITE = Path(sysconfig.get_paths()["purelib"])
STUBS = {"pico": SITE, "pico2": Path(sys.prefix, "stubs-pico2")}  # the folder with rp2/ and machine.pyi


def has_stubs(board: str) -> bool:
    """True when the stubs of this board are there."""
    return (STUBS[board] / "machine.pyi").exists()


def check(board: str) -> subprocess.CompletedProcess[str]:
    """Run mypy on the firmware with the stubs of a board in place of the standard library."""
    with tempfile.TemporaryDirectory() as folder:
        stubs = Path(folder, "stubs")
        stubs.mkdir()
        for stub in [*STUBS[board].glob("*.pyi"), STUBS[board] / "rp2", SITE / "_mpy_shed"]:
            if stub.stem not in SKIPPED_STUBS:
                (stubs / stub.name).symlink_to(stub)
        names = ",".join(f"{stub.stem},{stub.stem}.*" for stub in stubs.iterdir())
        # what `build` writes into the board folder
        Path(folder, "stubs", "pins.pyi").write_text("TABLE: tuple[int, ...]\n")
        config = Path(folder, "mypy.ini")
        config.write_text(
            "[mypy]\npython_version = 3.11\nstrict_optional = True\ncheck_untyped_defs = True\n"
            f"disallow_untyped_defs = True\nmypy_path = {stubs}:{ROOT / 'firmware'}\n"
            "explicit_package_bases = True\nwarn_unused_ignores = True\nfollow_imports = silent\n"
            f"custom_typeshed_dir = {SITE}\ncache_dir = {ROOT / '.mypy_cache' / board}\n"
            f"[mypy-{names}]\nignore_errors = True\n"  # faults of the stubs themselves
        )
        firmware = ROOT / "firmware"
        parts = ("reedboard", "boot.py", "main.py", "virtualboard.py")
        sources = [firmware / name for name in parts]
        return subprocess.run(
            [sys.executable, "-m", "mypy", "--config-file", config, *sources],
            capture_output=True,
            text=True,
            check=False,
            cwd=folder,
        )


def main(boards: list[str]) -> int:
    """Check these boards, all by default; the exit code of the worst."""
    worst = 0
    for board in boards or STUBS:
        if not has_stubs(board):
            print(f"{board}: no stubs in {STUBS[board]}; run `make lint`, which puts them there")
            worst = 1
            continue
        done = check(board)
        print(f"{board}: {done.stdout}{done.stderr}", end="")
        worst = max(worst, done.returncode)
    return worst


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
