"""`check`, `new` and `explain`: is what I wrote right, and what will it do?"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import Any

from reedway.boardfile.terminals import pins_free, pins_used
from reedway.columns import fitted
from reedway.layout import explaining
from reedway.layout.checking import check_file
from reedway.layout.jsonschema import json_schema
from reedway.layout.new import KINDS, write_new
from reedway.layout.reference import limit_rows, limits_table, reference
from reedway.layout.summary import has, summary
from reedway.problems import Complaint, LayoutError, told_once
from reedway.typed import typed

QUESTION = "Is what I wrote right? What will it do?"


def register(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    check = subparsers.add_parser(
        "check",
        description="Check layout files: the mistakes with their lines, stage by stage (form, names, rules, "
        "track, electrics), and the pins used and free. "
        "Exit code 0: all good; 1: something is to be mended.",
        epilog="examples:\n"
        "  reedway check my.yaml\n"
        "  reedway check --limits            defaults and ceilings\n"
        "  reedway check --schema            what may stand in a layout file\n"
        "  reedway check --json-schema       a JSON Schema for your editor\n",
    )
    check.add_argument("files", nargs="*", metavar="FILE", help="layout file")
    check.add_argument("--limits", action="store_true", help="print the table of defaults and ceilings")
    check.add_argument("--schema", action="store_true", help="print the layout-file reference")
    check.add_argument("--json-schema", action="store_true", help="print a JSON Schema for editors")
    check.add_argument("--json", action="store_true", help="print JSON")
    check.set_defaults(run=run_check, parser=check)
    new = subparsers.add_parser(
        "new",
        description="Write a commented layout file to start from. It passes check; no file is overwritten.",
        epilog="examples:\n"
        "  reedway new coil-protector my.yaml    turnouts and buttons, no rules\n"
        "  reedway new sensor-logger my.yaml     sensors only, to see what trains do\n"
        "  reedway new two-trains my.yaml        two trains, one passing siding\n"
        "  reedway new three-trains my.yaml      three trains with a holding block\n",
    )
    new.add_argument("kind", choices=KINDS, help="what to start from")
    new.add_argument("file", metavar="FILE", help="file to write")
    new.add_argument("--json", action="store_true", help="print JSON")
    new.set_defaults(run=run_new)
    explaining.register(subparsers)


def run_check(args: argparse.Namespace) -> int:
    """Print a table, or check each file."""
    if args.json_schema or (args.schema and args.json):
        print(json.dumps(json_schema(), indent=2))
    elif args.schema:
        print(reference())
    elif args.limits:
        print(json.dumps(limit_rows(), indent=2) if args.json else limits_table())
    elif not args.files:
        args.parser.error("which FILE? or --limits, --schema, --json-schema")
    else:
        return _check_files(args.files, args.json)
    return 0


def _check_files(paths: list[str], as_json: bool) -> int:
    complaints: list[Complaint] = []
    advice: list[Complaint] = []
    files: list[dict[str, Any]] = []
    for path in paths:
        try:
            checked = check_file(path)
        except LayoutError as error:
            complaints += error.complaints
            files.append({"file": path, "good": False})
            if not as_json:
                print(error, file=sys.stderr)
                if Path(path).is_file():  # else there is nothing to mend in it
                    print(_to_mend(path, len(error.complaints)), file=sys.stderr)
            continue
        layout = checked.layout
        advice += checked.advice
        files.append(
            {
                "file": path,
                "good": True,
                "has": has(layout),
                "pins_used": {f"GPIO {gpio}": name for gpio, name in sorted(pins_used(layout).items())},
                "pins_free": pins_free(layout),
            }
        )
        if not as_json:
            print(fitted("\n  ".join([f"{path}: good", *summary(layout)])))
            for one in told_once(checked.advice):
                print(f"{one.file}:{one.line}: advice: {one.message}")
    if as_json:
        out = {"files": files, "complaints": _rows(complaints), "advice": _rows(advice)}
        print(json.dumps(out, indent=2))
    return 1 if complaints else 0


def _to_mend(path: str, count: int) -> str:
    """How many mistakes, and that a stage of checks begins only when the one before it is clean."""
    mistakes = "1 mistake" if count == 1 else f"{count} mistakes"
    return f"{path}: {mistakes} so far; mend and check again, for some show only when earlier ones are gone"


def _rows(complaints: list[Complaint]) -> list[dict[str, Any]]:
    return [{"file": one.file, "line": one.line, "message": one.message} for one in complaints]


def run_new(args: argparse.Namespace) -> int:
    target = write_new(args.kind, args.file)
    if args.json:
        print(json.dumps({"file": str(target), "kind": args.kind}))
    else:
        print(f"{target}: written; now edit it and say: reedway check {typed(target)}")
    return 0
