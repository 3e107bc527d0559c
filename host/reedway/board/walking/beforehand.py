"""A show that stands at stop ends before a walk: agreed with the owner, and nothing of it lost."""

from __future__ import annotations

import time

from reedway.board.client import Client
from reedway.board.loading.reaching import BACK_S, Hello, ask_hello, check_records
from reedway.board.ports import PortGone, open_port
from reedway.board.protocol import PROTOCOL
from reedway.board.walking.owner import Owner, Turn
from reedway.problems import ReedwayError
from reedway.sessionlog.kinds import w

AGAIN_S = 0.3
ENDS = (
    "The show stands at stop. Walk ends it: afterwards every train goes back to its place of a start, as "
    "after switching on."
)


def end_stopped_show(port: str, owner: Owner, layout_sha256: str) -> None:
    """Bring a board at stop to before start; any other board is left as it is."""
    hello, records = ask_hello(port)
    if hello is None or not _stands(hello) or hello.layout_sha256 != layout_sha256:
        return
    check_records(port, hello.mode, records)
    try:
        owner.ready(ENDS)
    except Turn:
        raise ReedwayError(f"{port}: nothing was touched; the show still stands at stop") from None
    _reset(port)
    end = time.monotonic() + BACK_S
    while time.monotonic() < end:
        try:
            hello, _ = ask_hello(port)
        except ReedwayError:  # the port goes with the reset, and comes back
            hello = None
        if hello is not None and not _stands(hello):
            return
        time.sleep(AGAIN_S)
    raise ReedwayError(f"{port}: the board did not begin anew; switch it off and on, then walk")


def _stands(hello: Hello) -> bool:
    return hello.protocol == PROTOCOL and hello.mode == w.M_STOPPED


def _reset(port: str) -> None:
    client = Client(open_port(port))
    try:
        client.command("h", PROTOCOL, wants="h")
        client.say("z")
        client.poll()
    except PortGone:
        return
    finally:
        client.close()
