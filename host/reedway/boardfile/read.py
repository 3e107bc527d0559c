"""Reads board files and folders back on the host; refuses what is damaged or does not fit together."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reedlogic import boardfile as b
from reedway.boardfile.build import BOARD_FILE, LAYOUT_FILE, PINS
from reedway.boardfile.manifest import Manifest, read_manifest
from reedway.boardfile.pinmodule import read_table
from reedway.boardfile.pintable import table_hash
from reedway.layout.build import hash_of
from reedway.problems import ReedwayError


@dataclass(frozen=True)
class BoardFile:
    """A board file that is whole."""

    plan: tuple[Any, ...]
    layout_sha256: str


def read_board_bytes(data: bytes, name: str) -> BoardFile:
    """ReedwayError says why a board file is refused."""
    try:
        plan = b.decode(data)
    except ValueError as error:
        raise ReedwayError(f"{name}: {error}; build it again") from error
    if table_hash(plan[b.PIN_TABLE]) != plan[b.PIN_HASH]:
        raise ReedwayError(f"{name}: board file: its pin table and its hash differ; build it again")
    return BoardFile(plan, b.layout_hash(data).hex())


def read_board_file(path: Path) -> BoardFile:
    """A board file on disk."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise ReedwayError(f"{path}: cannot be read ({error.strerror})") from error
    return read_board_bytes(data, str(path))


def check_folder(folder: Path) -> Manifest:
    """The manifest of a board folder in which every file is as it was built and all fit together."""
    manifest = read_manifest(folder)
    if not manifest.complete:
        raise ReedwayError(f"{folder}: the build was interrupted; build it again")
    board_file = read_board_file(folder / BOARD_FILE)
    if read_table(folder / PINS) != board_file.plan[b.PIN_TABLE]:
        raise ReedwayError(
            f"{folder / PINS}: its pins are not those of the board file, so the board would keep everything "
            f"off; change pins in the layout file and build again"
        )
    for row in manifest.files:
        path = folder / row["path"]
        try:
            data = path.read_bytes()
        except OSError as error:
            raise ReedwayError(f"{path}: cannot be read ({error.strerror}); build it again") from error
        if hashlib.sha256(data).hexdigest() != row["sha256"]:
            raise ReedwayError(f"{path}: changed since it was built; change the layout file and build again")
    _check_layout(folder, board_file, manifest)
    return manifest


def _check_layout(folder: Path, board_file: BoardFile, manifest: Manifest) -> None:
    source = (folder / LAYOUT_FILE).read_bytes()
    if not hash_of(source) == board_file.layout_sha256 == manifest.layout_sha256:
        raise ReedwayError(
            f"{folder}: board file and {LAYOUT_FILE} are not of the same layout; build it again"
        )
