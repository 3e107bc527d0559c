"""From a port to a board at its prompt, whatever runs on it: a show is never disturbed."""

from __future__ import annotations

import time
from dataclasses import dataclass

from reedway.board.client import CAUSES, RESULTS, Client
from reedway.board.loading.drives import BOARD_WORDS, image_advice
from reedway.board.loading.folder import is_newer
from reedway.board.loading.prompt import MAINTENANCE_MARK, Prompt, wait_for_prompt
from reedway.board.ports import PortGone, open_port
from reedway.board.protocol import PROTOCOL
from reedway.counting import counted
from reedway.problems import ReedwayError
from reedway.sessionlog.kinds import w

NOT_NOW = 1  # result of a command while trains run
REFUSAL_S = 0.3  # an answer takes a few milliseconds
PROMPT_S = 3.0  # a prompt answers at once; the computer may be busy
BACK_S = 15.0  # a board that resets shows up again as a port; main.py takes a second first
WHITE_BUTTON = (
    "unplug it, plug it in, and hold its white button while its lamp is lit in the first second: "
    "that brings its prompt, whatever is on it"
)


@dataclass(frozen=True)
class Hello:
    """What a board that runs Reedway said of itself."""

    protocol: int
    firmware: str
    chip: str
    layout_sha256: str
    cause: str
    mode: int


def ask_hello(port: str) -> tuple[Hello | None, int]:
    """(who answers, records that nobody has taken); (None, 0) when nothing of ours answers."""
    client = Client(open_port(port))
    try:
        fields = client.command("h", PROTOCOL, wants="h")[-1].fields
        hello = Hello(
            int(fields[0]),
            str(fields[1]),
            str(fields[2]),
            str(fields[3]),
            CAUSES[min(int(fields[4]), len(CAUSES) - 1)],
            int(fields[7]),
        )
        if hello.protocol != PROTOCOL:
            return hello, 0
        status = client.status()
        return hello, status.end - status.oldest
    except PortGone:
        raise
    except ReedwayError:
        return None, 0
    finally:
        client.close()


def check_records(port: str, mode: int, records: int) -> None:
    """At a stop or a fault refuse a reset that would lose what nobody has taken."""
    if records and mode in (w.M_STOPPED, w.M_FAULT):
        stands = "the show stands at stop" if mode == w.M_STOPPED else "the board stands at a fault"
        raise ReedwayError(
            f"{port}: {stands} and the board holds {counted(records, 'record')} that nobody has taken; keep "
            "them with `reedway record` (a few seconds are enough) or drop them by switching the board off "
            "and on, and try again"
        )


def check_hello(hello: Hello, records: int, port: str, accepts_newer: bool, ends_stopped: bool) -> None:
    """Refuse what must not be interrupted or overwritten."""
    if hello.mode == w.M_RUNNING:
        raise ReedwayError(
            f"{port}: trains run, so nothing was touched; stop them (the stop button, or `reedway operate "
            "FILE stop`) and try again"
        )
    if hello.mode == w.M_STOPPED and not ends_stopped:
        raise ReedwayError(
            f"{port}: the show stands at stop, and reading the file ends it by a reset, so nothing was "
            "touched; switch the board off and on if the show is over, and try again"
        )
    check_records(port, hello.mode, records)
    if hello.protocol != PROTOCOL:
        raise ReedwayError(
            f"{port}: the firmware there ({hello.firmware}) speaks protocol {hello.protocol}, this Reedway "
            f"{PROTOCOL}; to load over it, {WHITE_BUTTON}"
        )
    if is_newer(hello.firmware) and not accepts_newer:
        raise ReedwayError(
            f"{port}: the board carries Reedway {hello.firmware}, newer than the one on this computer; "
            "update Reedway here, or load the older one over it with --older"
        )


def reach_prompt(
    port: str, accepts_newer: bool = False, ends_stopped: bool = False
) -> tuple[Prompt, Hello | None]:
    """The prompt of the board at this port, and what its firmware said before."""
    hello, records = ask_hello(port)
    if hello is None:
        return _plain_prompt(port), None
    check_hello(hello, records, port, accepts_newer, ends_stopped)
    _ask_maintenance(port)
    try:
        return wait_for_prompt(port, BACK_S), hello
    except ReedwayError as problem:
        raise ReedwayError(
            f"{port}: the board did not come to its prompt ({problem}); nothing was changed; {WHITE_BUTTON}"
        ) from None


def _ask_maintenance(port: str) -> None:
    """Reset to the prompt, without a watchdog; a board may be gone before it has answered."""
    client = Client(open_port(port))
    try:
        client.command("h", PROTOCOL, wants="h")
        client.say("m")
        end = time.monotonic() + REFUSAL_S
        while time.monotonic() < end:
            if any(line.kind == "a" and line.fields[1] == NOT_NOW for line in client.poll()):
                raise ReedwayError(f"{port}: {RESULTS[NOT_NOW]}; nothing was touched")
    except PortGone:
        return
    finally:
        client.close()


def _plain_prompt(port: str) -> Prompt:
    """No firmware of ours runs: bare MicroPython, a half-loaded board, maintenance by the white button."""
    try:
        return wait_for_prompt(port, PROMPT_S)
    except PortGone:
        raise ReedwayError(
            f"{port}: neither Reedway nor MicroPython answers there; is it the right port? If it is the "
            f"board, {WHITE_BUTTON}; a Pico that never had MicroPython wants {image_advice('pico')} first "
            f"(a Pico 2 {image_advice('pico2')})"
        ) from None


def right_board(prompt: Prompt, port: str, board: str = "", source: str = "") -> Prompt:
    """The prompt again, when it is that of the board wanted ("": either) and no watchdog runs."""
    who = prompt.who()
    if who.board is None:
        raise ReedwayError(
            f"{port}: MicroPython runs there on {who.machine or who.platform}, not on a Pico or Pico 2; "
            "choose another port with --port"
        )
    if board not in ("", who.board):
        raise ReedwayError(
            f"{port}: this is a {BOARD_WORDS[who.board]}, and {source} is for a {BOARD_WORDS[board]}; "
            f"plug in the other board, or write `board: {who.board}` into the layout file"
        )
    if prompt.watchdog_runs():
        prompt.reset(MAINTENANCE_MARK)
        time.sleep(0.5)
        prompt = wait_for_prompt(port, BACK_S)
        if prompt.watchdog_runs():
            prompt.close()
            raise ReedwayError(
                f"{port}: a watchdog runs on the board; it cannot be stopped and would reset the board while "
                f"files are written; {WHITE_BUTTON} (without Reedway's boot.py: take the other program's "
                "main.py off first)"
            )
    return prompt
