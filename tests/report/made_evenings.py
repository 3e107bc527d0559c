"""Seeded invented evenings of a round of five sensors; one of them may tire. For tests and for the rates.

python tests/report/made_evenings.py 200        prints the rates over so many seeds as JSON
"""

from __future__ import annotations

import json
import random
import sys

from reedway.report.evenings import Sensor, evenings_of
from reedway.report.figures import Session
from reedway.report.tally import Tally
from reedway.sessionlog.header import Header
from reedway.sessionlog.reader import Line

SENSORS = ("N1", "N2", "N3", "N4", "N5")
EVENINGS = 10
ROUNDS = 60  # of the trains in one evening
TIRED = {"closed": 0.65, "chatter": 0.5, "missed": 0.05}  # at the last evening: share, each hit, share


def evening(rng: random.Random, number: int, tiring: str, age: float) -> Session:
    """One evening; `age` is 0 for a healthy reed and 1 for the tired one."""
    tally = Tally()
    t = 1000
    wander = {name: rng.gauss(1, 0.04) for name in SENSORS}  # speed, damp, a magnet bumped
    for _ in range(ROUNDS):
        for name in SENSORS:
            t += rng.randint(6000, 9000)
            old = age if name == tiring else 0.0
            if rng.random() < 0.004 + TIRED["missed"] * old:
                continue
            closed = 90 * wander[name] * (1 - (1 - TIRED["closed"]) * old) * rng.gauss(1, 0.15)
            tally.take(Line(0, 1, t, "hit", name, 0))
            t += max(8, round(closed))
            tally.take(Line(0, 1, t, "opening", name, 0))
            if rng.random() < 0.06 + TIRED["chatter"] * old:
                tally.take(Line(0, 1, t + 2000, "chatter", name, 1))
                t += 2000
    tally.finish()
    started = f"2026-{1 + number // 28:02d}-{1 + number % 28:02d}T19:30:00+01:00"
    return Session("", Header("Made", "0" * 64, "0.1.0", started), tally, [], [])


def made(seed: int, is_tiring: bool) -> list[Sensor]:
    """What the report makes of one seed's evenings."""
    rng = random.Random(seed)
    tiring = rng.choice(SENSORS) if is_tiring else ""
    sessions = [evening(rng, n, tiring, n / (EVENINGS - 1)) for n in range(EVENINGS)]
    found = evenings_of(rng.sample(sessions, EVENINGS))  # in any order: their dates tell
    return [sensor for sensor in found if sensor.is_tiring]


def rates(seeds: int) -> dict[str, float]:
    """Shares of seeds: the tiring reed found, another one blamed, a healthy layout without alarm."""
    found = blamed = quiet = 0
    for seed in range(seeds):
        rng = random.Random(seed)
        tiring = rng.choice(SENSORS)
        named = [sensor.name for sensor in made(seed, True)]
        found += tiring in named
        blamed += any(name != tiring for name in named)
        quiet += not made(seed, False)
    return {
        "seeds": seeds,
        "evenings": EVENINGS,
        "found": round(found / seeds, 3),
        "another_blamed": round(blamed / seeds, 3),
        "healthy_quiet": round(quiet / seeds, 3),
    }


if __name__ == "__main__":
    print(json.dumps(rates(int(sys.argv[1]))))
