"""`explain`: what will it do?"""

from __future__ import annotations

import argparse
import json

from reedway.columns import fitted
from reedway.drawingfile import write_drawing
from reedway.layout.card import card_json, card_svg
from reedway.layout.checking import check_file
from reedway.layout.explain import explain
from reedway.layout.explaintext import explain_text


def register(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = subparsers.add_parser(
        "explain",
        description="Tell in words what a layout will do. Every rule with its reason, what lets each block "
        "go and what stops it, how long each throw takes, starts, assumptions and limits.",
        epilog="examples:\n  reedway explain my.yaml\n  reedway explain my.yaml --json\n"
        "  reedway explain my.yaml --card my-card.svg     blink codes, buttons and lamps, to print\n",
    )
    parser.add_argument("file", metavar="FILE", help="layout file")
    parser.add_argument("--card", metavar="SVG", help="only write the card for the show to this file")
    parser.add_argument("--json", action="store_true", help="print JSON")
    parser.set_defaults(run=run_explain)


def run_explain(args: argparse.Namespace) -> int:
    """Check, explain, print; or write the card."""
    compiled = check_file(args.file).compiled
    if args.card:
        write_drawing(args.card, card_svg(compiled))
        codes = card_json(compiled)
        row = {"card": args.card, "layout": compiled.layout.name, "codes": codes}
        print(
            json.dumps(row, indent=2)
            if args.json
            else f"{args.card}: {len(codes)} blink codes; print it on A4"
        )
        return 0
    data = explain(compiled)
    print(json.dumps(data, indent=2) if args.json else fitted(explain_text(data)))
    return 0
