"""One program holds the port: a running `record` lets `status` and `operate` of other terminals in.

It listens on the loopback address, on any free TCP port, and leaves a note of that with a random word in the
user's own runtime folder; who can read the note may ask. A note whose program is gone answers nothing and
counts for nothing, so a recording that was killed blocks no other. One JSON object a line in each direction.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import secrets
import socket
import tempfile
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from reedway.board.client import Hello, Status
from reedway.problems import ReedwayError

LOOPBACK = "127.0.0.1"
ASK_S = 8.0  # the board may take some tries to answer
KNOCK_S = 1.0
LINE_MAX = 4096
CALLERS_MAX = 8


def runtime_folder() -> Path:
    """A folder that is this user's alone and is gone after a restart of the computer at the latest."""
    base = os.environ.get("XDG_RUNTIME_DIR")
    if base and os.path.isdir(base):
        return Path(base, "reedway")
    user = str(os.getuid()) if hasattr(os, "getuid") else "user"
    return Path(tempfile.gettempdir(), f"reedway-{user}")


def _note_of(port: str) -> Path:
    """The note about a port; all names of one device have one."""
    name = os.path.realpath(port) if os.path.exists(port) else port
    return runtime_folder() / f"{hashlib.sha256(name.encode()).hexdigest()[:20]}.json"


def _own_folder(folder: Path) -> None:
    """Make it, for us alone; a folder of somebody else's in its place is refused."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    if hasattr(os, "getuid") and folder.stat().st_uid != os.getuid():
        raise OSError(f"{folder} belongs to somebody else")


class Shared:
    """The talk of another terminal with the board, by way of the recording that holds its port."""

    def __init__(self, note: dict[str, Any]) -> None:
        self._note = note

    @property
    def log(self) -> str:
        return str(self._note.get("log", ""))

    @property
    def pid(self) -> int:
        return int(self._note.get("pid", 0))

    def ask(self, seconds: float = ASK_S, **question: Any) -> dict[str, Any]:
        """One question and its answer; OSError or ValueError when nobody of ours is there."""
        line = json.dumps({"word": self._note["word"]} | question) + "\n"
        with socket.create_connection((LOOPBACK, int(self._note["port"])), timeout=seconds) as talk:
            talk.sendall(line.encode())
            with talk.makefile("rb") as answers:
                found = json.loads(answers.readline(LINE_MAX))
        if not isinstance(found, dict):
            raise ValueError("no answer of ours")
        return found

    def _asked(self, **question: Any) -> dict[str, Any]:
        try:
            found = self.ask(**question)
        except (OSError, ValueError):
            raise ReedwayError("the recording that holds the port does not answer; try again") from None
        if "wrong" in found:
            raise ReedwayError(str(found["wrong"]))
        return found

    def hello(self) -> Hello:
        return Hello(**self._asked(what="hello")["hello"])

    def status(self) -> Status:
        return Status(**self._asked(what="status")["status"])

    def order(self, order: int, value: int) -> None:
        self._asked(what="order", order=order, value=value)

    def close(self) -> None:
        """Nothing stays open."""


def find_recording(port: str) -> Shared | None:
    """The recording that holds this port, if one runs."""
    try:
        note = json.loads(_note_of(port).read_text(encoding="utf-8"))
        shared = Shared(note)
        return shared if shared.ask(KNOCK_S, what="who").get("pid") == shared.pid else None
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None


Answerer = Callable[[dict[str, Any]], dict[str, Any]]


class Door:
    """The recording's side: serve() between two looks at the board answers who has come."""

    def __init__(self, port: str, log: str, answer: Answerer) -> None:
        self._path = _note_of(port)
        self._answer = answer
        self._word = secrets.token_hex(16)
        self._callers: list[tuple[socket.socket, bytearray]] = []
        self._ear = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        try:
            self._ear.bind((LOOPBACK, 0))
            self._ear.listen(CALLERS_MAX)
            self._ear.setblocking(False)
            _own_folder(self._path.parent)
            note = {"port": self._ear.getsockname()[1], "word": self._word, "pid": os.getpid(), "log": log}
            beside = self._path.with_suffix(f".{os.getpid()}")
            with open(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w") as file:
                json.dump(note, file)
            os.replace(beside, self._path)
        except OSError:
            self._ear.close()
            raise

    def serve(self) -> None:
        """Answer the questions that have come whole; never waits."""
        with contextlib.suppress(BlockingIOError):
            while len(self._callers) < CALLERS_MAX:
                caller, _ = self._ear.accept()
                caller.setblocking(False)
                self._callers.append((caller, bytearray()))
        for one in list(self._callers):
            if not self._hear(*one):
                one[0].close()
                self._callers.remove(one)

    def _hear(self, caller: socket.socket, part: bytearray) -> bool:
        """True while more of the question is to come."""
        try:
            data = caller.recv(LINE_MAX)
        except BlockingIOError:
            return True
        except OSError:
            return False
        part += data
        if not data or len(part) > LINE_MAX:
            return False
        if not part.endswith(b"\n"):
            return True
        with contextlib.suppress(OSError):
            caller.setblocking(True)
            caller.settimeout(KNOCK_S)
            caller.sendall(json.dumps(self._reply(bytes(part))).encode() + b"\n")
        return False

    def _reply(self, line: bytes) -> dict[str, Any]:
        try:
            question = json.loads(line)
            word = question["word"]
        except (ValueError, KeyError, TypeError):
            return {"wrong": "not understood"}
        if not isinstance(word, str) or not secrets.compare_digest(word.encode(), self._word.encode()):
            return {"wrong": "not allowed"}
        if question.get("what") == "who":
            return {"pid": os.getpid()}
        try:
            return self._answer(question)
        except ReedwayError as problem:
            return {"wrong": str(problem)}

    def close(self) -> None:
        """Nobody comes in any more; the note goes, if it is still ours."""
        for caller, _ in self._callers:
            caller.close()
        self._ear.close()
        with contextlib.suppress(OSError, ValueError, KeyError, TypeError):
            if json.loads(self._path.read_text(encoding="utf-8"))["word"] == self._word:
                self._path.unlink()


def as_fields(thing: Hello | Status) -> dict[str, Any]:
    """What goes over the loopback line."""
    return asdict(thing)
