"""A show that stands at stop or at a fault ends before a walk: agreed with the owner, nothing of it lost."""

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
PLACES = "afterwards every train goes back to its place of a start, as after switching on."
ENDS = {
    w.M_STOPPED: f"The show stands at stop. Walk ends it: {PLACES}",
    w.M_FAULT: "The board stands at a fault; `reedway status` tells which. Walk ends it, and the "
    f"show with it, by a reset: {PLACES}",
}
STANDS = {w.M_STOPPED: "the show still stands at stop", w.M_FAULT: "the board still stands at the fault"}


def end_show_that_stands(port: str, owner: Owner, layout_sha256: str) -> None:
    """Bring a board at stop or at a fault to before start; any other board is left as it is."""
    hello, records = ask_hello(port)
    if hello is None or not _stands(hello) or hello.layout_sha256 != layout_sha256:
        return
    check_records(port, hello.mode, records)
    try:
        owner.ready(ENDS[hello.mode])
    except Turn:
        raise ReedwayError(f"{port}: nothing was touched; {STANDS[hello.mode]}") from None
    _reset(port)
    now = None
    end = time.monotonic() + BACK_S
    while time.monotonic() < end:
        try:
            now, _ = ask_hello(port)
        except ReedwayError:  # the port goes with the reset, and comes back
            now = None
        if now is not None and not _stands(now):
            return
        time.sleep(AGAIN_S)
    if now is not None and now.mode == w.M_FAULT:
        raise ReedwayError(
            f"{port}: the board stands at a fault again; `reedway status` tells which; mend that, then walk"
        )
    raise ReedwayError(f"{port}: the board did not begin anew; switch it off and on, then walk")


def _stands(hello: Hello) -> bool:
    return hello.protocol == PROTOCOL and hello.mode in ENDS


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
