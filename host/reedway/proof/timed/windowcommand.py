"""`prove --window`: from where to where may a sensor be?"""

from __future__ import annotations

import argparse
import json
import sys
from typing import TYPE_CHECKING, Any

from reedway.boardfile.compile import Compiled
from reedway.problems import ReedwayError

if TYPE_CHECKING:
    from reedway.proof.timed.window import Edge

EXIT_REFUTED, EXIT_UNDECIDED = 1, 3
NOT_DECIDED = "not decided"


def run_window(args: argparse.Namespace, compiled: Compiled) -> int:
    """Prove where the sensor is, then move it both ways by whole mm until it is not proved."""
    from reedway.proof.timed.clock import Clock
    from reedway.proof.timed.judge import TimedLimits
    from reedway.proof.timed.window import Windows

    names = [sensor.name for sensor in compiled.layout.sensors]
    if args.window not in names:
        raise ReedwayError(f"{args.file}: there is no sensor '{args.window}'; there are {', '.join(names)}")
    starts = [start.name for start in compiled.layout.starts]
    if args.start is not None and args.start not in starts:
        raise ReedwayError(f"{args.file}: there is no start '{args.start}'; there are {', '.join(starts)}")
    windows = Windows(compiled, Clock(args.tick), TimedLimits(args.states_max, args.memory_max), args.start)
    here = windows.judge(args.window, 0)
    if here is not None:
        if args.json:
            print(
                json.dumps({"file": args.file, "sensor": args.window, "result": here.result, "why": here.why})
            )
        else:
            print(
                f"Where it is, {args.window} is {here.result}: {here.why}. reedway prove --timed tells more."
            )
        return EXIT_UNDECIDED if here.result == NOT_DECIDED else EXIT_REFUTED

    def told(by_mm: int) -> None:
        if sys.stderr.isatty() and not args.json:
            print(f"\r{args.window} {by_mm:+d} mm ...   ", end="", file=sys.stderr)

    edges = [windows.edge(args.window, -1, told), windows.edge(args.window, 1, told)]
    if sys.stderr.isatty() and not args.json:
        print("\r" + " " * 40 + "\r", end="", file=sys.stderr)
    if args.json:
        keys = ("back", "on")
        sides = {key: _json(edge) for key, edge in zip(keys, edges, strict=True)}
        print(json.dumps({"file": args.file, "sensor": args.window, "tick_ms": args.tick, **sides}, indent=2))
        return 0
    back, on = edges
    print(
        f"{args.window} may be from {-back.by_mm} mm farther back to {on.by_mm} mm farther on than it is "
        f"(proved in ticks of {args.tick} ms, to the mm)."
    )
    for edge, words in zip(edges, ("Farther back", "Farther on"), strict=True):
        print(f"  {words}: {_why(edge)}.")
    return 0


def _why(edge: Edge) -> str:
    verdict = edge.beyond
    if verdict is None:
        return "the ways part or join there, or it was tried no farther"
    last = next((s.told for s in reversed(verdict.steps) if s.told.kind == "timer"), None)
    how = f", after {last.text}" if last is not None and "move again" in verdict.why else ""
    at = f" at {verdict.steps[-1].ticks * verdict.tick_ms / 1000:g} s" if verdict.steps else ""
    return f"{verdict.why}{how}{at} (start {verdict.start} with the {', the '.join(verdict.trains)})"


def _json(edge: Edge) -> dict[str, Any]:
    verdict = edge.beyond
    return {
        "by_mm": edge.by_mm,
        "result": verdict.result if verdict else "",
        "why": verdict.why if verdict else "",
        "start": verdict.start if verdict else "",
        "trains": list(verdict.trains) if verdict else [],
    }
