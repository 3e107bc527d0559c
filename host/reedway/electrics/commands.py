"""`coils`, `magnets` and `wiring`: will coils, supplies, wires and magnets do it?"""

from __future__ import annotations

import argparse
import json

from reedway.columns import fitted
from reedway.drawingfile import write_drawing
from reedway.electrics import coilreport, diagram, magnetreport, verdicts, wiring
from reedway.electrics.labels import PITCH_MM, label_words, labels_svg
from reedway.layout.load import load
from reedway.numbers import number

QUESTION = "Will coils, supplies, wires and magnets do it?"


def register(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    coils = subparsers.add_parser(
        "coils",
        description="Work out for each turnout whether its coils will throw and will survive. "
        "Exit code 0: both for all that is described; 1: not so.",
        epilog="examples:\n  reedway coils my.yaml\n",
    )
    coils.set_defaults(run=run_coils)
    magnets = subparsers.add_parser(
        "magnets",
        description="Work out where and how long each magnet closes each sensor. "
        "Exit code 0: one sure hit a pass; 1: not so.",
        epilog="examples:\n  reedway magnets my.yaml\n",
    )
    magnets.set_defaults(run=run_magnets)
    wires = subparsers.add_parser(
        "wiring",
        description="Print terminals, wires and parts of a layout, and draw them. "
        "Exit code 0: it can be wired so; 1: something cannot work.",
        epilog="examples:\n  reedway wiring my.yaml\n  reedway wiring my.yaml --svg my.svg\n"
        "  reedway wiring my.yaml --labels my-labels.svg --pitch 3.81    strips for terminals\n",
    )
    wires.add_argument("--svg", metavar="FILE", help="write the drawing to this file")
    wires.add_argument(
        "--labels", metavar="SVG", help="only write label strips for the terminals to this file"
    )
    wires.add_argument(
        "--pitch",
        metavar="MM",
        type=number(0, 1000),
        default=PITCH_MM,
        help="how far the terminals are apart: %(default)s",
    )
    wires.set_defaults(run=run_wiring)
    for parser in (coils, magnets, wires):
        parser.add_argument("file", metavar="FILE", help="layout file")
        parser.add_argument("--json", action="store_true", help="print JSON")


def run_coils(args: argparse.Namespace) -> int:
    layout = load(args.file)
    print(
        json.dumps(coilreport.as_json(layout), indent=2)
        if args.json
        else fitted("\n".join(coilreport.text(layout)))
    )
    bad = [
        report
        for report in coilreport.reports(layout)
        if report.refused or verdicts.NO in (report.will_throw.answer, report.will_survive.answer)
    ]
    return 1 if bad else 0


def run_magnets(args: argparse.Namespace) -> int:
    layout = load(args.file)
    passes = magnetreport.passes(layout)
    print(
        json.dumps(magnetreport.as_json(layout, passes), indent=2)
        if args.json
        else fitted("\n".join(magnetreport.text(layout, passes)))
    )
    return 1 if any(not one.good for one in passes) else 0


def run_wiring(args: argparse.Namespace) -> int:
    layout = load(args.file)
    found = wiring.wire(layout)
    if args.labels:
        write_drawing(args.labels, labels_svg(found, args.pitch))
        rows = {one.terminal: " ".join(label_words(one)) for one in found.terminals}
        print(
            json.dumps({"labels_sheet": args.labels, "labels": rows}, indent=2)
            if args.json
            else f"{args.labels}: {len(rows)} labels; print it without scaling (100 %)"
        )
        return 0
    if args.svg:
        write_drawing(args.svg, diagram.drawing(found))
    print(json.dumps(wiring.as_json(found), indent=2) if args.json else fitted("\n".join(wiring.text(found))))
    if args.svg and not args.json:
        print(f"written: {args.svg}")
    return 1 if found.refused else 0
