"""Opens the port of a board: a name, a pyserial URL, or the one board that is plugged in."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Protocol

import serial
from serial.tools import list_ports

from reedway.board.loading.drives import drive_advice, find_drive
from reedway.problems import ReedwayError

MAKER = 0x2E8A  # USB vendor number of both boards (their data sheets, "USB")
READ_S = 0.02
WHY_MAX = 40
HINTS = {
    "linux": "are missing: `sudo usermod -aG {group} $USER`, then log out and in again",
    "darwin": "are missing: close the program that holds it, or use its /dev/cu. name",
    "win32": "are missing: close the program that holds it",
}


class Port(Protocol):
    """What the talk with a board needs."""

    def read(self, size: int = 1) -> bytes: ...
    def write(self, data: bytes, /) -> int | None: ...
    def close(self) -> None: ...


class PortGone(ReedwayError):
    """The port has vanished: unplugged, or the board resets."""


def find_port() -> str:
    """The one board that is plugged in."""
    boards = [port for port in list_ports.comports() if port.vid == MAKER]
    if len(boards) == 1:
        return str(boards[0].device)
    if boards:
        names = ", ".join(sorted(str(port.device) for port in boards))
        raise ReedwayError(f"{len(boards)} boards are plugged in ({names}); choose one with --port")
    drive = find_drive()
    if drive is not None:
        raise ReedwayError(drive_advice(drive))
    raise ReedwayError(
        "no board found; if it shows up as a drive it has no MicroPython yet, if not at all the cable may be "
        "one for charging only: try another; a port can be named with --port, `--port virtual` needs no board"
    )


def open_port(name: str) -> Port:
    """A serial port by name or URL."""
    try:
        return serial.serial_for_url(name, timeout=READ_S, write_timeout=2, exclusive=True)
    except PermissionError:
        raise ReedwayError(_no_right(name)) from None
    except (serial.SerialException, ValueError, OSError) as problem:
        text = str(problem)
        if "Permission denied" in text or "Access is denied" in text:
            raise ReedwayError(_no_right(name)) from None
        if "exclusively lock" in text or "busy" in text:
            raise ReedwayError(
                f"{name}: another program holds the port, most likely a `reedway record`: end it there with "
                "`q`; or a `walk`, a `load`, or a terminal program: close it"
            ) from None
        raise ReedwayError(f"{name}: the port cannot be opened; is the board plugged in?") from None


def _no_right(name: str) -> str:
    hint = HINTS.get(sys.platform, HINTS["win32"])
    return f"{name}: rights to the port {hint.format(group=_group_of(name))}"


def _group_of(name: str) -> str:
    """The group that may use the port; most Linux systems call it dialout, some uucp."""
    try:
        return Path(name).group()
    except (OSError, KeyError, NotImplementedError):
        return "dialout"


def read_some(port: Port) -> bytes:
    """What has come, after a short wait at most."""
    try:
        first = port.read(1)
        waiting = getattr(port, "in_waiting", 0)
        return first + port.read(min(waiting, 4096)) if first and waiting else first
    except (serial.SerialException, OSError, TypeError) as problem:
        raise PortGone(_vanished(problem)) from None


def write_all(port: Port, data: bytes) -> None:
    """Send a line."""
    try:
        port.write(data)
    except (serial.SerialException, OSError) as problem:
        raise PortGone(_vanished(problem)) from None


def _vanished(problem: Exception) -> str:
    """With the system's word for it, without the guesses of a library."""
    why = str(problem)
    return "the port has vanished" + (f" ({why})" if 0 < len(why) <= WHY_MAX else "")
