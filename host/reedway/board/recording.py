"""`record`: a log of the evening while the layout is shown, keys give orders, and other terminals ask."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from reedway.board.client import CAUSES, Client, Hello
from reedway.board.keyboard import Keyboard
from reedway.board.live import HELP, LiveShow
from reedway.board.ports import PortGone
from reedway.board.recorder import Recorder
from reedway.board.sharing import Door, as_fields, find_recording
from reedway.board.timewatch import TimeWatch
from reedway.problems import ReedwayError
from reedway.sessionlog.kinds import w

AGAIN_S = 0.5
IDLE_S = 0.05
STOP_KEYS, ACKNOWLEDGE_KEYS, END_KEYS, HELP_KEYS = " ", "aA", "qQ", "?hH"
GONE = "the board is not there at the moment; the recording waits for it"


class Ended(Exception):
    """The owner has ended the recording by a key."""


@dataclass
class Talk:
    """An open talk with the board, and the name of its port."""

    client: Client
    port: str


Opener = Callable[[], AbstractContextManager[Talk]]


class Recording:
    """run() until a key, Ctrl-C or the end of the time; the board notices nothing of it."""

    def __init__(self, recorder: Recorder, path: Path, show: LiveShow, keys: Keyboard) -> None:
        self._recorder = recorder
        self._path = path
        self._show = show
        self._keys = keys
        self._client: Client | None = None
        self._hello: Hello | None = None
        self._door: Door | None = None
        self._watch = TimeWatch()
        recorder.watch = show.take

    def run(self, opener: Opener, end: float | None) -> None:
        """Record; when the port vanishes wait for it and go on."""
        is_back = False
        try:
            while not _is_over(end):
                try:
                    with opener() as talk:
                        self._listen(talk, end, is_back)
                except PortGone as problem:
                    self._gone(str(problem))
                except ReedwayError:
                    if not is_back:
                        raise
                is_back = True
                self._wait(end)
        except Ended:
            pass
        finally:
            if self._door:
                self._door.close()

    def _listen(self, talk: Talk, end: float | None, is_back: bool) -> None:
        """Until the end, or until the port vanishes."""
        recorder = self._recorder
        self._hello = hello = recorder.attach(talk.client)
        self._client = talk.client
        self._show.begin(recorder.now(), talk.client.status())
        cause = CAUSES[min(hello.cause, len(CAUSES) - 1)]
        told = f"the board began with: {cause}; recording into {self._path}"
        self._show.rest(told)
        if is_back:
            recorder.remark("the board is back")
            self._show.say("the board is back")
        else:
            self._show.say(told)
            self._open_door(talk.port)
        try:
            while not _is_over(end):
                recorder.step()
                self._between()
        except Ended:
            self._finish()
            raise
        self._finish()
        self._client = None

    def _finish(self) -> None:
        """What was ordered or seen just before the end is in the log too."""
        try:
            if not self._recorder.finish():
                self._show.say("the board still has records; it keeps them for the next recording")
        except ReedwayError as problem:
            self._show.say(f"what the board had last is not in the log: {problem}")

    def _gone(self, problem: str) -> None:
        if self._client is not None:
            self._recorder.remark(problem)
            self._show.say(f"{problem}; waiting for it to come back")
            self._show.rest(GONE)
        self._client = None

    def _wait(self, end: float | None) -> None:
        """While there is no board: keys and other terminals are still looked after."""
        until = time.monotonic() + AGAIN_S
        while time.monotonic() < until and not _is_over(end):
            time.sleep(IDLE_S)
            self._between()

    def _between(self) -> None:
        for text in self._watch.look():
            self._recorder.remark(text, with_clock=True)
            self._show.say(text)
        if self._door:
            self._door.serve()
        key = self._keys.key()
        if key:
            self._pressed(key)
        self._show.look()

    # -- keys -------------------------------------------------------------------------------------------

    def _pressed(self, key: str) -> None:
        if key in END_KEYS:
            raise Ended
        if key in HELP_KEYS:
            self._show.say(f"keys: {HELP}")
        elif key in STOP_KEYS:
            self._order(w.O_STOP, "stop all")
        elif key in ACKNOWLEDGE_KEYS:
            self._order(w.O_ACKNOWLEDGE, "acknowledge")

    def _order(self, order: int, text: str) -> None:
        if self._client is None:
            self._show.say(f"{text}: {GONE}")
            return
        try:
            self._client.order(order, 0)
            self._show.say(f"given: {text}  ({datetime.now():%H:%M:%S})")
        except PortGone:
            raise
        except ReedwayError as problem:
            self._show.say(f"{text}: {problem}")

    # -- other terminals --------------------------------------------------------------------------------

    def _open_door(self, port: str) -> None:
        try:
            self._door = Door(port, str(self._path), self._answer)
        except OSError as problem:
            self._show.say(f"`status` and `operate` cannot come in from other terminals: {problem.strerror}")

    def _answer(self, question: dict[str, Any]) -> dict[str, Any]:
        """One question of another terminal."""
        if self._client is None or self._hello is None:
            raise ReedwayError(GONE)
        what = question.get("what")
        try:
            if what == "hello":
                return {"hello": as_fields(self._hello)}
            if what == "status":
                return {"status": as_fields(self._client.status())}
            if what == "order":
                self._client.order(int(question["order"]), int(question["value"]))
                return {}
        except PortGone:
            raise ReedwayError(GONE) from None  # the next look at the board finds it gone too
        except (KeyError, TypeError, ValueError):
            pass
        raise ReedwayError("not understood; is it another version of Reedway?")


def _is_over(end: float | None) -> bool:
    return end is not None and time.monotonic() >= end


def refuse_second(port: str) -> None:
    """One recording a port."""
    running = find_recording(port)
    if running is not None:
        raise ReedwayError(
            f"{port}: a `record` runs there already (process {running.pid}, into {running.log}); "
            "end it first; `status` and `operate` go through it"
        )


def make_folder(path: Path) -> None:
    """The folder of a log that is to be written, and a look whether it can be."""
    folder = path.parent
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as problem:
        raise ReedwayError(
            f"{folder}: the folder for the log cannot be made: {problem.strerror}; name another with --out"
        ) from None
    if not os.access(folder, os.W_OK):
        raise ReedwayError(f"{folder}: nothing can be written into this folder; name another with --out")
