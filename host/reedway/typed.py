"""A path as it has to be typed behind a command, so that a next step works as it is printed."""

from __future__ import annotations

import os
import shlex
import sys


def typed(path: str | os.PathLike[str]) -> str:
    """With quotes where the shell wants them."""
    text = os.fspath(path)
    if sys.platform != "win32":
        return shlex.quote(text)
    return f'"{text}"' if set(text) & set(" &()^;,=") else text
