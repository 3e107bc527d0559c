"""Where the files that come with Reedway lie: in the installed package, else in the checkout."""

from __future__ import annotations

from pathlib import Path

from reedway.problems import ReedwayError

_PACKAGE = Path(__file__).resolve().parent
_CHECKOUT = _PACKAGE.parents[1]


def shipped(folder: str) -> Path:
    """The folder `config` or `firmware`, whichever way Reedway was installed."""
    packaged = _PACKAGE / f"_{folder}"
    for candidate in (packaged, _CHECKOUT / folder):
        if candidate.is_dir():
            return candidate
    raise ReedwayError(
        f"the folder '{folder}' that comes with Reedway is missing ({packaged}); "
        "this installation is damaged; repair it with: python -m pip install --force-reinstall reedway"
    )
