"""Measures simulated seconds per second of `simulate` and of the SimPy model; a command, never a test.

    python tests/speed/simulate.py --hours 100 [--compare]

prints JSON for `three-trains-interlocked`: both in the same run, turn by turn, in seconds of the processor.
--compare also holds every hit of both against each other.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / part) for part in ("host", "firmware", "tests")]

from reedway.boardfile.compile import compile_layout  # noqa: E402
from reedway.layout.load import load  # noqa: E402
from reedway.trains.commands import worked_out  # noqa: E402
from reedway.trains.running.setup import HOUR_US, START_US, Stage, Wish, prepare  # noqa: E402
from trains.simpy_model import Show  # noqa: E402
from trains.test_against_simpy import LAYOUT, Hits, Hook  # noqa: E402

TURNS = 10


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--hours", type=float, default=100.0)
    parser.add_argument("--compare", action="store_true", help="also compare the hits of both")
    args = parser.parse_args()
    layout = load(str(LAYOUT))
    prepared = prepare(compile_layout(layout), worked_out(layout))
    hooks = Hook(prepared.compiled, prepared.ground)
    stage = Stage(prepared, Wish(hours=args.hours), hooks)
    places = [prepared.ground.sections[train.section].name for train in stage.world.trains]
    trains = [(t.name, place, t.s0) for t, place in zip(stage.world.trains, places, strict=True)]
    model = Show(LAYOUT, prepared.compiled.plan, trains)
    spent = {"simulate": 0.0, "simpy": 0.0}
    hits: Hits = []
    for turn in range(1, TURNS + 1):
        until = START_US + round(args.hours * HOUR_US * turn / TURNS)
        begun = time.process_time()
        stage.world.run(until)
        between = time.process_time()
        hits = model.run(args.hours * turn / TURNS)
        spent["simulate"] += between - begun
        spent["simpy"] += time.process_time() - between
    seconds = args.hours * 3600
    result: dict[str, object] = {
        "simulated_s_per_s": round(seconds / spent["simulate"]),
        "simpy_s_per_s": round(seconds / spent["simpy"]),
        "times_simpy": round(spent["simpy"] / spent["simulate"], 2),
        "hours": args.hours,
        "hits": len(hooks.kept),
    }
    if args.compare:
        result["same_hits"] = hooks.kept == hits
    print(json.dumps(result, indent=2))
    return int(args.compare and hooks.kept != hits)


if __name__ == "__main__":
    sys.exit(main())
