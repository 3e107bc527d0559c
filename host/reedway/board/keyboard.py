"""Single keys from a terminal, without waiting and without Enter; the terminal is put back at the end."""

from __future__ import annotations

import contextlib
import os
import sys
from types import TracebackType
from typing import Any


class Keyboard:
    """In a `with`: key() is the next key pressed or ''. Where there is no terminal there are no keys."""

    def __init__(self, is_on: bool = True) -> None:
        self.is_on = is_on and sys.stdin is not None and sys.stdin.isatty()
        self._kept: Any = None

    def __enter__(self) -> Keyboard:
        if self.is_on and sys.platform != "win32":
            import termios
            import tty

            self._kept = termios.tcgetattr(sys.stdin)
            tty.setcbreak(sys.stdin)  # Ctrl-C stays an interrupt
        return self

    def key(self) -> str:
        """The next key, at once."""
        if not self.is_on:
            return ""
        if sys.platform == "win32":
            import msvcrt

            return msvcrt.getwch() if msvcrt.kbhit() else ""
        import select

        if not select.select([sys.stdin], [], [], 0)[0]:
            return ""
        data = os.read(sys.stdin.fileno(), 1)
        if not data:  # the terminal has gone
            self.is_on = False
        return data.decode("latin-1")

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._kept is not None:
            import termios

            with contextlib.suppress(termios.error, OSError):
                termios.tcsetattr(sys.stdin, termios.TCSADRAIN, self._kept)
