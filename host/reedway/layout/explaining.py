"""`explain`: what will it do?"""

from __future__ import annotations

import argparse
import json

from reedway.layout.checking import check_file
from reedway.layout.explain import explain
from reedway.layout.explaintext import explain_text


def register(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = subparsers.add_parser(
        "explain",
        description="Tell in words what a layout will do. Every rule with its reason, what lets each block "
        "go and what stops it, how long each throw takes, starts, assumptions and limits.",
        epilog="examples:\n  reedway explain my.yaml\n  reedway explain my.yaml --json\n",
    )
    parser.add_argument("file", metavar="FILE", help="layout file")
    parser.add_argument("--json", action="store_true", help="print JSON")
    parser.set_defaults(run=run_explain)


def run_explain(args: argparse.Namespace) -> int:
    """Check, explain, print."""
    data = explain(check_file(args.file).compiled)
    print(json.dumps(data, indent=2) if args.json else explain_text(data))
    return 0
