"""Names of our own: no committed text names the machine it was written on, no package hides a module."""

import re
import subprocess
import sys

import pytest

from house import source

# Roots of places that exist on one machine only; spelled in parts, so that this file passes too.
MACHINE_PLACES = re.compile("|".join("/" + root + "/" for root in ("work", "home", "Users", "root", "tmp")))
TEXT_ENDINGS = {".py", ".md", ".yaml", ".yml", ".toml", ".json", ".jsonl", ".txt", ""}


def committed() -> list[str]:
    try:
        done = subprocess.run(["git", "ls-files", "-z"], cwd=source.ROOT, capture_output=True, check=True)
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("not a git checkout")
    return [name for name in done.stdout.decode().split("\0") if name]


def test_no_machine_is_named() -> None:
    found = []
    for name in committed():
        path = source.ROOT / name
        if path.suffix not in TEXT_ENDINGS or not path.is_file():
            continue
        for number, line in enumerate(path.read_text(encoding="utf-8", errors="replace").splitlines(), 1):
            if MACHINE_PLACES.search(line):
                found.append(f"{name}:{number}: {line.strip()[:60]}")
    assert found == []


def test_our_packages_hide_no_standard_module() -> None:
    ours = {p.name for folder in ("firmware", "host") for p in (source.ROOT / folder).iterdir() if p.is_dir()}
    ours |= {p.stem for p in source.files("firmware/reedlogic") + source.files("firmware/reedboard")}
    # A module of the board is imported by its package, but a bare file name must not hide one on the board.
    assert (ours & {"reedlogic", "reedboard", "reedway"}) >= {"reedlogic", "reedway"}
    assert not {name for name in ours if name in sys.stdlib_module_names and name not in ("__init__",)}
