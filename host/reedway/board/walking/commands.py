"""`walk`: a guided try-out of every wire."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from reedway.board.client import Client
from reedway.board.orders import read_touch
from reedway.board.playing import Pacer
from reedway.board.ports import PortGone, find_port, open_port
from reedway.board.sameboard import check_same_board
from reedway.board.virtual import VirtualBoard
from reedway.board.walking.answers import Answers
from reedway.board.walking.beforehand import end_show_that_stands
from reedway.board.walking.owner import standard_owner
from reedway.board.walking.steps import GROUPS, steps_of
from reedway.board.walking.walk import Walk
from reedway.board.walking.wires import Wires
from reedway.boardfile.compile import Compiled, compile_layout
from reedway.columns import fitted
from reedway.layout.load import load
from reedway.numbers import number
from reedway.problems import ReedwayError

VIRTUAL = "virtual"
WAIT_S = number(0, 3600, above=True)
Touch = Callable[[str], bool]


def register(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    walk = subparsers.add_parser(
        "walk",
        description="Try every wire with your help, one at a time. Sensors, buttons, lamps, coils, feeds, "
        "and a lap of each train. The board is in maintenance meanwhile: no rule runs, a coil gets one short "
        "pulse and only after a warning. At each question: skip, back, again, quit; the answers are kept, "
        "and the next walk asks only what is not proved yet. At the end: what is proved, what is not, and "
        "for each fault the line of the layout file to change. The exit code is 1 while a fault stands.",
        epilog="examples:\n"
        "  reedway walk my.yaml\n"
        "  reedway walk my.yaml --anew                  ask everything again\n"
        "  reedway walk my.yaml --only turnouts         before a show: these again\n"
        "  reedway walk my.yaml --json > findings.json  the talk goes to the error stream\n"
        "  reedway walk my.yaml --port virtual          to practise: type `N1` to wave a magnet at N1\n",
    )
    walk.add_argument("file", metavar="FILE", help="layout file")
    walk.add_argument("--port", metavar="PORT", help="port, pyserial URL, or virtual")
    walk.add_argument(
        "--answers",
        metavar="JSON",
        type=Path,
        help="where answers are kept; default: my.walk.json for my.yaml",
    )
    walk.add_argument("--only", choices=GROUPS, help="ask these again, and nothing else")
    walk.add_argument("--anew", action="store_true", help="forget the answers of earlier walks")
    walk.add_argument(
        "--wait", metavar="SECONDS", type=WAIT_S, default=60.0, help="for a magnet (default %(default)g)"
    )
    walk.add_argument("--json", action="store_true", help="print JSON")
    walk.set_defaults(run=run_walk)


@contextmanager
def _board(port: str, compiled: Compiled) -> Iterator[tuple[Client, Touch | None]]:
    """A talk with a board; on a virtual one inputs can be touched by their names."""
    if port == VIRTUAL:
        with VirtualBoard(compiled) as board, Pacer(board) as pacer:

            def touch(text: str) -> bool:
                try:
                    found = read_touch(text, compiled.names)
                except ReedwayError:
                    return False
                if found.closed is None:
                    pacer.hit(found.index)
                else:
                    pacer.set(found.index, found.closed)
                return True

            client = Client(open_port(board.line))
            yield client, touch
            client.close()
        return
    client = Client(open_port(port))
    try:
        yield client, None
    finally:
        client.close()


def run_walk(args: argparse.Namespace) -> int:
    """Walk, and say what stands."""
    compiled = compile_layout(load(args.file))
    steps = steps_of(compiled)
    path = args.answers or Path(args.file).with_suffix(".walk.json")
    answers = Answers(path, compiled.layout.name, args.anew)
    owner = standard_owner(args.wait, args.json)
    port = args.port or find_port()
    if port != VIRTUAL:
        end_show_that_stands(port, owner, compiled.layout.sha256)
    with _board(port, compiled) as (client, touch):
        check_same_board(client.hello(), compiled)
        wires = Wires(client, compiled)
        wires.begin()
        owner.touch = touch
        owner.alive = wires.alive
        walk = Walk(args.file, wires, owner, steps, answers, GROUPS.get(args.only, ()))
        try:
            outcome = walk.go()
        except PortGone as problem:
            raise PortGone(
                f"{problem}; your answers so far are in {path}, the same command goes on from there"
            ) from None
        except KeyboardInterrupt:
            print(f"your answers so far are in {path}; the same command goes on from there", file=sys.stderr)
            raise
        finally:
            wires.end()
    if args.json:
        print(json.dumps(outcome.to_json() | {"answers": str(path)}, ensure_ascii=False))
    else:
        print(fitted("\n" + "\n".join(outcome.lines())))
        print(f"answers: {path}", file=sys.stderr)
    return 1 if outcome.findings else 0
