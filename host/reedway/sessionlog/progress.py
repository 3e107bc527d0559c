"""How far long work has come, on stderr and only where somebody looks at a terminal."""

from __future__ import annotations

import sys
import time
from types import TracebackType

_EVERY_S = 0.2
_FIRST_S = 0.5  # what is done sooner shows nothing


class Progress:
    """`label 43 %`, written over itself and wiped at the end."""

    def __init__(self, label: str, total: int) -> None:
        self._label = label
        self._total = max(total, 1)
        self._shown = False
        self._next = time.monotonic() + _FIRST_S
        self._live = sys.stderr.isatty()

    def __enter__(self) -> Progress:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._shown:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()

    def at(self, done: int) -> None:
        """Say how much of the total is done; cheap enough for every thousandth line."""
        if not self._live or time.monotonic() < self._next:
            return
        self._next = time.monotonic() + _EVERY_S
        self._shown = True
        sys.stderr.write(f"\r{self._label} {min(100, 100 * done // self._total)} %\x1b[K")
        sys.stderr.flush()
