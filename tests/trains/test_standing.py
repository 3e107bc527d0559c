"""Standing positions of `plan` against the numeric integrator, over random stock and layouts."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

import pytest

from reedway.trains.planning import plan
from trains import integrator
from trains.valley import loaded

CLOSE_MM = 0.1
REED_AND_SCAN_S = 0.002  # a dry reed closes within 1 ms; the board looks every 1 ms

LAYOUT = """\
reedway: 1
layout: Random
board: pico
sensors:
  N1: {{terminal: sensor 1, confirm: {confirm} ms}}
turnouts:
  exit: {{positions: [A, B], coils: [coil 1, coil 2], power_routing: true, pulse: {pulse} ms}}
places:
  track A: {{}}
rules:
  - at: N1 hit
    do: [throw exit to B]
vehicles:
{vehicles}
trains:
  random train:
    vehicles: [{names}]
    speed: {slow} mm/s to {fast} mm/s
    when_cut: {cut}
lengths:
  track A: {{length: 9 m, dead_end: 3 m{cut_by}}}
spots:
  N1: {{place: track A, {spot}}}
"""


@dataclass
class Made:
    """A random train at a random place: its file, and its figures as the test reckons them."""

    text: str
    pick_ups: list[float]
    magnet: float
    zone: tuple[float, float]
    speed: tuple[float, float]
    sensor: float | None
    delay_s: tuple[float, float]
    run_on: tuple[float, float]
    run_on_s: float


def made(rng: Random) -> Made:
    vehicles, names, pick_ups, front = [], [], [], 0.0
    group: list[float] = []
    drives = False
    magnet = None
    zone = sorted((rng.randint(4, 20), rng.randint(20, 50)))
    cars = rng.randint(1, 6)
    engine = rng.randrange(cars)
    for n in range(cars):
        length = rng.randint(60, 280)
        keys = [f"length: {length} mm"]
        if rng.random() < 0.6 or n == engine:
            first, last = sorted(rng.sample(range(length + 1), 2))
            keys.append(f"pick_ups: {first} mm to {last} mm")
            group += [front + first, front + last]
        if n == engine or rng.random() < 0.2:
            keys.append("motor: true")
            drives = True
        if magnet is None and (rng.random() < 0.5 or n == cars - 1):
            at = rng.randint(0, length)
            magnet = front + at
            keys += [f"magnet: {at} mm", f"operates_over: {zone[0]} mm to {zone[1]} mm"]
        wired = n < cars - 1 and rng.random() < 0.4
        if wired:
            keys.append("wired_through: true")
        else:
            pick_ups += group if drives else []
            group, drives = [], False
        vehicles.append(f"  car {n}: {{{', '.join(keys)}}}")
        names.append(f"car {n}")
        front += length
    slow, fast = sorted((rng.randint(40, 250), rng.randint(250, 600)))
    confirm, pulse = rng.randint(1, 40), rng.randint(5, 250)
    run_on, run_on_s = (0.0, 0.0), 0.0
    cut = "stops at once"
    if rng.random() < 0.5:
        low, high = sorted((rng.randint(0, 60), rng.randint(60, 200)))
        run_on, cut = (low, high), f"runs on so far\n    run_on: {low} mm to {high} mm"
    elif rng.random() < 0.7:
        ms = rng.randint(50, 900)
        run_on_s, cut = ms / 1000, f"runs on so long\n    run_on_time: {ms} ms"
    cuts = rng.random() < 0.7
    sensor = rng.randint(-900, 600)
    text = LAYOUT.format(
        confirm=confirm,
        pulse=pulse,
        vehicles="\n".join(vehicles),
        names=", ".join(names),
        slow=slow,
        fast=fast,
        cut=cut,
        cut_by=", cut_by: N1" if cuts else "",
        spot=f"beyond_gap: {sensor} mm" if sensor >= 0 else f"set_back: {-sensor} mm",
    )
    delay_s = (confirm / 1000, (confirm + pulse) / 1000 + REED_AND_SCAN_S)
    assert magnet is not None
    where = sensor if cuts else None
    return Made(text, pick_ups, magnet, (zone[0], zone[1]), (slow, fast), where, delay_s, run_on, run_on_s)


def integrated(one: Made, speed: float, zone: float, delay_s: float, run_on: float) -> float:
    if one.run_on_s:
        slowing = speed / one.run_on_s
    else:
        slowing = speed * speed / (2 * run_on) if run_on else 0.0
    return integrator.stands(speed, one.pick_ups, one.magnet, zone, one.sensor, delay_s, slowing)


@pytest.mark.parametrize("seed", range(40))
def test_plan_stands_where_the_integrator_does(seed: int) -> None:
    rng = Random(seed)
    one = made(rng)
    (stand,) = plan(loaded(one.text), {}).stands
    low = integrated(one, one.speed[0], one.zone[1], one.delay_s[0], one.run_on[0])
    high = integrated(one, one.speed[1], one.zone[0], one.delay_s[1], one.run_on[1])
    assert stand.nose == (pytest.approx(low, abs=CLOSE_MM), pytest.approx(high, abs=CLOSE_MM))
    assert stand.magnets[0][1][0] == pytest.approx(low - one.magnet, abs=CLOSE_MM)
    assert stand.pick_ups[1][1] == pytest.approx(high - max(one.pick_ups), abs=CLOSE_MM)
    between = [rng.uniform(*pair) for pair in (one.speed, one.zone, one.delay_s, one.run_on)]
    nose = integrated(one, *between)
    assert stand.nose[0] - CLOSE_MM <= nose <= stand.nose[1] + CLOSE_MM


def test_the_random_cases_are_of_all_kinds() -> None:
    """Cut by the sensor and by the gap, with and without run-on, far and near."""
    some = [made(Random(seed)) for seed in range(40)]
    assert 5 < sum(one.sensor is None for one in some) < 25
    assert 5 < sum(one.run_on_s > 0 for one in some) < 30 and sum(one.run_on[1] > 0 for one in some) > 5
    by_hit = [
        one
        for one in some
        if one.sensor is not None and one.sensor + one.magnet - one.zone[1] / 2 > max(one.pick_ups)
    ]
    assert len(by_hit) >= 5
