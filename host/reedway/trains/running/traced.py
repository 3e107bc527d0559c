"""Where every nose was: the first minutes of a run, and the last ones."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from typing import NamedTuple

from reedway.boardfile.compile import Compiled
from reedway.trains.running.controlled import Record
from reedway.trains.running.figures import Figures
from reedway.trains.running.ground import Ground
from reedway.trains.running.train import Running

CHART_US = 360_000_000  # as much as a chart shows
AFTER_US = 20_000_000  # of what is after something went wrong


class Point(NamedTuple):
    """From t on the nose is in a section at s + v t + a/2 t2 (mm, s); section -1: it is not on the track."""

    t: int
    section: int
    s: float
    v: float
    a: float


class Traced(Figures):
    """Figures with the traces that a chart needs, and with every record passed on."""

    def __init__(self, compiled: Compiled, ground: Ground, take: Callable[[Record], None] | None) -> None:
        super().__init__(compiled, ground)
        self.take = take
        self.first: dict[str, list[Point]] = {}
        self.last: dict[str, deque[Point]] = {}
        self._gone: set[Running] = set()

    def _point(self, t: int, train: Running) -> None:
        s = train.at(t)
        if train in self._gone:
            point = Point(t, -1, 0.0, 0.0, 0.0)
        else:
            point = Point(t, train.section, s, train.speed_at(t), train.a)
        if t <= CHART_US + 5_000_000:
            self.first.setdefault(train.name, []).append(point)
        last = self.last.setdefault(train.name, deque())
        last.append(point)
        while len(last) > 1 and last[1].t < min(t, self._trouble_us() or t) - CHART_US:
            last.popleft()

    def put(self, t: int, train: Running) -> None:
        super().put(t, train)
        self._gone.discard(train)
        self._point(t, train)

    def lifted(self, t: int, train: Running) -> None:
        super().lifted(t, train)
        self._gone.add(train)
        self._point(t, train)

    def motion(self, t: int, train: Running) -> None:
        super().motion(t, train)
        self._point(t, train)

    def entered(self, t: int, train: Running, old: int) -> None:
        super().entered(t, train, old)
        self._point(t, train)

    def stands(self, t: int, train: Running, over: list[int]) -> None:
        super().stands(t, train, over)
        self._point(t, train)

    def record(self, record: Record) -> None:
        super().record(record)
        if self.take is not None:
            self.take(record)

    def _trouble_us(self) -> int:
        """When it first went wrong; 0: not yet."""
        times = [self.wreck.t] if self.wreck is not None else []
        times += [t * 1000 for t, _ in self.faults[:1]]
        return min(times, default=0)

    def window(self) -> tuple[int, int, dict[str, list[Point]]]:
        """From when to when, and the points: up to where something went wrong, else the first minutes."""
        begin, trouble = self.started or 0, self._trouble_us()
        end = min(self.ended, trouble + AFTER_US) if trouble else min(self.ended, begin + CHART_US)
        if end > begin + CHART_US:
            return end - CHART_US, end, {name: list(points) for name, points in self.last.items()}
        return begin, end, self.first
