"""Where the firmware and the example layouts lie, and how the host imports the ring that decides."""

from __future__ import annotations

import sys
from pathlib import Path

from reedway.shipped import shipped


def firmware_folder() -> Path:
    """The folder that holds reedlogic and reedboard."""
    return shipped("firmware")


def config_folder() -> Path:
    """The folder of example layouts, with their sessions in `sessions`."""
    return shipped("config")


def use_firmware() -> None:
    """Make `import reedlogic` find the firmware that comes with Reedway."""
    folder = str(firmware_folder())
    if folder not in sys.path:
        sys.path.append(folder)  # last: its boot.py and main.py must hide nothing
