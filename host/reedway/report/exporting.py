"""Writes an export to a file that was not there before; what breaks off half-way leaves none."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TextIO

from reedway.problems import ReedwayError

TERMINAL = "-"


def check_new(option: str, out: str, log: str) -> None:
    """Refuse an output that is the log, or that is there already."""
    if out == TERMINAL:
        return
    path = Path(out)
    if path.exists() and os.path.exists(log) and os.path.samefile(path, log):
        raise ReedwayError(f"{option} {out} is the log that is read; choose another file")
    if path.exists():
        raise ReedwayError(
            f"{option} {out} is there already; an export never replaces a file, choose another"
        )


@contextmanager
def new_file(option: str, out: str) -> Iterator[TextIO]:
    """A text file that was not there, or the terminal; gone again when writing it fails."""
    if out == TERMINAL:
        yield sys.stdout
        return
    try:
        file = open(out, "x", encoding="utf-8", newline="")  # noqa: SIM115 - closed below
    except FileExistsError:
        raise ReedwayError(f"{option} {out} is there already; choose another file") from None
    except OSError as problem:
        raise ReedwayError(f"{option} {out} cannot be written: {problem.strerror}") from None
    is_whole = False
    try:
        with file:
            yield file
        is_whole = True
    except OSError as problem:
        raise ReedwayError(f"{option} {out} cannot be written: {problem.strerror}") from None
    finally:
        if not is_whole:
            Path(out).unlink(missing_ok=True)
