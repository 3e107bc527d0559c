"""`simulate`: how will it run?"""

from __future__ import annotations

import argparse
import contextlib
import json
import re
from datetime import datetime
from pathlib import Path

from reedway import __version__
from reedway.boardfile.compile import Compiled, compile_layout
from reedway.drawingfile import check_drawing, write_drawing
from reedway.durations import NotATime, parse_ms
from reedway.layout.load import load, load_bytes
from reedway.layout.model import Layout
from reedway.numbers import number, whole
from reedway.problems import ReedwayError
from reedway.replay.session import check_out
from reedway.sessionlog.header import Header
from reedway.sessionlog.names import Codec
from reedway.sessionlog.progress import Progress
from reedway.sessionlog.writer import LogWriter
from reedway.trains.running import told
from reedway.trains.running.acts import SENTENCES, plan_acts
from reedway.trains.running.chart import chart
from reedway.trains.running.controlled import Record
from reedway.trains.running.setup import HOUR_US, START_US, Prepared, Stage, Wish, prepare, start_named
from reedway.trains.running.traced import Traced

HOURS = number(0, 1000, above=True)
PERCENT = number(0, 90)
SEED_MAX = 2**31 - 1
PIECE_US = 60_000_000  # between two looks at what is to be said and written
WRITE_AT = 2000


def register(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = subparsers.add_parser(
        "simulate",
        description="Run the trains of a layout file with its real rules, without a board. Nothing is "
        "stepped: every contact and stop comes at its exact time. Without --seed every span is taken at its "
        "middle. "
        "Exit code 0: nothing went wrong; 1: a collision, a fault, or a bad file.",
        epilog="examples:\n"
        "  reedway simulate my.yaml --hours 10 --chart evening.svg\n"
        '  reedway simulate my.yaml --at "90 s" "miss N1" --out missed.jsonl\n'
        "  reedway simulate my.yaml --seed 7 --speed-spread 10 --startup 300 --miss-rate 1\n"
        '  reedway simulate my.yaml --start "two trains" --trains "railcar, milk train" --json\n\n'
        f"what --at takes:\n  {chr(10).join(SENTENCES).replace(chr(10), chr(10) + '  ')}\n",
    )
    parser.add_argument("file", metavar="FILE", help="layout file")
    parser.add_argument("--hours", type=HOURS, default=1.0, metavar="H", help="how long (default: 1)")
    add_run_options(parser)
    parser.add_argument(
        "--seed", type=whole(0, SEED_MAX), metavar="N", help="draw what varies; the same N, the same run"
    )
    parser.add_argument("--out", type=Path, metavar="LOG", help="write a session log, as a board would")
    parser.add_argument("--force", action="store_true", help="let --out replace a file")
    parser.add_argument("--chart", type=Path, metavar="SVG", help="draw time and distance, six minutes of it")
    parser.add_argument("--json", action="store_true", help="print JSON")
    parser.set_defaults(run=run_simulate)


def add_run_options(parser: argparse.ArgumentParser) -> None:
    """What one run takes, for `simulate` and `tune`."""
    parser.add_argument("--start", default="", metavar="NAME", help="which start (default: the first)")
    parser.add_argument("--trains", default="", metavar="LIST", help="trains in the order of its places")
    group = parser.add_argument_group("what goes otherwise than planned")
    group.add_argument(
        "--at", nargs=2, action="append", default=[], metavar=("TIME", "WHAT"), help="see below; any number"
    )
    group.add_argument("--speed-spread", type=PERCENT, default=0.0, metavar="PCT", help="beyond the span")
    group.add_argument("--startup", default="0 ms", metavar="TIME", help="longest wait from feed to moving")
    group.add_argument("--miss-rate", type=PERCENT, default=0.0, metavar="PCT", help="passes not seen")
    group.add_argument(
        "--phantom-rate", type=number(0, 1000), default=0.0, metavar="N", help="phantom hits an hour"
    )
    group.add_argument("--bounce", action="store_true", help="contacts bounce for 1 ms")


def time_ms(option: str, text: str) -> int:
    """A time of the command line; ReedwayError says what is wrong."""
    try:
        return parse_ms(text)
    except NotATime as problem:
        raise ReedwayError(f"{option}: {problem}") from None


def wish_of(args: argparse.Namespace) -> Wish:
    """What is asked of a run."""
    drawn = args.speed_spread or args.startup != "0 ms" or args.miss_rate or args.phantom_rate
    seed = getattr(args, "seed", None)
    return Wish(
        hours=args.hours,
        start=args.start,
        trains=tuple(name.strip() for name in args.trains.split(",") if name.strip()),
        seed=1 if seed is None and drawn else seed,
        speed_spread=args.speed_spread / 100,
        startup_ms=time_ms("--startup", args.startup),
        miss_rate=args.miss_rate / 100,
        phantoms_per_hour=args.phantom_rate,
        bounce=args.bounce,
        acts=tuple((time_ms("--at", at) + START_US // 1000, what) for at, what in args.at),
    )


def run_simulate(args: argparse.Namespace) -> int:
    from reedway.trains.commands import worked_out

    wish = wish_of(args)
    layout = load(args.file)
    compiled = compile_layout(layout)
    prepared = prepare(compiled, worked_out(layout))
    if args.chart is not None:
        check_drawing(args.chart)
    if args.out is not None:
        check_out(args.out, [Path(args.file)], args.force)
        if args.out.is_file():
            args.out.unlink()
    with contextlib.ExitStack() as stack:
        writer = _writer(args.out, compiled) if args.out is not None else None
        if writer is not None:
            stack.enter_context(writer)
        run = simulate(prepared, wish, writer)
    if args.chart is not None:
        write_drawing(args.chart, chart(run))
    start = start_named(compiled, wish.start).name
    plain = without_confirmation(layout, wish)
    cost = None if plain is None else round(plain - run.departures_an_hour, 1)
    if args.json:
        more = {"file": layout.path, "start": start, "seed": wish.seed, "latency_ms": told.LATENCY_MS}
        found = more | run.as_json() | {"confirmation_costs_departures_per_hour": cost}
        print(json.dumps(found, indent=2, ensure_ascii=False))
    else:
        print("\n".join(told.lines(run, start)))
        if cost is not None:
            print(f"Running-time confirmation costs {cost:g} departures an hour: without, {plain:.1f}.")
        if wish.seed is not None:
            print(f"Seed {wish.seed}: the same command with --seed {wish.seed} makes the same run.")
        for path in (args.chart, args.out):
            if path is not None:
                print(f"written: {path}")
    return 1 if run.trouble() else 0


def without_confirmation(layout: Layout, wish: Wish) -> float | None:
    """Departures an hour of the same run where every due hit counts at once; None: it is so already."""
    from reedway.trains.commands import worked_out

    if not layout.hits_by_running_time:
        return None
    source = re.sub(rb"(?m)^due_hits:.*$", b"", layout.source)
    other = load_bytes(layout.path, source)
    run = simulate(prepare(compile_layout(other), worked_out(other)), wish)
    return run.departures_an_hour


def simulate(prepared: Prepared, wish: Wish, writer: LogWriter | None = None) -> Traced:
    """One run to its end, with progress on a terminal; its records go to the writer."""
    kept: list[Record] = []
    run = Traced(prepared.compiled, prepared.ground, kept.append if writer is not None else None)
    stage = Stage(prepared, wish, run)
    plan_acts(stage)
    end = START_US + round(wish.hours * HOUR_US)
    with Progress("simulating", end) as progress:
        while stage.world.now < end and not stage.world.is_over:
            stage.world.run(min(end, stage.world.now + PIECE_US))
            progress.at(stage.world.now)
            if writer is not None and len(kept) >= WRITE_AT:
                writer.records(kept)
                kept.clear()
    if writer is not None:
        writer.records(kept)
    stage.world.close()
    run.close(stage.world.now)
    return run


def _writer(path: Path, compiled: Compiled) -> LogWriter:
    layout = compiled.layout
    started = datetime.now().astimezone().replace(microsecond=0).isoformat()
    header = Header(layout.name, layout.sha256, __version__, started, {"note": "simulated"})
    return LogWriter(path, header, Codec(compiled.names))
