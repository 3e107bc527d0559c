"""The interpreter's prompt on a board, through mpremote: files, hashes, reset."""

from __future__ import annotations

import ast
import io
import struct
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, redirect_stdout
from dataclasses import dataclass

import serial
from mpremote.transport import TransportError, TransportExecError
from mpremote.transport_serial import SerialTransport

from reedway.board.ports import PortGone, open_port
from reedway.problems import ReedwayError

READ_S = 3.0
ENTER_S = 2.0  # for one try to get to the prompt
BETWEEN_S = 0.2
CHUNK_BYTES = 1024
NO_SPACE = 28  # ENOSPC on the board

# Marks of firmware/main.py in the watchdog's scratch register: a test compares them.
MAGIC, RESET_MARK, MAINTENANCE_MARK = 0x2D57, 2, 3
# Scratch register 0, and the control register with its enable bit (data sheets of both, "Watchdog").
_CHIP = """\
import sys
_watchdog = 0x400D8000 if "RP2350" in getattr(sys.implementation, "_machine", "") else 0x40058000
"""
_WHO = """\
import sys
print(repr((sys.platform, getattr(sys.implementation, "_machine", ""), sys.implementation[1][:3])))
"""
_DOG = _CHIP + "import machine\nprint(machine.mem32[_watchdog] >> 30 & 1)\n"
_RESET = _CHIP + "import machine\nmachine.mem32[_watchdog + 12] = {word}\nmachine.reset()\n"
_LIST = """\
import os, hashlib, binascii
_buffer = bytearray(512)
_view = memoryview(_buffer)
def _digest(path):
    hash = hashlib.sha256()
    with open(path, "rb") as file:
        while True:
            size = file.readinto(_buffer)
            if not size:
                return binascii.hexlify(hash.digest()).decode()
            hash.update(_view[:size])
def _tell(folder):
    for entry in os.ilistdir(folder) if folder else os.ilistdir():
        path = folder + "/" + entry[0] if folder else entry[0]
        if entry[1] & 0x4000:
            print(repr((path, -1, "")))
            _tell(path)
        else:
            size = os.stat(path)[6]
            print(repr((path, size, _digest(path) if _sizes.get(path) == size else "")))
_sizes = {sizes}
_tell("")
"""
_FREE = "import os\n_stat = os.statvfs('.')\nprint(repr((_stat[0], _stat[3])))\n"


@dataclass(frozen=True)
class Who:
    """What runs at the prompt."""

    platform: str  # "rp2" on the boards that we want
    machine: str  # "Raspberry Pi Pico with RP2040"
    version: tuple[int, ...]

    @property
    def board(self) -> str | None:
        """The board as a layout file names it, or None: neither of the two."""
        if self.platform != "rp2":
            return None
        return "pico2" if "RP2350" in self.machine else "pico"


@dataclass(frozen=True)
class OnBoard:
    """The files that are there: size, and the hash of those whose size was asked for; -1 for folders."""

    files: dict[str, tuple[int, str]]

    def folders(self) -> set[str]:
        return {path for path, (size, _) in self.files.items() if size < 0}


class FlashFull(ReedwayError):
    """The board's flash has no room."""


@contextmanager
def _told() -> Iterator[None]:
    """mpremote prints what it could not read, and lets errors of port and line through: one error of ours."""
    try:
        with redirect_stdout(io.StringIO()):
            yield
    except TransportExecError as problem:
        last = str(problem.error_output).strip().splitlines()[-1:]
        if f"OSError: {NO_SPACE}" in last or any("ENOSPC" in line for line in last):
            raise FlashFull("the board's flash is full") from None
        raise ReedwayError(f"the board could not do it: {''.join(last) or 'no reason given'}") from None
    except OSError as problem:
        if problem.errno == NO_SPACE:
            raise FlashFull("the board's flash is full") from None
        raise PortGone(f"the port has vanished ({problem})") from None
    except (TransportError, struct.error, serial.SerialException, ValueError, TypeError) as problem:
        raise PortGone(f"the board no longer answers at its prompt ({problem})") from None


class Prompt:
    """An open prompt. Every method raises PortGone when the board goes away, ReedwayError when it cannot."""

    def __init__(self, port: str) -> None:
        open_port(port).close()  # says in our words why it cannot be opened
        with _told():
            self._transport = SerialTransport(port, timeout=READ_S)
        try:
            with _told():
                self._transport.enter_raw_repl(soft_reset=False, timeout_overall=ENTER_S)
        except ReedwayError:
            self.close()
            raise

    def run(self, script: str) -> str:
        """Run it on the board; what it printed."""
        with _told():
            return str(self._transport.exec(script).decode("utf-8", "replace"))

    def who(self) -> Who:
        platform, machine, version = ast.literal_eval(self.run(_WHO).strip())
        return Who(str(platform), str(machine), tuple(version))

    def watchdog_runs(self) -> bool:
        """A running watchdog cannot be stopped and resets the board while files are written."""
        return self.run(_DOG).strip() == "1"

    def files(self, sizes: Mapping[str, int]) -> OnBoard:
        """Every file; with its hash where the size is the one that is wanted."""
        text = self.run(_LIST.replace("{sizes}", repr(dict(sizes))))
        rows = [ast.literal_eval(line) for line in text.splitlines() if line]
        return OnBoard({path: (size, digest) for path, size, digest in rows})

    def free_blocks(self) -> tuple[int, int]:
        """(bytes of a block, blocks that are free)."""
        size, free = ast.literal_eval(self.run(_FREE).strip())
        return int(size), int(free)

    def write(self, path: str, data: bytes) -> None:
        """Write a file as it is; no care for a file of that name."""
        with _told():
            self._transport.fs_writefile(path, data, chunk_size=CHUNK_BYTES)

    def read(self, path: str) -> bytes:
        with _told():
            return bytes(self._transport.fs_readfile(path))

    def digest(self, path: str) -> str:
        """sha256 in hex, worked out on the board."""
        with _told():
            return bytes(self._transport.fs_hashfile(path, "sha256")).hex()

    def rename(self, old: str, new: str) -> None:
        """Put a file in the place of another in one step (littlefs)."""
        self.run(f"import os\nos.rename({old!r}, {new!r})\n")

    def remove(self, path: str) -> None:
        self.run(f"import os\nos.remove({path!r})\n")

    def make_folder(self, path: str) -> None:
        self.run(f"import os\nos.mkdir({path!r})\n")

    def reset(self, mark: int) -> None:
        """Hard reset, saying why; the port goes away with it."""
        with _told():
            self._transport.exec_raw_no_follow(_RESET.replace("{word}", str(MAGIC << 16 | mark << 12)))
            time.sleep(BETWEEN_S)
        self.close()

    def close(self) -> None:
        try:
            self._transport.close()
        except (OSError, serial.SerialException):
            return  # it has gone before us


def wait_for_prompt(port: str, seconds: float) -> Prompt:
    """The prompt of a board that is just resetting."""
    end = time.monotonic() + seconds
    while True:
        try:
            return Prompt(port)
        except ReedwayError:
            if time.monotonic() > end:
                raise
            time.sleep(BETWEEN_S)
