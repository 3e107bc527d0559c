"""Writes a drawing over an older one, never over anything else: a slip in a name costs no layout, no log."""

from __future__ import annotations

import os
from pathlib import Path

from reedway.problems import ReedwayError

HEAD = b"<svg "  # every drawing of ours begins so


def check_drawing(path: str | os.PathLike[str]) -> None:
    """Refuse a name under which something else lies; before long work."""
    target = Path(path)
    if not target.is_file():
        return
    try:
        with open(target, "rb") as file:
            head = file.read(len(HEAD))
    except OSError as why:
        raise _unwritten(path, why) from None
    if head not in (b"", HEAD):
        raise ReedwayError(f"{path}: is there already and is no drawing of Reedway's; name another file")


def write_drawing(path: str | os.PathLike[str], text: str) -> None:
    """Write a drawing that the owner asked for."""
    check_drawing(path)
    try:
        Path(path).write_text(text, encoding="utf-8")
    except OSError as why:
        raise _unwritten(path, why) from None


def _unwritten(path: str | os.PathLike[str], why: OSError) -> ReedwayError:
    return ReedwayError(f"{path}: the drawing cannot be written: {why.strerror}; name another file")
