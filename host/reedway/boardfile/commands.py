"""`build`: what goes on the board?"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from reedway.boardfile.build import build_folder
from reedway.layout.checking import check_file

QUESTION = "What goes on the board?"


def register(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    build = subparsers.add_parser(
        "build",
        description="Write the folder that goes on the board: pins, board file, names, firmware. "
        "The layout file itself goes with it. An earlier build in that folder is replaced; "
        "a folder with anything else in it is left alone.",
        epilog="examples:\n"
        "  reedway build my.yaml --out boards/valley\n"
        "  reedway build my.yaml --out boards/valley --json\n",
    )
    build.add_argument("file", metavar="FILE", help="layout file")
    build.add_argument("--out", required=True, metavar="FOLDER", help="folder to write")
    build.add_argument("--json", action="store_true", help="print JSON")
    build.set_defaults(run=run_build)


def run_build(args: argparse.Namespace) -> int:
    """Check, compile, write, and say what was written."""
    checked = check_file(args.file)
    built = build_folder(checked.compiled, Path(args.out))
    advice = [{"file": one.file, "line": one.line, "message": one.message} for one in checked.advice]
    if args.json:
        print(
            json.dumps(
                {
                    "folder": str(built.folder),
                    "layout": checked.layout.name,
                    "layout_sha256": checked.layout.sha256,
                    "files": built.files,
                    "removed": built.removed,
                    "advice": advice,
                },
                indent=2,
            )
        )
        return 0
    for one in checked.advice:
        print(f"{one.file}:{one.line}: advice: {one.message}")
    print(f"{built.folder}: {checked.layout.name}, {len(built.files)} files and manifest.json")
    for row in built.files:
        if row["path"].count("/") == 0:
            print(f"  {row['path']:<14}{row['bytes']:>7} bytes")
    for package in sorted({row["path"].split("/")[0] for row in built.files if "/" in row["path"]}):
        inside = [row for row in built.files if row["path"].startswith(package + "/")]
        print(f"  {package + '/':<14}{sum(row['bytes'] for row in inside):>7} bytes in {len(inside)} files")
    if built.removed:
        print(f"  removed from the earlier build: {', '.join(built.removed)}")
    return 0
