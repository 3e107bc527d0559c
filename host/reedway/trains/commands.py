"""`plan`: where do sensors, magnets and gaps go?"""

from __future__ import annotations

import argparse
import json
import re
from pathlib import Path

from reedway.drawingfile import write_drawing
from reedway.electrics.magnetreport import operating_lengths_mm
from reedway.layout.load import load
from reedway.layout.model import Layout
from reedway.layout.near import did_you_mean
from reedway.numbers import number
from reedway.problems import ReedwayError
from reedway.trains import drawing, measuredtext, plantext
from reedway.trains.makeup import make_up
from reedway.trains.measuring import measure
from reedway.trains.model import Span
from reedway.trains.planned import Plan
from reedway.trains.planning import plan
from reedway.trains.running import commands as running_commands
from reedway.trains.running import tunecommands
from reedway.trains.running.ground import Ground

QUESTION = "Where do sensors and gaps go?"


def register(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = subparsers.add_parser(
        "plan",
        description="Work out where trains stand, and whether every sensor serves every train. "
        "Exit code 0: all that is planned will do; 1: not so.",
        epilog="examples:\n  reedway plan my.yaml\n  reedway plan my.yaml --drawings plans\n"
        "  reedway plan my.yaml --scale 87 --json\n"
        "  reedway plan my.yaml --measured alone.jsonl --train railcar\n",
    )
    parser.add_argument("file", metavar="FILE", help="layout file")
    parser.add_argument("--drawings", metavar="FOLDER", help="write one drawing a sensor into this folder")
    parser.add_argument(
        "--scale", type=number(1, 1000), metavar="N", help="print speeds also as those of 1:N"
    )
    parser.add_argument(
        "--measured",
        metavar="LOG",
        help="print speed and operating length of the train that ran alone in this session log",
    )
    parser.add_argument("--train", metavar="NAME", help="that train")
    parser.add_argument("--json", action="store_true", help="print JSON")
    parser.set_defaults(run=run_plan)
    running_commands.register(subparsers)
    tunecommands.register(subparsers)


def worked_out(layout: Layout) -> dict[str, Span]:
    """Operating lengths by kind of magnet over all sensors, for the kinds that trains use."""
    stock = layout.stock
    carriers = [v for v in stock.vehicles if v.magnet is not None and v.operating_length is None]
    used = {v.magnet_kind.text for v in carriers if v.magnet_kind is not None}
    if not used:
        return {}
    found: dict[str, Span] = {}
    for (_, kind), (low, high) in operating_lengths_mm(layout).items():
        if kind in used:
            before = found.get(kind, (low, high))
            found[kind] = min(low, before[0]), max(high, before[1])
    return found


def run_plan(args: argparse.Namespace) -> int:
    layout = load(args.file)
    if args.measured is not None:
        return _measured(args, layout)
    if args.train is not None:
        raise ReedwayError("--train says which train a log is of; add --measured LOG, or leave it out")
    found = plan(layout, worked_out(layout))
    names = _draw(found, args.drawings) if args.drawings else []
    lacking = plantext.missing(found)
    if args.json:
        print(json.dumps({**plantext.as_json(found), "missing": lacking, "drawings": names}, indent=2))
    elif lacking:
        print(lacking)
    else:
        print("\n".join(plantext.text(found, args.scale)))
        for name in names:
            print(f"written: {name}")
    return 1 if found.problems or lacking else 0


def _measured(args: argparse.Namespace, layout: Layout) -> int:
    """What a log says of a train, and the lines for the layout file, which is left as it is."""
    names = {train.name.casefold(): train for train in layout.stock.trains}
    if args.train is None:
        raise ReedwayError(f"--measured: of which train? Add --train NAME; there are {_named(layout)}")
    train = names.get(args.train.casefold())
    if train is None:
        raise ReedwayError(
            f"--train {args.train}: there is no such train; there are {_named(layout)}; "
            f"{did_you_mean(args.train, [one.name for one in names.values()])}"
        )
    found = measure(args.measured, Ground(layout), make_up(layout.stock, train, worked_out(layout)))
    if args.json:
        print(json.dumps(measuredtext.as_json(found, args.measured), indent=2, ensure_ascii=False))
    else:
        print("\n".join(measuredtext.text(found, args.measured)))
    return 0


def _named(layout: Layout) -> str:
    return ", ".join(train.name for train in layout.stock.trains) or "none; add vehicles: and trains:"


def _draw(found: Plan, folder: str) -> list[str]:
    """Write the drawings; the names of the files."""
    names = []
    try:
        Path(folder).mkdir(parents=True, exist_ok=True)
        for number, site in enumerate(found.sites, 1):
            plain = re.sub(r"[^\w-]+", "-", site.sensor).strip("-")
            path = Path(folder) / f"{number}-{plain}.svg"
            write_drawing(path, drawing.drawing(found, site))
            names.append(str(path))
    except OSError as why:
        raise ReedwayError(f"{folder}: the drawings cannot be written: {why.strerror}") from None
    return names
