"""A board to load: a folder for flash, MicroPython for this computer at its prompt, a cable that can be cut.

With main.py in the folder it runs the firmware's link on this interpreter, as the bench does; without, or in
maintenance, it is a real MicroPython at a real raw prompt. Reset, watchdog and chip are stand-ins.
"""

from __future__ import annotations

import json
import os
import select
import subprocess
import threading
import time
from collections.abc import Callable
from pathlib import Path

from board.bench import Bench
from reedway.replay.machines import find_micropython

# What a chip has and MicroPython for a computer has not; `reset` ends the process and says which mark it set.
PRELUDE = """\
import sys
import os as _os
_SCRATCH, _WATCHDOG = 0x4005800C, 0x40058000
class _Memory:
    def __init__(self):
        self.words = {_SCRATCH: 0, _WATCHDOG: %(watchdog)d << 30}
    def __getitem__(self, at):
        return self.words[at]
    def __setitem__(self, at, value):
        self.words[at] = value
class _Machine:
    mem32 = _Memory()
    def reset():
        with _open(%(mark)r, "w") as file:
            file.write(str(_Machine.mem32[_SCRATCH] >> 12 & 15))
        raise SystemExit
class _Implementation:
    _machine = %(machine)r
    def __getitem__(self, at):
        return ("micropython", (1, 28, 0, ""))[at]
class _Sys:
    platform = "rp2"
    implementation = _Implementation()
class _Os:
    def __getattr__(self, name):
        return getattr(_os, name)
    def statvfs(self, path):
        return (4096, 4096, 212, %(free)d)
_open, _writes = open, [%(writes)d]
class _Flash:
    def __init__(self, file):
        self.file = file
    def __enter__(self):
        return self
    def __exit__(self, *_):
        self.file.close()
    def write(self, data):
        _writes[0] -= 1
        if _writes[0] < 0:
            raise OSError(28)
        if %(worn)d:
            data = data[:-1] + b"?"
        return self.file.write(data)
    def close(self):
        self.file.close()
def open(path, mode="r"):
    return _Flash(_open(path, mode)) if "w" in mode else _open(path, mode)
sys.modules["machine"] = _Machine
sys.modules["os"] = _Os()
sys.modules["sys"] = _Sys
"""
MAINTENANCE = "3"
PUMP_BYTES = 4096


class FakeBoard:
    """`port` is what a computer opens. `cut` sees what the computer sends; True pulls the cable there."""

    def __init__(self, folder: Path, machine: str = "Raspberry Pi Pico with RP2040", free: int = 200) -> None:
        self.folder = folder / "flash"
        self.folder.mkdir(exist_ok=True)
        self._mark = folder / "mark"
        self._prelude = folder / "prelude.py"
        self.values = {"machine": machine, "free": free, "watchdog": 0, "mark": str(self._mark)}
        self.values |= {"writes": 10**6, "worn": 0}  # writes until the flash is full; what is written differs
        self.cut: Callable[[bytes], bool] | None = None
        self.on_boot: Callable[[Path], None] | None = None
        self.failed: list[str] = []  # what on_boot did not like
        self.mode = 0
        self.firmware = b"0.1.0"
        self.is_silent = False  # nothing answers at all
        self._child: subprocess.Popen[bytes] | None = None
        self._bench: Bench | None = None
        self._end = threading.Event()
        self.plug_in()

    # -- the cable ----------------------------------------------------------------------------------------

    def plug_in(self) -> None:
        """Power comes, and the port with it."""
        import pty
        import tty

        self._line, self._held = pty.openpty()
        tty.setraw(self._held)
        self.port = os.ttyname(self._held)
        self._end = threading.Event()
        self._boot("")
        self._thread = threading.Thread(target=self._pump, daemon=True)
        self._thread.start()

    def pull_out(self) -> None:
        """Power and port go."""
        self._end.set()
        if self._thread is not threading.current_thread():
            self._thread.join(5)
        self._stop_child()
        for fd in (self._line, self._held):
            os.close(fd)

    def _stop_child(self) -> None:
        if self._child is not None:
            self._child.kill()
            self._child.wait()
            os.close(self._talk)
            self._child = None

    # -- what runs ----------------------------------------------------------------------------------------

    def _boot(self, mark: str) -> None:
        """boot.py and main.py, as far as a computer goes."""
        self._stop_child()
        if self.on_boot is not None:
            try:
                self.on_boot(self.folder)
            except AssertionError as problem:
                self.failed.append(str(problem))
        manifest = self.folder / "manifest.json"
        if (self.folder / "main.py").exists() and mark != MAINTENANCE:
            self._bench = Bench()
            said = json.loads(manifest.read_text())["layout_sha256"] if manifest.exists() else "0" * 64
            self._bench.link.sender.set_texts((self.firmware, b"2040", said.encode()))
            self._bench.board.reset_cause = 3 if mark else 0
            self._bench.board.logic.mode = self.mode
            return
        self._bench = None
        self._prelude.write_text(PRELUDE % self.values)
        import pty
        import tty

        self._talk, inner = pty.openpty()
        tty.setraw(inner)
        self._child = subprocess.Popen(
            [str(find_micropython()), "-i", str(self._prelude)],
            stdin=inner,
            stdout=inner,
            stderr=inner,
            cwd=self.folder,
            env=os.environ | {"MICROPYPATH": ""},
        )
        os.close(inner)

    def _pump(self) -> None:
        while not self._end.is_set():
            fds = [self._line] + ([self._talk] if self._child else [])
            ready, _, _ = select.select(fds, [], [], 0.02)
            if self._line in ready:
                data = os.read(self._line, PUMP_BYTES)
                if self.cut is not None and self.cut(data):
                    self.cut = None
                    threading.Thread(target=self.pull_out, daemon=True).start()
                    return
                self._to_board(data)
            if self._child and self._talk in ready:
                self._from_child()

    def _to_board(self, data: bytes) -> None:
        if self.is_silent:
            return
        if self._child:
            os.write(self._talk, data)
            return
        assert self._bench
        self._bench.pins.to_board.extend(data)
        sent = self._bench.talk()
        mark = self._bench.board.reset_to
        if sent and not mark:
            os.write(self._line, sent)
        if mark:
            self._boot(str(mark))

    def _from_child(self) -> None:
        try:
            data = os.read(self._talk, PUMP_BYTES)
        except OSError:  # the process has ended: a reset
            mark = self._mark.read_text() if self._mark.exists() else ""
            self._mark.unlink(missing_ok=True)
            self._boot(mark)
            return
        os.write(self._line, data)

    def files(self) -> dict[str, bytes]:
        """What is in the flash."""
        return {
            path.relative_to(self.folder).as_posix(): path.read_bytes()
            for path in self.folder.rglob("*")
            if path.is_file()
        }

    def put(self, files: dict[str, bytes]) -> None:
        """Write into the flash by hand."""
        for path, data in files.items():
            (self.folder / path).parent.mkdir(parents=True, exist_ok=True)
            (self.folder / path).write_bytes(data)

    def wait_gone(self) -> None:
        """Until a cable that was cut is out."""
        for _ in range(200):
            if not self._thread.is_alive() and self._child is None:
                return
            time.sleep(0.01)
