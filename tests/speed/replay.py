"""Measures how many edges a second the logic takes in, with its rules and without; a command, never a test.

    python tests/speed/replay.py --edges 1000000 [--profile]

prints JSON. An edge is one change of one contact. Every pass of a magnet bounces: 11 edges when it closes and
11 when it opens, a millisecond apart, of which one hit and one opening are confirmed; a rearm follows. Every
record is drained from the journal (copied out of it). Seconds are of the processor, so that others who use
the machine count less.
"""

from __future__ import annotations

import argparse
import cProfile
import io
import json
import pstats
import sys
import time
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from random import Random

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "firmware"), str(Path(__file__).parent)]

import busy_layout  # noqa: E402

from reedlogic.controller import Controller  # noqa: E402
from reedlogic.ring import MASK  # noqa: E402

JOURNAL = 2000
CHUNK = 400  # scans between two drains
BOUNCES = 5  # a worn contact, a millisecond apart: more edges for each hit that is served
SEED = 20261125


def edges(rng: Random) -> Iterator[tuple[int, int]]:
    """(ms, raw word) after every edge: passes of magnets over twelve sensors, one after the other."""
    now, raw, sensor = 2000, 0, 0
    while True:
        sensor = (sensor + rng.choice((1, 1, 1, 2, 5))) % busy_layout.SENSORS
        for closing in (True, False):
            for _ in range(2 * BOUNCES + 1):
                raw ^= 1 << sensor
                now += 1
                yield now, raw
            now += rng.randint(8, 60) if closing else rng.randint(25, 200)


class Drain:
    """Where the journal goes: copies of its two arrays, counted and forgotten now and then."""

    def __init__(self) -> None:
        self.records = 0

    def take(self, controller: Controller) -> None:
        journal = controller.journal
        assert not journal.lost
        first, count = journal.next - journal.held(), journal.held()
        times, data = journal.times[max(first, 0) : journal.next], journal.data[max(first, 0) : journal.next]
        if first < 0:
            times, data = journal.times[first:] + times, journal.data[first:] + data
        assert len(times) == len(data) == count
        self.records += count
        journal.clear()


def run(with_rules: bool, count: int, profile: cProfile.Profile | None = None) -> dict[str, float]:
    """Feeds `count` edges; only the feeding and draining is timed, not the making of edges."""
    controller = Controller(busy_layout.plan(with_rules), JOURNAL)
    controller.begin(0, 0, 0)
    controller.scan(1, 0, 0)
    controller.order(1, 0, 63)
    controller.settle(1)
    controller.scan(1999, 0, 0)
    drain, source = Drain(), edges(Random(SEED))
    drain.take(controller)
    drain.records = 0
    spent, left = 0.0, count
    while left > 0:
        steps = list(islice(source, min(CHUNK, left)))
        left -= len(steps)
        if profile:
            profile.enable()
        begun = time.process_time()
        feed(controller, steps)
        drain.take(controller)
        spent += time.process_time() - begun
        if profile:
            profile.disable()
    return {
        "edges": count,
        "cpu_seconds": round(spent, 3),
        "edges_per_s": round(count / spent),
        "records": drain.records,
        "records_per_edge": round(drain.records / count, 3),
    }


def feed(controller: Controller, steps: list[tuple[int, int]]) -> None:
    scan = controller.scan
    for now, raw in steps:
        scan(now & MASK, raw, 0)


def where(count: int) -> list[dict[str, object]]:
    """The profile with rules: own time of each function, greatest first."""
    profile = cProfile.Profile()
    run(True, count, profile)
    table = pstats.Stats(profile, stream=io.StringIO()).stats  # type: ignore[attr-defined]
    total = sum(own for _, _, own, _, _ in table.values())
    rows = [
        {
            "function": f"{Path(file).stem}.{name}" if file != "~" else name.strip("<>"),
            "calls": calls,
            "own_percent": round(100 * own / total, 1),
        }
        for (file, _, name), (_, calls, own, _, _) in table.items()
    ]
    return sorted(rows, key=lambda row: -float(str(row["own_percent"])))[:15]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--edges", type=int, default=1_000_000)
    parser.add_argument("--profile", action="store_true", help="also say where the time goes")
    arguments = parser.parse_args()
    result: dict[str, object] = {
        "interpreter": f"{sys.implementation.name} {sys.version.split()[0]}",
        "with_rules": run(True, arguments.edges),
        "without_rules": run(False, arguments.edges),
    }
    if arguments.profile:
        result["profile"] = where(min(arguments.edges, 100_000))
    print(json.dumps(result, indent=2))


if __name__ == "__main__":
    main()
