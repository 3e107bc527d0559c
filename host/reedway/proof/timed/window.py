"""From where to where a sensor may be moved so that the layout is still proved against the clock."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from reedway.boardfile.compile import Compiled
from reedway.problems import ReedwayError
from reedway.proof.scene import Scene, scenes
from reedway.proof.timed.clock import Clock
from reedway.proof.timed.judge import TimedLimits, TimedVerdict, judge_timed, orders
from reedway.proof.timed.rails import Rails, trains_of

FARTHEST_MM = 20_000


@dataclass(frozen=True)
class Edge:
    """The last whole mm that is proved, and what comes beyond it (None: the end of the track is reached)."""

    by_mm: int  # from where the file has it; farther on is above 0
    beyond: TimedVerdict | None


class Windows:
    """Tries one sensor of one layout, all its starts and orders of trains."""

    def __init__(
        self, compiled: Compiled, clock: Clock, limits: TimedLimits, start: str | None = None
    ) -> None:
        self.compiled = compiled
        self.clock = clock
        self.limits = limits
        self.made = trains_of(compiled.layout)
        self.orders = orders
        self.scenes: list[Scene] = []
        for index, one in enumerate(compiled.layout.starts):
            if start is None or start == one.name:
                self.scenes += scenes(compiled, index)
        self.last: tuple[Scene, tuple[str, ...]] | None = None  # what was bad last time is tried first

    def judge(self, sensor: str, by_mm: int) -> TimedVerdict | None:
        """The first that is not proved with the sensor there, or None. ReedwayError: it cannot be there."""
        rails = Rails(self.compiled, self.clock, {sensor: float(by_mm)})
        cases = [(scene, order) for scene in self.scenes for order in self.orders(scene, self.made)]
        cases.sort(key=lambda case: (case[0], tuple(m.name for m in case[1])) != self.last)
        for scene, order in cases:
            verdict = judge_timed(scene, rails, order, self.limits)
            if verdict.result != "proved":
                self.last = scene, verdict.trains
                return verdict
        return None

    def edge(self, sensor: str, way: int, told: Callable[[int], None] | None = None) -> Edge:
        """The edge on one side: `way` 1 farther on, -1 farther back. It must be proved where it is."""
        good, step = 0, 16
        bad: int | None = None
        beyond: TimedVerdict | None = None
        while bad is None or bad - good > 1:
            tried = good + step if bad is None else (good + bad) // 2
            if told is not None:
                told(way * tried)
            try:
                verdict = self.judge(sensor, way * tried)
            except ReedwayError:
                if step == 1 or tried - good == 1:
                    return Edge(way * good, None)
                step = max(1, (tried - good) // 2)  # the track ends: creep up to it
                continue
            if verdict is not None:
                bad, beyond = tried, verdict
            else:
                good, step = tried, min(2 * step, FARTHEST_MM) if bad is None else step
            if good >= FARTHEST_MM:
                return Edge(way * good, None)
        return Edge(way * good, beyond)
