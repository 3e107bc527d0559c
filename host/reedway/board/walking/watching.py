"""Tells the board over and over that a computer is there, also while the owner thinks."""

from __future__ import annotations

import contextlib
import threading
import time
from collections.abc import Callable

from reedway.problems import ReedwayError

EVERY_S = 0.5  # four in the time that the board waits
LIFE_S = 5.0  # longer than the longest talk with the board, TRIES times ANSWER_S of client.py


class Watch:
    """A thread from begin() to end(): it stops with its program, and stands still when that is suspended.

    It also says nothing while the program hangs: alive() is called wherever that waits for the owner or talks
    to the board. `wait` takes seconds and returns True when the end has come; tests put clocks of their own.
    """

    def __init__(
        self,
        say: Callable[[], None],
        wait: Callable[[float], bool] | None = None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._say = say
        self._clock = clock
        self._alive_until = 0.0
        self._end = threading.Event()
        self._wait = wait or self._end.wait
        self._thread = threading.Thread(target=self._run, daemon=True)

    def alive(self, for_s: float = LIFE_S) -> None:
        """The program does not hang now, and may be silent for so long."""
        self._alive_until = self._clock() + for_s

    def begin(self) -> None:
        self.alive()
        self._say()
        self._thread.start()

    def _run(self) -> None:
        while not self._wait(EVERY_S) and not self._end.is_set():
            if self._clock() > self._alive_until:
                continue
            with contextlib.suppress(ReedwayError):  # the talk itself finds out that the port is gone
                self._say()

    def end(self) -> None:
        """Say nothing more; also where it was never begun."""
        self._end.set()
        if self._thread.is_alive():
            self._thread.join(EVERY_S)
