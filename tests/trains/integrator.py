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
