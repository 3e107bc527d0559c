"""`run`, `record`, `status`, `operate`: a board at work, or one without a chip."""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from reedway.board.client import Client
from reedway.board.keyboard import Keyboard
from reedway.board.live import LiveShow
from reedway.board.loading import commands as loading_commands
from reedway.board.orders import Touch, read_either, read_order, told_orders
from reedway.board.playing import Keeper, Pacer, play
from reedway.board.ports import find_port, open_port
from reedway.board.protocol import WATCH_MS
from reedway.board.recorder import Recorder
from reedway.board.recording import Recording, Talk, make_folder, refuse_second
from reedway.board.sameboard import check_same_board
from reedway.board.sharing import Shared, find_recording
from reedway.board.showing import running_lines, status_json, status_lines
from reedway.board.virtual import VirtualBoard
from reedway.board.walking import commands as walking_commands
from reedway.boardfile.compile import Compiled, compile_layout
from reedway.counting import counted
from reedway.layout.load import load
from reedway.numbers import number
from reedway.problems import ReedwayError
from reedway.sessionlog.kinds import MODE_WORDS, w
from reedway.typed import typed

QUESTION = "Put it there, try every wire, listen"
VIRTUAL = "virtual"
FOR_S = number(0, 1e6, above=True)
AFTER_ORDER_S = 0.05
IT_IS = MODE_WORDS | {w.M_FAULT: "at a fault", w.M_MAINTENANCE: "in maintenance"}
BEFORE_START = (w.O_START, w.O_MAINTENANCE, w.O_ACKNOWLEDGE)  # other orders are refused then


def register(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    loading_commands.register(subparsers)
    walking_commands.register(subparsers)
    run = subparsers.add_parser(
        "run",
        description="Run a layout on a virtual board. The firmware runs on MicroPython for this computer; "
        "other commands reach it by the port that is printed. Type the name of a sensor for a hit, "
        "`siding in service` to turn a switch, an order such as `start`; an empty line ends it.",
        epilog="examples:\n"
        "  reedway run my.yaml\n"
        "  reedway run my.yaml --session evening.jsonl --out again.jsonl    play a recorded session\n",
    )
    run.add_argument("file", metavar="FILE", help="layout file")
    run.add_argument("--session", metavar="LOG", type=Path, help="play the inputs of this log")
    run.add_argument("--out", metavar="LOG", type=Path, help="with --session: write the records there")
    _json(run)
    run.set_defaults(run=run_run)
    record = subparsers.add_parser(
        "record",
        description="Record what the board does into a session log. Begins with what the board still holds, "
        "goes on after unplugging, never disturbs the show. In a terminal it shows the drawing of the "
        "layout with every name lit by its state, else a line for each thing that happens. Keys: space stops "
        "all, `a` acknowledges, `q` or Ctrl-C ends the recording and leaves the board alone, `?` tells the "
        "keys. `status` and `operate` in another terminal go through it.",
        epilog="examples:\n"
        "  reedway record my.yaml\n"
        "  reedway record my.yaml --port /dev/ttyACM0 --out sessions/june.jsonl\n",
    )
    _file_and_port(record)
    record.add_argument("--out", metavar="LOG", type=Path, help="default: in the folder sessions")
    record.add_argument("--for", dest="seconds", metavar="SECONDS", type=FOR_S, help="end after so long")
    record.set_defaults(run=run_record)
    status = subparsers.add_parser(
        "status",
        description="Show how the board and the layout stand now.",
        epilog="examples:\n  reedway status my.yaml\n  reedway status my.yaml --json\n",
    )
    _file_and_port(status)
    status.set_defaults(run=run_status)
    operate = subparsers.add_parser(
        "operate",
        description="Give the board one order.",
        epilog=f"orders:\n{told_orders()}\n"
        "examples:\n  reedway operate my.yaml start\n  reedway operate my.yaml hold Mill Halt\n",
    )
    _file_and_port(operate)
    operate.add_argument("order", nargs="+", metavar="ORDER", help="words of the order")
    operate.set_defaults(run=run_operate)


def _file_and_port(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help="layout file")
    parser.add_argument("--port", metavar="PORT", help="port, pyserial URL, or virtual")
    _json(parser)


def _json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="print JSON")


def _say(args: argparse.Namespace, text: str, **data: object) -> None:
    """One thing told: as text, or the same as a line of JSON."""
    print(json.dumps(data, ensure_ascii=False) if args.json else text, flush=True)


@contextmanager
def board_client(port: str, compiled: Compiled) -> Iterator[tuple[Client, str]]:
    """A talk with the board at this port, and what the port is called."""
    if port == VIRTUAL:
        with VirtualBoard(compiled) as board, Pacer(board):
            client = Client(open_port(board.line))
            yield client, board.line
            client.close()
        return
    client = Client(open_port(port))
    try:
        yield client, port
    finally:
        client.close()


@contextmanager
def client_of(port: str | None, compiled: Compiled) -> Iterator[Client | Shared]:
    """A talk with the board, by way of a recording if one holds the port."""
    port = port or find_port()
    recording = find_recording(port) if port != VIRTUAL else None
    if recording is not None:
        yield recording
        return
    with board_client(port, compiled) as (client, _):
        yield client


def _compiled(path: str) -> Compiled:
    return compile_layout(load(path))


def run_status(args: argparse.Namespace) -> int:
    """How things stand."""
    compiled = _compiled(args.file)
    with client_of(args.port, compiled) as client:
        check_same_board(client.hello(), compiled)
        hello, status = client.hello(), client.status()
    if args.json:
        print(
            json.dumps(
                status_json(hello, status, compiled.names, compiled.layout.is_shadow), ensure_ascii=False
            )
        )
    else:
        print("\n".join(status_lines(hello, status, compiled.names, compiled.layout.is_shadow)))
    return 0


def run_operate(args: argparse.Namespace) -> int:
    """One order."""
    compiled = _compiled(args.file)
    text = " ".join(args.order)
    order, value = read_order(text, compiled.names)
    with client_of(args.port, compiled) as client:
        check_same_board(client.hello(), compiled)
        before = client.status().mode
        client.order(order, value)
        time.sleep(AFTER_ORDER_S)
        mode = client.status().mode
    if order == w.O_START and before != w.M_BEFORE:
        raise ReedwayError(f"the board refused the start: it is {IT_IS[before]}, not before start")
    if order == w.O_MAINTENANCE and before not in (w.M_BEFORE, w.M_MAINTENANCE):
        raise ReedwayError(
            f"the board refused maintenance: it is {IT_IS[before]}, not before start; `reedway walk` "
            "ends a show that stands and goes into maintenance by itself"
        )
    if before == w.M_BEFORE and order not in BEFORE_START:
        raise ReedwayError(f"the board refused `{text}`: the show has not started, and every feed is off")
    if order == w.O_START and mode == w.M_BEFORE:
        raise ReedwayError(
            "the board refused the start; which switch stands otherwise, `reedway record` tells"
            if compiled.layout.starts
            else f"the board refused the start: {compiled.layout.path} has none; add one under starts:"
        )
    now = MODE_WORDS.get(mode, str(mode))
    told = f"given: {text}; the board is now: {now}"
    if order == w.O_MAINTENANCE:
        told += "; it ends with the next reset: switch the board off and on"
    if mode == w.M_MAINTENANCE and order == w.O_GO:
        told += f"; that feed goes off after {WATCH_MS // 1000} s: in maintenance only `walk` keeps one on"
    _say(args, told, order=text, mode=now)
    return 0


def default_log(compiled: Compiled) -> Path:
    """sessions/<layout>_<date>_<time>.jsonl"""
    name = "".join(letter if letter.isalnum() else "-" for letter in compiled.layout.name)
    return Path("sessions", f"{name}_{datetime.now():%Y-%m-%d_%H%M%S}.jsonl")


def run_record(args: argparse.Namespace) -> int:
    """Until a key or Ctrl-C ends it."""
    compiled = _compiled(args.file)
    path = args.out or default_log(compiled)
    if path.exists():
        raise ReedwayError(f"{path}: is there already; a recording never goes into an existing file")
    port = args.port if args.port else find_port()
    refuse_second(port)
    make_folder(path)
    recorder = Recorder(compiled, path)
    end = time.monotonic() + args.seconds if args.seconds else None
    keys = Keyboard(not args.json and sys.stdout.isatty())
    show = LiveShow(compiled, is_quiet=args.json, has_keys=keys.is_on)
    try:
        with keys:
            Recording(recorder, path, show, keys).run(lambda: _talk(port, compiled), end)
    except KeyboardInterrupt:
        pass
    finally:
        show.close()
        recorder.close()
    lost = f", {recorder.lost} lost" if recorder.lost else ""
    text = f"{path}: {counted(recorder.count, 'record')} from the board{lost}\n"
    text += f"what happened: reedway report {typed(path)}"
    _say(args, text, log=str(path), records=recorder.count, lost=recorder.lost)
    return 0


@contextmanager
def _talk(port: str, compiled: Compiled) -> Iterator[Talk]:
    """The board itself, for the one program that may hold its port."""
    with board_client(port, compiled) as (client, name):
        yield Talk(client, name)


def run_run(args: argparse.Namespace) -> int:
    """A virtual board, by hand or with a session."""
    compiled = _compiled(args.file)
    with VirtualBoard(compiled) as board:
        if args.session:
            return _play(args, board, compiled, args.session, args.out)
        if args.out:
            raise ReedwayError("--out goes with --session; what you do by hand is recorded with `record`")
        _say(args, f"virtual board at {board.line}; an empty line ends it", port=board.line)
        with Pacer(board) as pacer:
            for line in sys.stdin:
                text = line.strip()
                if not text:
                    break
                try:
                    _by_hand(board, pacer, text, compiled)
                    lines = running_lines(board, compiled)
                    _say(args, "\n".join(lines), now=lines)
                except ReedwayError as problem:
                    print(problem, file=sys.stderr)
                if pacer.error:
                    raise pacer.error
    return 0


def _by_hand(board: VirtualBoard, pacer: Pacer, text: str, compiled: Compiled) -> None:
    found = read_either(text, compiled.names)
    if not isinstance(found, Touch):
        board.order(*found)
    elif found.closed is None:
        pacer.hit(found.index)
    else:
        pacer.set(found.index, found.closed)
    time.sleep(AFTER_ORDER_S)


def _play(
    args: argparse.Namespace, board: VirtualBoard, compiled: Compiled, session: Path, out: Path | None
) -> int:
    if out is not None and out.exists():
        raise ReedwayError(f"{out}: is there already; name another --out")
    with Keeper(board, compiled, out) as keeper:
        count = play(board, session, compiled, keeper.drain)
        keeper.drain()
    text = f"{session}: {counted(count, 'input')} played up to {board.out.t} ms of the board's time\n"
    text += counted(board.out.records, "record") + (f", written to {out}" if out else "")
    _say(args, text, inputs=count, board_ms=board.out.t, records=board.out.records, out=str(out or ""))
    return 0
