"""`load`: the layout and the firmware onto a board, or the layout file back from one."""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import asdict
from pathlib import Path
from typing import Any

from reedway.board.loading.folder import Contents, contents_of
from reedway.board.loading.load import Loaded, fetch_layout, load_board
from reedway.board.ports import find_port
from reedway.counting import counted
from reedway.problems import ReedwayError
from reedway.sessionlog.kinds import MODE_WORDS

VIRTUAL = "virtual"


def register(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    load = subparsers.add_parser(
        "load",
        description="Put a layout and the firmware on a board. Only what changed is written; every file is "
        "checked by its hash on the board; broken off half-way the board runs nothing, and the same command "
        "goes on. Refused while trains run; a show that stands at stop ends. At the end the board is "
        "reset. With --fetch the layout file comes back from the board instead, into a new file.",
        epilog="examples:\n"
        "  reedway load my.yaml\n"
        "  reedway load boards/valley --port /dev/ttyACM0    a folder of reedway build\n"
        "  reedway load my.yaml --port virtual               only say what would be loaded\n"
        "  reedway load --fetch from-the-board.yaml          which layout is on this board?\n",
    )
    load.add_argument("file", metavar="FILE", nargs="?", help="layout file, or a folder of reedway build")
    load.add_argument("--port", metavar="PORT", help="port, pyserial URL, or virtual")
    load.add_argument("--fetch", metavar="OUT", type=Path, help="bring the board's layout file into OUT")
    load.add_argument("--older", action="store_true", help="load over a newer Reedway on the board")
    load.add_argument("--json", action="store_true", help="print JSON")
    load.set_defaults(run=run_load)


def _progress(text: str) -> None:
    print(text, file=sys.stderr, flush=True)


def run_load(args: argparse.Namespace) -> int:
    """Load, or fetch."""
    if (args.fetch is None) == (args.file is None):
        raise ReedwayError(
            "load wants one of two: a layout file (or board folder) to load, or --fetch with a new file"
        )
    if args.fetch is not None:
        return _fetch(args)
    contents = contents_of(args.file)
    if args.port == VIRTUAL:
        return _tell_only(args, contents)
    port = args.port or find_port()
    loaded = load_board(port, contents, _progress, args.older)
    data = loaded_json(port, contents, loaded)
    print(json.dumps(data, ensure_ascii=False) if args.json else "\n".join(loaded_lines(data)))
    return 0


def _fetch(args: argparse.Namespace) -> int:
    if args.port == VIRTUAL:
        raise ReedwayError("a virtual board keeps no files; --fetch wants a real board")
    port = args.port or find_port()
    size, digest = fetch_layout(port, args.fetch)
    data = {"port": port, "file": str(args.fetch), "bytes": size, "sha256": digest}
    text = f"{args.fetch}: {size} bytes, the layout file of the board at {port}; the board was reset"
    print(json.dumps(data, ensure_ascii=False) if args.json else text)
    return 0


def _tell_only(args: argparse.Namespace, contents: Contents) -> int:
    """What load would write on an empty board."""
    sizes = {path: len(data) for path, data in contents.files.items()}
    data = {
        "port": VIRTUAL,
        "layout": contents.layout,
        "layout_sha256": contents.layout_sha256,
        "board": contents.board,
        "would_write": sizes,
    }
    if args.json:
        print(json.dumps(data, ensure_ascii=False))
        return 0
    print(
        f"{contents.source}: on an empty board load would write {counted(len(sizes), 'file')}, "
        f"{_kb(sizes.values())}:"
    )
    for path, size in sizes.items():
        print(f"  {path:<28}{size:>6} bytes")
    print("nothing was written: a virtual board has no flash, and takes the layout file as it is")
    return 0


def loaded_json(port: str, contents: Contents, loaded: Loaded) -> dict[str, Any]:
    """All that there is to say."""
    mode = MODE_WORDS.get(loaded.hello.mode, str(loaded.hello.mode))
    return {
        "port": port,
        "source": contents.source,
        "layout": contents.layout,
        "layout_sha256": contents.layout_sha256,
        "written": loaded.plan.write,
        "bytes_written": loaded.bytes_written,
        "same": loaded.plan.same,
        "taken_away": [path for path in loaded.plan.take_away if path not in loaded.plan.write],
        "left_alone": loaded.plan.strangers,
        "verified_on_board": True,
        "board": asdict(loaded.hello) | {"mode": mode},
    }


def loaded_lines(data: dict[str, Any]) -> list[str]:
    """The same as text."""
    count = len(data["written"]) + len(data["same"])
    lines = [
        f"{data['source']}: {data['layout']} is on the board at {data['port']}; "
        f"{len(data['written'])} of {count} files written ({_kb([data['bytes_written']])}), "
        "every hash checked on the board"
    ]
    if data["taken_away"]:
        lines.append(f"taken off the board: {', '.join(data['taken_away'])}")
    if data["left_alone"]:
        lines.append(f"not Reedway's, left alone: {', '.join(data['left_alone'])}")
    board = data["board"]
    lines.append(f"the board runs it: {board['mode']}; began with: {board['cause']}")
    return lines


def _kb(sizes: Any) -> str:
    return f"{-(-sum(sizes) // 1024)} KB"
