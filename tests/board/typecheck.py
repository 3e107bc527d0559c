"""Checks the types of the firmware against the stubs of MicroPython on the boards.

python tests/board/typecheck.py
"""

from __future__ import annotations

import subprocess
import sys
import sysconfig
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SKIPPED_STUBS = ("__builtins__",)


def check() -> subprocess.CompletedProcess[str]:
    """Run mypy on reedboard, boot.py and main.py with the stub packages in place of the standard library."""
    site = Path(sysconfig.get_paths()["purelib"])
    with tempfile.TemporaryDirectory() as folder:
        stubs = Path(folder, "stubs")
        stubs.mkdir()
        for stub in [*site.glob("*.pyi"), site / "rp2", site / "_mpy_shed"]:
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
            f"custom_typeshed_dir = {site}\ncache_dir = {ROOT / '.mypy_cache' / 'firmware'}\n"
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


if __name__ == "__main__":
    done = check()
    print(done.stdout + done.stderr, end="")
    sys.exit(done.returncode)
