"""Writes the board folder: pin module, board file, names, layout file, firmware, manifest with hashes."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reedway import __version__
from reedway.boardfile.compile import Compiled
from reedway.boardfile.firmwarefiles import compiler_version, firmware_files
from reedway.boardfile.manifest import MANIFEST, Manifest, listed_files, read_manifest
from reedway.boardfile.pinmodule import pin_module
from reedway.problems import ReedwayError

BOARD_FILE, PINS, NAMES, LAYOUT_FILE = "layout.rwb", "pins.py", "names.json", "layout.yaml"


@dataclass(frozen=True)
class Built:
    """What was written where."""

    folder: Path
    files: list[dict[str, Any]]  # path, bytes, sha256
    removed: list[str]  # files of an earlier build that are none of this one


def board_contents(compiled: Compiled) -> dict[str, bytes]:
    """Every file of the board folder but the manifest."""
    layout = compiled.layout
    contents = {
        BOARD_FILE: compiled.board_file,
        PINS: pin_module(compiled.pins, layout.name, layout.sha256, layout.board).encode(),
        NAMES: compiled.names.to_json().encode(),
        LAYOUT_FILE: layout.source,
    }
    return contents | firmware_files()


def build_folder(compiled: Compiled, folder: Path) -> Built:
    """Write the board folder; an earlier build of ours is replaced, anything else is left alone."""
    old = earlier_build(folder)
    contents = board_contents(compiled)
    layout = compiled.layout
    manifest = Manifest(layout.name, layout.sha256, layout.board, __version__, compiler_version())
    manifest.files = [
        {"path": path, "bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
        for path, data in contents.items()
    ]
    stale = sorted(set(old) - set(contents))
    try:
        folder.mkdir(parents=True, exist_ok=True)
        # Should this be interrupted, the folder is still known as ours, and as not complete.
        both = [{"path": path, "bytes": 0, "sha256": ""} for path in [*contents, *stale]]
        _write(folder / MANIFEST, manifest.to_json(complete=False, files=both))
        for path, data in contents.items():
            (folder / path).parent.mkdir(exist_ok=True)
            (folder / path).write_bytes(data)
        for path in stale:
            (folder / path).unlink(missing_ok=True)
        _write(folder / MANIFEST, manifest.to_json(complete=True, files=manifest.files))
    except OSError as error:
        raise ReedwayError(f"{folder}: cannot be written ({error.strerror}); name another --out") from error
    return Built(folder, manifest.files, stale)


def earlier_build(folder: Path) -> list[str]:
    """The files of an earlier build in this folder; ReedwayError when it holds anything that is not ours."""
    try:
        if not folder.exists():
            return []
        if not folder.is_dir():
            raise ReedwayError(f"{folder}: this is a file; --out wants a new or empty folder")
        there = sorted(_files_in(folder))
        if not there:
            return []
        known = listed_files(read_manifest(folder)) if (folder / MANIFEST).is_file() else []
    except OSError as error:
        raise ReedwayError(f"{folder}: cannot be read ({error.strerror}); name another --out") from error
    strangers = [path for path in there if path not in known and path != MANIFEST]
    if strangers:
        some = ", ".join(strangers[:3]) + (" and more" if len(strangers) > 3 else "")
        raise ReedwayError(
            f"{folder}: holds files that reedway build did not write ({some}); "
            f"nothing was changed; name a new or empty folder"
        )
    return known


def _files_in(folder: Path) -> list[str]:
    return [path.relative_to(folder).as_posix() for path in folder.rglob("*") if not path.is_dir()]


def _write(path: Path, data: dict[str, Any]) -> None:
    path.write_text(json.dumps(data, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
