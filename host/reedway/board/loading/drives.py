"""A Pico without MicroPython shows up as a drive: find it, and say which file it wants."""

from __future__ import annotations

import string
import sys
from dataclasses import dataclass
from pathlib import Path

# Text file that the chip's own boot drive holds (UF2 file format, "INFO_UF2.TXT"; board names from memory).
INFO = "INFO_UF2.TXT"
BOARD_IDS = {"RPI-RP2": "pico", "RP2350": "pico2"}
# Images and their pages on micropython.org.
IMAGES = {"pico": "RPI_PICO", "pico2": "RPI_PICO2"}
BOARD_WORDS = {"pico": "Pico", "pico2": "Pico 2"}


@dataclass(frozen=True)
class Drive:
    """The drive of a board: where it is mounted and which board it is."""

    path: Path
    board: str  # "pico" or "pico2"


def mount_points() -> list[Path]:
    """Where this system shows drives that are plugged in."""
    if sys.platform == "win32":
        return [Path(f"{letter}:/") for letter in string.ascii_uppercase[3:]]
    folders = ("/Volumes",) if sys.platform == "darwin" else ("/media", "/run/media", "/mnt")
    found = []
    for folder in folders:
        found += [*Path(folder).glob("*"), *Path(folder).glob("*/*")]
    return found


def find_drive(places: list[Path] | None = None) -> Drive | None:
    """The first drive of a board that waits for MicroPython, or None."""
    for place in mount_points() if places is None else places:
        try:
            text = (place / INFO).read_text(encoding="ascii", errors="replace")
        except OSError:
            continue
        for line in text.splitlines():
            key, _, value = line.partition(":")
            if key.strip() == "Board-ID" and value.strip() in BOARD_IDS:
                return Drive(place, BOARD_IDS[value.strip()])
    return None


def image_advice(board: str) -> str:
    """Which file a board wants: `RPI_PICO-....uf2 from micropython.org/download/RPI_PICO`."""
    return f"{IMAGES[board]}-....uf2 from micropython.org/download/{IMAGES[board]}"


def drive_advice(drive: Drive) -> str:
    """What to do with a board that has no MicroPython yet."""
    other = "pico2" if drive.board == "pico" else "pico"
    return (
        f"a {BOARD_WORDS[drive.board]} without MicroPython is plugged in as the drive {drive.path}; "
        f"drag {image_advice(drive.board)} onto it, wait until the drive goes away, and try again "
        f"(not the file for the {BOARD_WORDS[other]}: that does not start)"
    )
