"""Intervals over random stock and layouts: inside nothing is wrong with the sensor, outside something is."""

from __future__ import annotations

from random import Random

import pytest

from reedway.trains.planned import Plan
from reedway.trains.planning import plan
from reedway.trains.plantext import interval
from trains.test_standing import made
from trains.valley import loaded

LONG = "length: 9 m, dead_end: 3 m"


def random_layout(rng: Random, longest: int) -> tuple[str, int]:
    """A random train in a place that may be short; and where N1 is."""
    one = made(rng)
    dead = rng.randint(700, 3000)
    text = one.text.replace(
        LONG, f"length: {rng.randint(longest // 4, longest) + dead} mm, dead_end: {dead} mm"
    )
    text = text.replace("turnouts:\n", "turnouts:\n  entry: {positions: [A, B], coils: [coil 3, coil 4]}\n")
    here = text[text.index("  N1: {place") :]
    at = int(here.split(": ")[3].split(" ")[0]) * (1 if "beyond_gap" in here else -1)
    return text[: text.index("  N1: {place")], at


def planned(text: str, at: int, clear_of: str) -> Plan:
    where = f"beyond_gap: {at} mm" if at >= 0 else f"set_back: {-at} mm"
    return plan(loaded(f"{text}  N1: {{place: track A, {where}{clear_of}}}\n"), {})


def said_of_the_spot(found: Plan) -> list[str]:
    """What is wrong that another spot could mend."""
    sensor = [p.text for p in found.problems if p.text.startswith("N1: ") and "a sure hit" not in p.text]
    if not found.sites[0].cuts:
        return sensor
    return [*sensor, *(p.text for p in found.problems if "its nose" in p.text or "its tail" in p.text)]


@pytest.mark.parametrize("seed", range(45))
def test_the_interval_is_right(seed: int) -> None:
    """In every third case the tail need not be clear at the hit, only where the train stands."""
    clear_of = ", clear_of: entry" if seed % 3 else ""
    rng = Random(1000 + seed)
    text, start = random_layout(rng, 2200 if clear_of else 1000)
    start = max(start, -200)
    found = planned(text, start, clear_of)
    window, site = found.windows["N1"], found.sites[0]
    low, high = interval(site, window)
    assert site.place is not None
    ends = (-int(site.place.live), int(site.place.dead))
    if low > high:
        spots = range(ends[0], ends[1], 137)
        assert all(said_of_the_spot(planned(text, at, clear_of)) for at in spots)
        return
    for at in {int(low), int((low + high) / 2), int(high)}:
        there = planned(text, at, clear_of)
        assert said_of_the_spot(there) == [], at
        assert interval(there.sites[0], there.windows["N1"]) == (low, high)
    for at in (int(low) - 1, int(high) + 1):
        if ends[0] <= at <= ends[1]:
            assert said_of_the_spot(planned(text, at, clear_of)), at
