"""Motion against published examples, and against a numeric integrator over random cases."""

from __future__ import annotations

import math
from random import Random

import pytest

from reedway.trains import kinematics as k
from trains import integrator

CLOSE_MM = 0.1


@pytest.mark.parametrize(
    ("speed", "braking", "far_mm", "long_s", "with_reaction_mm"),
    [(200, 100, 200, 2, 220), (300, 150, 300, 2, 330), (500, 250, 500, 2, 550), (400, 100, 800, 4, 840)],
)
def test_stops(speed: float, braking: float, far_mm: float, long_s: float, with_reaction_mm: float) -> None:
    """v²/(2a), v/a and v·tr (mechanics, any textbook), with a reaction of 0.1 s."""
    assert k.stop_distance_mm(speed, braking) == pytest.approx(far_mm)
    assert k.stop_time_s(speed, braking) == pytest.approx(long_s)
    assert k.stop_distance_mm(speed, braking, 0.1) == pytest.approx(with_reaction_mm)
    assert k.stop_time_s(speed, braking, 0.1) == pytest.approx(long_s + 0.1)


# Scales of NEM 010 (MOROP, ed. 2011, table 1); 1:87.1, 1:76.2, 1:48 as sold in countries with inches.
@pytest.mark.parametrize(
    ("scale", "km_h_100"),
    [
        (220, 126.263),
        (160, 173.611),
        (120, 231.481),
        (87, 319.285),
        (64, 434.028),
        (45, 617.284),
        (32, 868.056),
        (22.5, 1234.568),
    ],
)
def test_scale_speed(scale: float, km_h_100: float) -> None:
    assert k.scale_mm_s(100, scale) == pytest.approx(km_h_100, abs=5e-4)
    assert k.scale_km_h(k.scale_mm_s(100, scale), scale) == pytest.approx(100)


@pytest.mark.parametrize(("scale", "mph_60"), [(87.1, 307.949), (76.2, 352.0), (48, 558.8), (32, 838.2)])
def test_scale_speed_in_miles(scale: float, mph_60: float) -> None:
    assert k.scale_mm_s(60 * 1.609344, scale) == pytest.approx(mph_60, abs=5e-4)


def test_fouling_points() -> None:
    """46 mm: track centres of NEM 112; 1970 at 1:9.25: "Where's the point?", pwayblog.com, 20 Feb 2023."""
    along, leg, _ = k.fouling_mm(46, 6)
    assert (along, leg) == (276.0, pytest.approx(276.957, abs=5e-4))
    along, leg, _ = k.fouling_mm(106, 8)
    assert (along, leg) == (848.0, pytest.approx(849.655, abs=5e-4))
    assert k.fouling_mm(1970, 9.25)[2] == pytest.approx(1973, abs=0.5)


def test_dwell() -> None:
    """16 mm: 53.3 ms at 0.3 m/s, 16 ms at 1 m/s."""
    assert 1000 * k.dwell_s(16, 300) == pytest.approx(53.3, abs=0.05)
    assert 1000 * k.dwell_s(16, 1000) == pytest.approx(16.0)


def test_whole_microseconds_are_rounded_up() -> None:
    assert [k.whole_us(t) for t in (0.0, 1e-7, 0.001, 0.0010001, 2 / 3)] == [0, 1, 1000, 1001, 666_667]


@pytest.mark.parametrize("seed", range(15))
def test_starting_agrees_with_the_integrator(seed: int) -> None:
    rng = Random(seed)
    top, acceleration = rng.uniform(30, 900), rng.uniform(30, 600)
    speed = rng.choice((0.0, rng.uniform(0, top)))
    far = rng.uniform(5, 900)
    t, x, v = integrator.run(
        speed, lambda t, x, v: min(acceleration, (top - v) / 1e-3), lambda t, x, v: x >= far
    )
    start = k.Start(speed, acceleration, top)
    assert start.distance_mm(t) == pytest.approx(x, abs=CLOSE_MM)
    assert start.time_s(far) * top == pytest.approx(t * top, abs=CLOSE_MM)
    assert start.speed_at(t) == pytest.approx(v, abs=acceleration * 1e-3 + 1e-3)


@pytest.mark.parametrize("seed", range(15))
def test_coasting_agrees_with_the_integrator(seed: int) -> None:
    rng = Random(seed)
    speed = rng.uniform(30, 600)
    if seed % 2:
        long_s = rng.uniform(0.05, 2)
        coast, slowing = k.Coast(k.SO_LONG, run_on_s=long_s), speed / long_s
    else:
        far = rng.uniform(2, 300)
        coast, slowing = k.Coast(k.SO_FAR, run_on_mm=far), speed * speed / (2 * far)
    t, x, _ = integrator.run(speed, lambda t, x, v: -slowing, lambda t, x, v: v <= 0)
    assert coast.distance_mm(speed) == pytest.approx(x, abs=CLOSE_MM)
    assert coast.time_s(speed) == pytest.approx(t, abs=1e-6)
    assert k.stop_distance_mm(speed, slowing) == pytest.approx(x, abs=CLOSE_MM)
    part = rng.uniform(0, t)
    _, x, _ = integrator.run(speed, lambda t, x, v: -slowing, lambda t, x, v: t >= part)
    assert coast.passed_mm(speed, part) == pytest.approx(x, abs=CLOSE_MM)


def test_the_ends_of_coasting() -> None:
    assert k.Coast(k.AT_ONCE, 30).distance_mm(300) == 0
    assert k.Coast(k.NEVER).distance_mm(1) == math.inf
    assert k.Coast(k.NEVER).passed_mm(300, 2) == 600
    assert k.Coast(k.SO_FAR, 50).distance_mm(0) == 0
    assert k.Coast(k.SO_FAR, 50).passed_mm(300, 99) == 50


def test_at_once() -> None:
    start = k.Start(0, math.inf, 300)
    assert (start.time_s(600), start.distance_mm(2), start.speed_at(0)) == (2, 600, 300)
    assert k.stop_distance_mm(300, math.inf, 0.1) == pytest.approx(30)
    with pytest.raises(ValueError, match="top above 0"):
        k.Start(0, 100, 0)
