"""`replay` and `demo`: what would the logic have done?"""

from __future__ import annotations

import argparse
import contextlib
import json
import shutil
import sys
import tempfile
from pathlib import Path

from reedway.problems import ReedwayError
from reedway.replay import demo
from reedway.replay.compare import Sameness, compare_files, part
from reedway.replay.machines import HOST, MICROPYTHON
from reedway.replay.outcome import Outcome
from reedway.replay.session import Session, check_out, open_session, put
from reedway.sessionlog.tell import Teller

QUESTION = "What would the logic have done?"
BOTH = "both"
TERMINAL = Path("-")


def register(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    replay = subparsers.add_parser(
        "replay",
        description="Run a recorded session through the logic again. Its inputs go through the rules of a "
        "layout file, in this Python, on MicroPython, or on both. Exit code 0: done and nothing differs that "
        "must not; 1: a bad file, or --verify or --on both found a difference.",
        epilog="examples:\n"
        "  reedway replay evening.jsonl --layout my.yaml --verify            is the log what the rules do?\n"
        "  reedway replay evening.jsonl --layout changed.yaml --compare      what would a change have done?\n"
        "  reedway replay evening.jsonl --layout my.yaml --on both           same on both interpreters?\n"
        "  reedway replay evening.jsonl --layout my.yaml --out again.jsonl   keep the records\n",
    )
    replay.add_argument("log", metavar="LOG", type=Path, help="session log")
    replay.add_argument("--layout", metavar="FILE", required=True, help="layout file")
    replay.add_argument("--on", choices=(HOST, MICROPYTHON, BOTH), default=HOST, help="where (default: host)")
    replay.add_argument("--out", metavar="FILE", type=Path, help="write the records there; - is the terminal")
    replay.add_argument("--force", action="store_true", help="let --out replace a file")
    how = replay.add_mutually_exclusive_group()
    how.add_argument("--verify", action="store_true", help="same layout, every record must be equal")
    how.add_argument("--compare", action="store_true", help="tell the first difference in words")
    replay.add_argument("--json", action="store_true", help="print JSON")
    replay.set_defaults(run=run_replay)
    show = subparsers.add_parser(
        "demo",
        description="Watch six invented minutes of three trains. Takes about 20 seconds in a terminal. "
        "The last line counts the records that are identical on MicroPython and CPython; exit code 1: they "
        "differ.",
        epilog="examples:\n"
        "  reedway demo\n"
        "  reedway demo --keep kept            leave the two files of records there\n"
        "  reedway demo --compare-only kept    compare them again\n",
    )
    which = show.add_mutually_exclusive_group()
    which.add_argument("--keep", metavar="FOLDER", type=Path, help="leave the two files of records there")
    which.add_argument("--compare-only", metavar="FOLDER", type=Path, help="compare the files left there")
    show.add_argument("--json", action="store_true", help="print JSON, and no picture")
    show.set_defaults(run=run_demo)


def run_replay(args: argparse.Namespace) -> int:
    """Replay a log on one or both interpreters and say what came of it."""
    machines = [HOST, MICROPYTHON] if args.on == BOTH else [args.on]
    outs = _outs(args, machines)
    with open_session(args.log, args.layout) as session:
        if args.verify and not session.same_layout:
            raise ReedwayError(
                f"{args.log}: recorded with another layout ({session.header.layout}); --verify needs that "
                "very file; --compare tells what a changed one would have done"
            )
        outcome = Outcome(session, machines, args.compare)
        for notice in outcome.notices():
            print(notice, file=sys.stderr)
        made = [session.replay(machine) for machine in machines]
        _look(outcome, session, made, args.verify or args.compare)
        for file, out in zip(made, outs, strict=False):
            if out == TERMINAL:
                with open(file, encoding="utf-8") as records:
                    shutil.copyfileobj(records, sys.stdout)
            else:
                put(file, out)
        if args.json:
            print(json.dumps(outcome.as_json(), ensure_ascii=False))
        elif TERMINAL not in outs:
            print("\n".join(outcome.lines()))
    return outcome.exit_code


def run_demo(args: argparse.Namespace) -> int:
    """The demo, in a temporary folder or in one that is kept; or only its comparison."""
    if args.compare_only is not None:
        sameness = demo.compare_folder(args.compare_only)
        return _print_sameness(sameness) if args.json else demo.conclude(sameness)
    with contextlib.ExitStack() as stack:
        folder = args.keep or Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="reedway-")))
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as problem:
            raise ReedwayError(f"{folder}: cannot be used: {problem.strerror}") from None
        if not args.json:
            return demo.run_demo(folder)
        host, micropython = demo.write_both(folder)
        if micropython is None:
            print(json.dumps({"micropython": False}))
            return 0
        return _print_sameness(compare_files(host, micropython))


def _print_sameness(sameness: Sameness) -> int:
    print(json.dumps({"micropython": True} | vars(sameness) | {"same": sameness.same}))
    return int(not sameness.same)


def _look(outcome: Outcome, session: Session, made: list[Path], with_log: bool) -> None:
    """Compare the interpreters with each other and the first with the log."""
    if len(made) == 2:
        outcome.sameness = compare_files(*made)
    if with_log:
        teller = Teller(session.layout.names)
        outcome.parting = part(
            session.log, made[0], teller, set(session.extent.unmatched), session.same_layout
        )


def _outs(args: argparse.Namespace, machines: list[str]) -> list[Path]:
    """Where the records of each interpreter go: with --on both the interpreter's name is put in."""
    if args.out is None:
        return []
    if args.out == TERMINAL:
        if len(machines) > 1 or args.json:
            raise ReedwayError("--out - takes the records of one interpreter, and no --json")
        return [args.out]
    outs = [args.out]
    if len(machines) > 1:
        outs = [args.out.with_name(f"{args.out.stem}.{machine}{args.out.suffix}") for machine in machines]
    for out in outs:
        check_out(out, [args.log, Path(args.layout)], args.force)
    return outs
