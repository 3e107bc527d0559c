"""Tells the board over and over that a computer is there, also while the owner thinks."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable

from reedway.problems import ReedwayError

EVERY_S = 0.5  # four in the time that the board waits


class Watch:
    """A thread from begin() to end(): it stops with its program, and stands still when that is suspended.

    `wait` takes seconds and returns True when the end has come; tests put a clock of their own there.
    """

    def __init__(self, say: Callable[[], None], wait: Callable[[float], bool] | None = None) -> None:
        self._say = say
        self._end = threading.Event()
        self._wait = wait or self._end.wait
        self._thread = threading.Thread(target=self._run, daemon=True)

    def begin(self) -> None:
        self._say()
        self._thread.start()

    def _run(self) -> None:
        while not self._wait(EVERY_S) and not self._end.is_set():
            with contextlib.suppress(ReedwayError):  # the talk itself finds out that the port is gone
                self._say()

    def end(self) -> None:
        """Say nothing more; also where it was never begun."""
        self._end.set()
        if self._thread.is_alive():
            self._thread.join(EVERY_S)
