"""`tune`: where may this sensor be, how long may this timer run?"""

from __future__ import annotations

import argparse
import json
import math
import re
from pathlib import Path
from typing import Any

from reedway.boardfile.compile import compile_layout
from reedway.columns import cut, table
from reedway.drawingfile import check_drawing, write_drawing
from reedway.layout.load import load
from reedway.layout.model import Layout
from reedway.numbers import whole
from reedway.problems import ReedwayError
from reedway.sessionlog.progress import Progress
from reedway.trains import gowindow
from reedway.trains.running.commands import HOURS, add_run_options, time_ms, wish_of
from reedway.trains.running.setup import prepare
from reedway.trains.running.tunechart import chart, shown
from reedway.trains.running.tuning import (
    SIDES,
    SPEED,
    SPOT,
    TIMER,
    UNITS,
    VALUES_MAX,
    Tried,
    Trier,
    Tuned,
    Vary,
    kind_of,
    tune,
    wishes,
)

SEEDS_MAX = 1000
NUMBER = re.compile(r"\s*([+-]?[0-9]+(?:\.[0-9]+)?)\s*([a-z/]*)\s*")
FACTORS = {SPOT: {"mm": 1.0, "cm": 10.0, "m": 1000.0}, SPEED: {"mm/s": 1.0, "cm/s": 10.0, "m/s": 1000.0}}


def register(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = subparsers.add_parser(
        "tune",
        description="Try a sensor spot, a timer or a speed over a range: where does nothing go wrong? "
        "Every value is run with every order of the trains, with all spans at each of their ends, and "
        "with seeds. Exit code 0: the value in the file is in the window; 1: it is not, or a bad file.",
        epilog="examples:\n"
        '  reedway tune my.yaml --vary "sensor N1 spot" "600 mm" "2 m" "50 mm" --chart n1.svg\n'
        '  reedway tune my.yaml --vary "timer let out" "1 s" "12 s" "500 ms" --seeds 20\n'
        '  reedway tune my.yaml --vary "sensor N1 spot" "0.6 m" "2 m" "0.2 m" \\\n'
        '      --vary "timer let out" "1 s" "9 s" "1 s"\n'
        '  reedway tune my.yaml --vary "train railcar speed" "200 mm/s" "500 mm/s" "20 mm/s" --json\n',
    )
    parser.add_argument("file", metavar="FILE", help="layout file")
    parser.add_argument(
        "--vary",
        nargs=4,
        action="append",
        required=True,
        metavar=("WHAT", "FROM", "TO", "STEP"),
        help="'sensor NAME spot', 'timer NAME' or 'train NAME speed'; once or twice",
    )
    parser.add_argument(
        "--seeds", type=whole(0, SEEDS_MAX), default=4, metavar="K", help="drawn runs a value (default: 4)"
    )
    parser.add_argument("--hours", type=HOURS, default=0.2, metavar="H", help="each run (default: 0.2)")
    add_run_options(parser)
    parser.add_argument("--chart", type=Path, metavar="SVG", help="draw the figures over the number")
    parser.add_argument("--json", action="store_true", help="print JSON")
    parser.set_defaults(run=run_tune)


def amount(kind: str, text: str) -> float:
    """A value of the command line in mm, ms or mm/s; ReedwayError says what is wrong."""
    if kind == TIMER:
        return float(time_ms("--vary", text))
    form = NUMBER.fullmatch(text)
    if form is None or form[2] not in FACTORS[kind]:
        units = ", ".join(FACTORS[kind])
        raise ReedwayError(
            f"--vary: '{text}' is no value here; units are {units}; write for example 50 {UNITS[kind]}"
        )
    return float(form[1]) * FACTORS[kind][form[2]]


def vary_of(layout: Layout, words: list[str]) -> Vary:
    """One --vary."""
    name, kind = kind_of(layout, words[0])
    low, high, step = (amount(kind, text) for text in words[1:])
    if step <= 0 or high < low:
        raise ReedwayError("--vary: FROM is the smaller value, TO the larger one, STEP above 0")
    return Vary(name, kind, low, high, step)


def run_tune(args: argparse.Namespace) -> int:
    from reedway.trains.commands import worked_out

    layout = load(args.file)
    if len(args.vary) > 2:
        raise ReedwayError("--vary: one number or two; more cannot be shown")
    varied = [vary_of(layout, words) for words in args.vary]
    count = math.prod(len(vary.values()) for vary in varied)
    if count > VALUES_MAX:
        raise ReedwayError(f"--vary: {count} values; at most {VALUES_MAX}; take a longer STEP")
    if args.chart is not None:
        check_drawing(args.chart)
    known = worked_out(layout)
    compiled = compile_layout(layout)
    prepare(compiled, known)  # says what is missing
    wish = wish_of(args)
    each = len(wishes(layout, compiled, wish, args.seeds))
    with Progress("tuning", count) as progress, Trier(args.file, known, varied, wish, args.seeds) as trier:
        tuned = tune(layout, varied, trier, progress.at, each)
    if args.chart is not None:
        write_drawing(args.chart, chart(tuned))
    paper = _paper(tuned, compiled, known)
    if args.json:
        print(json.dumps(as_json(tuned) | {"inequalities": paper}, indent=2, ensure_ascii=False))
    else:
        print("\n".join(lines(tuned, paper)))
        if args.chart is not None:
            print(f"written: {args.chart}")
    return 0 if _is_in(tuned) else 1


def _is_in(tuned: Tuned) -> bool:
    if tuned.window is not None:
        return tuned.window.low <= tuned.now[0] <= tuned.window.high
    return len(tuned.varied) > 1 and any(not one.risk for one in tuned.tried)


def _paper(tuned: Tuned, compiled, known) -> dict[str, Any] | None:  # type: ignore[no-untyped-def]
    """The window of a go sensor by the inequalities of hardware/trains.md; None for anything else."""
    parts = gowindow.find(tuned.layout)
    if (
        len(tuned.varied) > 1
        or parts is None
        or (tuned.varied[0].name, tuned.varied[0].kind) != (parts.sensor, SPOT)
    ):
        return None
    prepared = prepare(compiled, known)
    near, far = gowindow.GoWindow(compiled, prepared.ground, list(prepared.makeups.values()), parts).limits()
    return {
        "low_mm": round(near.mm, 2),
        "high_mm": round(far.mm, 2),
        near.side: {"kind": near.kind, "train": near.train},
        far.side: {"kind": far.kind, "train": far.train},
    }


def as_json(tuned: Tuned) -> dict[str, Any]:
    """The sweep, for --json; values in mm, ms, mm/s."""
    window = tuned.window
    return {
        "file": tuned.layout.path,
        "varied": [{"name": v.name, "what": v.kind, "unit": UNITS[v.kind]} for v in tuned.varied],
        "now": list(tuned.now),
        "runs_each": tuned.runs_each,
        "values": [
            {
                "values": list(one.values),
                "departures_per_hour": round(one.departures, 1),
                "trains_out": round(one.out, 3),
                "wait_s_max": round(one.wait_s, 1),
                "nearest_mm": round(one.nearest, 1) if math.isfinite(one.nearest) else None,
                "risk": round(one.risk, 4),
                "went_wrong": dict(one.kinds),
            }
            for one in tuned.tried
        ],
        "window": None
        if window is None
        else {"low": window.low, "high": window.high, "below": window.below, "above": window.above},
    }


def lines(tuned: Tuned, paper: dict[str, Any] | None) -> list[str]:
    """The sweep as a table, and the window, in lines that fit the terminal."""
    return [cut(line) for line in _lines(tuned, paper)]


def _lines(tuned: Tuned, paper: dict[str, Any] | None) -> list[str]:
    head = (
        *(vary.title for vary in tuned.varied),
        *([""] if len(tuned.varied) == 1 else []),
        "departures an hour",
        "trains out",
        "longest wait s",
        "nearest mm",
        "risk %",
        "went wrong",
    )
    rows = [_row(tuned, one) for one in tuned.tried]
    found = [f"{tuned.layout.name}: {tuned.runs_each} runs for each value", *table(head, rows), ""]
    kinds = list(dict.fromkeys(one.kind for one in tuned.tried if one.kind))
    found += [f"  ({chr(97 + n)}) {kind}" for n, kind in enumerate(kinds)]
    if len(tuned.varied) == 1:
        found += ["", *_window_lines(tuned)]
    if paper is not None:
        found.append(
            f"By the inequalities of hardware/trains.md: {paper['low_mm']:g} mm to {paper['high_mm']:g} mm; "
            f"too near: {paper['too near']['kind']} ({paper['too near']['train']}); "
            f"too far: {paper['too far']['kind']} ({paper['too far']['train']})."
        )
    return found


def _row(tuned: Tuned, one: Tried) -> tuple[str, ...]:
    kinds = list(dict.fromkeys(tried.kind for tried in tuned.tried if tried.kind))
    good = one.risk < 1
    return (
        *(shown(vary, value) for vary, value in zip(tuned.varied, one.values, strict=True)),
        *([""] if len(tuned.varied) == 1 else []),
        f"{one.departures:.1f}" if good else "-",
        f"{one.out:.2f}" if good else "-",
        f"{one.wait_s:.1f}" if good else "-",
        f"{one.nearest:.0f}" if math.isfinite(one.nearest) else "-",
        f"{100 * one.risk:.0f}",
        f"({chr(97 + kinds.index(one.kind))})" if one.kind else "",
    )


def _window_lines(tuned: Tuned) -> list[str]:
    vary, window = tuned.varied[0], tuned.window
    if window is None:
        return ["No value without something going wrong."]
    short, long = SIDES[vary.kind]
    low, high = shown(vary, window.low), shown(vary, window.high)
    found = [f"Nothing goes wrong from {low} to {high}; the file has {shown(vary, tuned.now[0])}."]
    for side, words in ((short, window.below), (long, window.above)):
        found.append(f"  {side}: {words or 'nothing went wrong down to the end of the range'}")
    if not window.above:
        found[-1] = f"  {long}: nothing went wrong up to the end of the range"
    return found
