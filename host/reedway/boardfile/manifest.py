"""The list of a board folder's files with their hashes: what is ours and what goes on the board."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import Any

from reedway.problems import ReedwayError

MANIFEST = "manifest.json"
FORMAT = 1


@dataclass
class Manifest:
    """As written into the board folder."""

    layout: str
    layout_sha256: str
    board: str
    reedway: str
    compiler: str
    files: list[dict[str, Any]] = field(default_factory=list)
    complete: bool = True

    def to_json(self, complete: bool, files: list[dict[str, Any]]) -> dict[str, Any]:
        return {
            "reedway_build": FORMAT,
            "complete": complete,
            "layout": self.layout,
            "layout_sha256": self.layout_sha256,
            "board": self.board,
            "reedway": self.reedway,
            "compiler": self.compiler,
            "files": files,
        }


def read_manifest(folder: Path) -> Manifest:
    """The manifest of a board folder; ReedwayError when there is none or it is damaged."""
    path = folder / MANIFEST
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise ReedwayError(f"{folder}: no {MANIFEST}; this is not a board folder of reedway build") from None
    except (OSError, ValueError, RecursionError) as error:
        raise ReedwayError(f"{path}: cannot be read ({error}); build into a new folder") from error
    if not isinstance(data, dict) or data.get("reedway_build") != FORMAT:
        raise ReedwayError(f"{path}: not a manifest of this reedway build; build into a new folder")
    try:
        files = [
            {"path": _inside(row["path"]), "bytes": int(row["bytes"]), "sha256": str(row["sha256"])}
            for row in data["files"]
        ]
        texts = {key: str(data[key]) for key in ("layout", "layout_sha256", "board", "reedway", "compiler")}
        return Manifest(**texts, files=files, complete=data["complete"] is True)
    except (KeyError, TypeError, ValueError) as error:
        raise ReedwayError(f"{path}: damaged ({error}); build into a new folder") from error


def _inside(path: object) -> str:
    """A path that stays in the folder."""
    pure = PurePosixPath(str(path))
    if pure.is_absolute() or ".." in pure.parts or "\\" in str(path):
        raise ValueError(f"the path {path} leads out of the folder")
    return str(pure)


def listed_files(manifest: Manifest) -> list[str]:
    return [row["path"] for row in manifest.files]
