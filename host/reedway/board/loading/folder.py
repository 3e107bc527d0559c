"""What is to go on the board: from a layout file, or from a folder of `reedway build`."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from pathlib import Path

from reedlogic import boardfile
from reedway import __version__
from reedway.boardfile.build import BOARD_FILE, LAYOUT_FILE, board_contents
from reedway.boardfile.firmwarefiles import compiler_version
from reedway.boardfile.manifest import MANIFEST, Manifest, read_manifest
from reedway.layout.checking import check_file
from reedway.problems import ReedwayError

BOOT, MAIN = "boot.py", "main.py"
OURS = ("reedlogic", "reedboard")  # folders on the board that hold nothing else


@dataclass(frozen=True)
class Contents:
    """Every file with its bytes; the manifest is one of them."""

    source: str  # as the owner gave it
    layout: str
    layout_sha256: str
    board: str
    reedway: str
    files: dict[str, bytes]


def contents_of(path: str) -> Contents:
    """Compile a layout file, or read a board folder and check its hashes."""
    return _from_folder(Path(path)) if Path(path).is_dir() else _from_layout(path)


def _from_layout(path: str) -> Contents:
    checked = check_file(path)
    layout = checked.layout
    files = board_contents(checked.compiled)
    manifest = Manifest(layout.name, layout.sha256, layout.board, __version__, compiler_version())
    return _whole(path, manifest, files)


def _from_folder(folder: Path) -> Contents:
    manifest = read_manifest(folder)
    if not manifest.complete:
        raise ReedwayError(f"{folder}: the build was broken off; run reedway build again")
    if is_newer(manifest.reedway):
        raise ReedwayError(
            f"{folder}: built by Reedway {manifest.reedway}, newer than this one ({__version__}); "
            "update Reedway on this computer, or build the folder anew"
        )
    files = {}
    for row in manifest.files:
        try:
            data = (folder / row["path"]).read_bytes()
        except OSError as problem:
            raise ReedwayError(
                f"{folder / row['path']}: cannot be read ({problem.strerror}); build the folder anew"
            ) from None
        if hashlib.sha256(data).hexdigest() != row["sha256"]:
            raise ReedwayError(f"{folder / row['path']}: not as it was built; build the folder anew")
        files[row["path"]] = data
    for path in (BOOT, MAIN, BOARD_FILE, LAYOUT_FILE):
        if path not in files:
            raise ReedwayError(f"{folder}: {path} is missing; build the folder anew")
    try:
        boardfile.decode(files[BOARD_FILE])
    except ValueError as problem:
        raise ReedwayError(f"{folder / BOARD_FILE}: {problem}; build the folder anew") from None
    return _whole(str(folder), manifest, files)


def _whole(source: str, manifest: Manifest, files: dict[str, bytes]) -> Contents:
    rows = [
        {"path": path, "bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
        for path, data in files.items()
    ]
    text = json.dumps(manifest.to_json(complete=True, files=rows), indent=1, ensure_ascii=False) + "\n"
    everything = files | {MANIFEST: text.encode()}
    return Contents(
        source, manifest.layout, manifest.layout_sha256, manifest.board, manifest.reedway, everything
    )


def is_newer(version: str) -> bool:
    """A version of Reedway that is newer than this one."""
    return _numbers(version) > _numbers(__version__)


def _numbers(version: str) -> list[int]:
    return [int(part) if part.isdigit() else 0 for part in version.split(".")]
