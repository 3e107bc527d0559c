"""How far a train is behind the one ahead of it, in closed form, and when the two would meet."""

from __future__ import annotations

import math
from dataclasses import dataclass

from reedway.trains.kinematics import whole_us
from reedway.trains.running.ground import Ground
from reedway.trains.running.train import NEVER_US, STAND, Running


@dataclass(frozen=True)
class Pair:
    """Since `t0` the distance is d + v t + a/2 t2 (mm, s), until either of the two moves otherwise."""

    behind: Running
    ahead: Running
    section: int  # of the nose behind
    t0: int
    d: float
    v: float
    a: float
    meet_us: int
    was_moving: bool

    def at(self, dt: float) -> float:
        return self.d + (self.v + self.a * dt / 2) * dt

    def again(self, now: int) -> Pair:
        """From now on, one of the two moving otherwise."""
        return _course(self.behind, self.ahead, self.at((now - self.t0) / 1e6), now)

    def least(self, t: int) -> tuple[float, int]:
        """The smallest distance from t0 to t, and when."""
        end = (t - self.t0) / 1e6
        found = [(self.d, 0.0), (self.at(end), end)]
        if self.a > 0 and 0 < -self.v / self.a < end:
            found.append((self.at(-self.v / self.a), -self.v / self.a))
        least, at = min(found)
        return least, self.t0 + whole_us(at)


def pair(ground: Ground, lies: list[int], trains: list[Running], behind: Running, now: int) -> Pair | None:
    """The train ahead along the way as the points lie now; None: there is none."""
    section, so_far = behind.section, -behind.at(now)
    first = True
    for _ in range(len(ground.sections) + 1):
        best: tuple[float, Running] | None = None
        for other in trains:
            if other is behind or other.path[0][0] != section:
                continue
            tail = so_far + other.at(now) - other.length - other.path[0][1]
            if (tail >= -1e-3 or not first) and (best is None or tail < best[0]):
                best = tail, other
        if best is not None:
            return _course(behind, best[1], best[0], now)
        so_far += ground.sections[section].length
        targets = ground.track.to[section]
        section = targets[lies[ground.sections[section].turnout]] if len(targets) == 2 else targets[0]
        first = False
    return None


def _course(behind: Running, ahead: Running, distance: float, now: int) -> Pair:
    v = ahead.speed_at(now) - behind.speed_at(now)
    a = ahead.a - behind.a
    seconds = _meets(distance, v, a)
    meet = NEVER_US if math.isinf(seconds) else now + whole_us(seconds)
    return Pair(behind, ahead, behind.section, now, distance, v, a, meet, behind.phase != STAND)


def _meets(d: float, v: float, a: float) -> float:
    """The first t >= 0 at which d + v t + a/2 t2 is 0; inf: none."""
    if d <= 0:
        return 0.0
    if abs(a) < 1e-12:
        return -d / v if v < 0 else math.inf
    root = v * v - 2 * a * d
    if root < 0:
        return math.inf
    q = -v - math.copysign(math.sqrt(root), v) if v else -math.sqrt(root)
    times = [t for t in (q / a, 2 * d / q if q else math.inf) if t > 0]
    return min(times, default=math.inf)
