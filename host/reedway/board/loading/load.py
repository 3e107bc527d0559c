"""Loads a board: only what changed, hashes checked on the board, safe wherever it breaks off."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from reedway.board.loading.folder import BOOT, MAIN, Contents
from reedway.board.loading.plan import HALF, LAST, Plan, blocks_wanted, make_plan, sha256
from reedway.board.loading.prompt import RESET_MARK, FlashFull, OnBoard, Prompt
from reedway.board.loading.reaching import BACK_S, Hello, ask_hello, reach_prompt, right_board
from reedway.board.ports import PortGone
from reedway.boardfile.build import LAYOUT_FILE
from reedway.counting import counted
from reedway.problems import ReedwayError
from reedway.sessionlog.kinds import w

WRITE_TRIES = 3
Tell = Callable[[str], None]


@dataclass(frozen=True)
class Loaded:
    """What was done, and what the board said after its reset."""

    plan: Plan
    bytes_written: int
    hello: Hello


def load_board(port: str, contents: Contents, tell: Tell, accepts_newer: bool = False) -> Loaded:
    """Bring the board at this port to these contents, reset it, and hear that it runs them."""
    prompt, before = reach_prompt(port, accepts_newer, ends_stopped=True)
    if before is not None and before.mode == w.M_STOPPED:
        tell("the show stood at stop and has ended: trains go back to their places before the next start")
    try:
        prompt = right_board(prompt, port, contents.board, contents.source)
        tell(f"comparing {counted(len(contents.files), 'file')} with those on the board")
        there = prompt.files({path: len(data) for path, data in contents.files.items()})
        plan = make_plan(contents.files, there)
        if not plan.is_empty:
            _check_room(prompt, plan, contents, there)
            _Work(prompt, contents, there, tell).carry_out(plan)
        prompt.reset(RESET_MARK)
    finally:
        prompt.close()
    tell("the board resets")
    hello = wait_for_hello(port, contents)
    return Loaded(plan, sum(len(contents.files[path]) for path in plan.write), hello)


def _check_room(prompt: Prompt, plan: Plan, contents: Contents, there: OnBoard) -> None:
    block, free = prompt.free_blocks()
    wanted = blocks_wanted(plan, contents.files, there, block)
    if wanted > free:
        raise _full(plan, f"{wanted * block // 1024} KB are wanted, {free * block // 1024} KB are free")


def _full(plan: Plan, figures: str) -> ReedwayError:
    others = ", ".join(plan.strangers[:5]) or "none"
    return ReedwayError(
        f"the board's flash is full: {figures}; files on it that are not Reedway's: {others}; take some off "
        "(mpremote rm :NAME), and load again"
    )


class _Work:
    """The steps at the prompt. main.py goes first and comes last: a half-loaded board runs nothing."""

    def __init__(self, prompt: Prompt, contents: Contents, there: OnBoard, tell: Tell) -> None:
        self.prompt = prompt
        self.contents = contents
        self.there = there
        self.tell = tell
        self.doing = "the first file"

    def carry_out(self, plan: Plan) -> None:
        try:
            self._steps(plan)
        except PortGone as problem:
            raise PortGone(
                f"{problem} at {self.doing}; the board is safe: it runs nothing and its outputs stay off "
                "until all is loaded; plug it in again and give the same command: it goes on from there"
            ) from None
        except FlashFull:
            raise _full(plan, f"no room for {self.doing}") from None

    def _steps(self, plan: Plan) -> None:
        write = list(plan.write)
        if write[:1] == [BOOT]:  # before anything else: it keeps every output off
            self._put(write.pop(0), plan)
        for path in plan.take_away:
            self.doing = path
            self.prompt.remove(path)
        for folder in sorted({path.split("/")[0] for path in write if "/" in path} - self.there.folders()):
            self.doing = folder
            self.prompt.make_folder(folder)
        for path in write:
            if path == MAIN:
                self._check_all()
            self._put(path, plan)

    def _put(self, path: str, plan: Plan) -> None:
        """Under another name until its hash is right."""
        data = self.contents.files[path]
        self.doing = path
        self.tell(f"  {plan.write.index(path) + 1}/{len(plan.write)}  {path}  {len(data)} bytes")
        for _ in range(WRITE_TRIES):
            self.prompt.write(HALF, data)
            if self.prompt.digest(HALF) == sha256(data):
                self.prompt.rename(HALF, path)
                return
        raise ReedwayError(
            f"{path}: the board does not keep what is written ({WRITE_TRIES} times another hash); its flash "
            "may be worn: try another board"
        )

    def _check_all(self) -> None:
        """All but main.py and the manifest, once more, as they lie on the board."""
        self.doing = "the check of all files"
        self.tell("checking all files on the board")
        wanted = self.contents.files
        there = self.prompt.files({path: len(data) for path, data in wanted.items()})
        wrong = [path for path in make_plan(wanted, there).write if path not in LAST]
        if wrong:
            raise ReedwayError(f"{wrong[0]}: is not on the board as it was written; load again")


def wait_for_hello(port: str, contents: Contents) -> Hello:
    """After the reset: the firmware that was loaded says which layout it runs."""
    end = time.monotonic() + BACK_S
    while time.monotonic() < end:
        try:
            hello, _ = ask_hello(port)
        except ReedwayError:
            time.sleep(0.3)
            continue
        if hello is not None and hello.layout_sha256 == contents.layout_sha256:
            return hello
    raise ReedwayError(
        f"{port}: all files are on the board and checked, but it does not say hello after its reset; unplug "
        "it, plug it in and ask `reedway status`"
    )


def fetch_layout(port: str, out: Path) -> tuple[int, str]:
    """Bring the layout file back from a board into a new file; (bytes, sha256 of them)."""
    if out.exists():
        raise ReedwayError(f"{out}: is there already; --fetch writes into a new file only")
    prompt, _ = reach_prompt(port, accepts_newer=True)
    try:
        prompt = right_board(prompt, port)
        if LAYOUT_FILE not in prompt.files({}).files:
            raise ReedwayError(f"{port}: there is no layout file on this board")
        data = prompt.read(LAYOUT_FILE)
        if prompt.digest(LAYOUT_FILE) != sha256(data):
            raise ReedwayError(f"{port}: the layout file did not come over whole; try again")
        prompt.reset(RESET_MARK)
    finally:
        prompt.close()
    try:
        with out.open("xb") as file:
            file.write(data)
    except OSError as problem:
        raise ReedwayError(f"{out}: cannot be written ({problem.strerror}); name another file") from None
    return len(data), sha256(data)
