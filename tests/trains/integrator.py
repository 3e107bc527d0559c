"""Trains moved on in small steps of time: written without the product's functions, to hold them against."""

from __future__ import annotations

from collections.abc import Callable


def run(
    speed: float, force: Callable[[float, float, float], float], until: Callable[[float, float, float], bool]
) -> tuple[float, float, float]:
    """Time, distance and speed when `until(t, x, v)` becomes true; `force(t, x, v)` is the acceleration.

    Steps of 0.5 ms, Heun's method; the last step is halved until it is below a nanosecond.
    """
    t, x, v, step = 0.0, 0.0, speed, 5e-4
    while step > 1e-9:
        a = force(t, x, v)
        ahead = v + a * step
        a = (a + force(t + step, x + v * step, ahead)) / 2
        new_v = v + a * step
        new = (t + step, x + (v + new_v) / 2 * step, new_v)
        if until(*new):
            step /= 2
        else:
            t, x, v = new
        if t > 600:
            raise AssertionError("it never happens")
    return t, x, v


STEP_MM = 0.03


def stands(
    speed: float,
    pick_ups: list[float],
    magnet: float,
    zone: float,
    sensor: float | None,
    dead_after_s: float,
    slowing: float,
) -> float:
    """Where a nose stands that comes at constant speed to a gap at 0; all in mm and s.

    Pick-ups and magnet count from the nose back. The rail beyond the gap is dead from the start (no
    sensor), or so long after the magnet came within half its zone of the sensor. The train is driven while
    a pick-up is on live rail; then it slows evenly (0: it stands at once).
    """
    nose = min(0.0, (sensor if sensor is not None else 0.0) - zone) - 1.0
    last = max(pick_ups)  # it alone decides
    step, now, dead_at = STEP_MM / speed, 0.0, 0.0 if sensor is None else float("inf")
    while True:
        if dead_at == float("inf") and sensor is not None and nose - magnet >= sensor - zone / 2:
            dead_at = now + dead_after_s
        if nose >= last and now >= dead_at:
            break
        nose, now = nose + speed * step, now + step
    v = speed if slowing else 0.0
    while v > 0:
        less = max(0.0, v - slowing * step)
        nose, v = nose + (v + less) / 2 * step, less
    return nose
