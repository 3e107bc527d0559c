"""`report`: what happened this evening?"""

from __future__ import annotations

import argparse
import json
import sys

from reedway.report.figures import figures, read_session
from reedway.report.text import report_lines

QUESTION = "What happened this evening?"


def register(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    report = subparsers.add_parser(
        "report",
        description="Tell what a session log holds: hits, throws, blocks, cautions, and a strip over time. "
        "For each sensor that throws it tells what a relay would have done to the coil. Exit code 0: every "
        "line could be read; 1: something could not, and is said.",
        epilog="examples:\n"
        "  reedway report evening.jsonl\n"
        "  reedway report monday.jsonl tuesday.jsonl --json\n",
    )
    report.add_argument("logs", metavar="LOG", nargs="+", help="session log")
    report.add_argument("--json", action="store_true", help="print JSON")
    report.set_defaults(run=run_report)


def run_report(args: argparse.Namespace) -> int:
    """Print the report of each log."""
    found = []
    bad = False
    for number, path in enumerate(args.logs):
        session = read_session(path)
        for line in [*session.complaints, *session.notices]:
            print(line, file=sys.stderr)
        bad = bad or bool(session.complaints)
        if args.json:
            found.append(figures(session))
        else:
            if number:
                print()
            for line in report_lines(session):
                print(line)
    if args.json:
        print(json.dumps(found, ensure_ascii=False))
    return int(bad)
