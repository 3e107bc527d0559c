"""A cable from the emulated chip to a port of this computer, and a clock that goes with the chip's time."""

from __future__ import annotations

import contextlib
import os
import pty
import threading
import time as wall
import tty
from pathlib import Path
from typing import Any

from pico.chip import Chip

STEP_MS = 2
BYTES = 64  # a packet of the line at full speed


class Cable:
    """Runs the chip in a thread of its own; `port` is what a computer opens."""

    def __init__(self, chip: Chip, folder: Path) -> None:
        self.chip = chip
        self._line, self._held = pty.openpty()
        tty.setraw(self._held)
        os.set_blocking(self._line, False)
        self.port = str(folder / "port")  # not a /dev/pts name: mpremote waits longer on these
        os.symlink(os.ttyname(self._held), self.port)
        chip.device.cdc.on_serial_data = self._from_chip
        self._end = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def _from_chip(self, data: Any) -> None:
        os.write(self._line, bytes(data))

    def _run(self) -> None:
        while not self._end.is_set():
            with contextlib.suppress(BlockingIOError):
                self.chip.send(os.read(self._line, BYTES))
            self.chip.run(STEP_MS)

    def close(self) -> None:
        self._end.set()
        self._thread.join(60)
        os.close(self._line)
        os.close(self._held)


class ChipTime:
    """The module `time` for who waits for the chip: its seconds are the chip's."""

    def __init__(self, chip: Chip) -> None:
        self._chip = chip

    def monotonic(self) -> float:
        return self._chip.now_ms / 1000

    def sleep(self, _: float) -> None:
        wall.sleep(0.005)
