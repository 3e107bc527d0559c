"""Trains at constant speed over a track of stretches: an invented railway that feeds the sensors.

All lengths are whole micrometres, so that a train at v mm/s goes v of them in a millisecond. A train is a
head (magnet and engine) and a length behind it. It runs while the stretch under its head is fed, and its
run-on after that.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

MM = 1000
ZONE_UM = 16 * MM  # so far a magnet closes a sensor


@dataclass
class Stretch:
    """A length of track without branches. `feed` and `then` name turnouts as "exit A": fed or gone on to
    only while that turnout lies there."""

    length_mm: int
    then: list[tuple[str, str]]  # (condition, next stretch); "" is always
    feed: tuple[str, ...] = ()  # blocks and turnout positions that must all be so; the track feed always
    sensors: dict[str, int] = field(default_factory=dict)  # name -> mm from the beginning
    turnout: str = ""  # this stretch is the turnout


@dataclass
class Train:
    """A train; its body lies on the stretches it came over, the head's stretch last."""

    name: str
    length_mm: int
    speed: int  # mm/s
    run_on_mm: int
    path: list[str]
    head_um: int  # from the beginning of the last stretch of the path
    is_fed: bool = False
    left_um: int = 0  # of the run-on
    stalled: bool = False  # derailed, or held by a hand

    @property
    def is_moving(self) -> bool:
        return not self.stalled and (self.is_fed or self.left_um > 0)


class Rails:
    """The track, what lies on it, and what went wrong."""

    def __init__(self, stretches: dict[str, Stretch], trains: list[Train]) -> None:
        self.stretches = stretches
        self.trains = trains
        self.lies: dict[str, str] = {}  # turnout -> position; "" while it moves
        self.goes: set[str] = set()  # feeds that are on, with "track feed"
        self.mishaps: list[tuple[int, str]] = []
        self.over: Callable[[Train, str, bool], None] = lambda train, sensor, closes: None

    # -- what the controller does -----------------------------------------------------------------------

    def feed(self, goes: set[str]) -> None:
        """The feeds as they are from now on."""
        self.goes = goes
        self._look_at_feeds()

    def move_turnout(self, t: int, turnout: str, position: str) -> None:
        """A turnout begins to move (position "") or lies."""
        for train in self.trains:
            if not position and any(self.stretches[s].turnout == turnout for s, _, _ in self.body(train)):
                self._mishap(t, f"{turnout} moved under the {train.name}")
        self.lies[turnout] = position
        self._look_at_feeds()

    def _holds(self, condition: str) -> bool:
        if not condition:
            return True
        turnout, _, position = condition.rpartition(" ")
        return self.lies.get(turnout) == position if turnout in self.lies else condition in self.goes

    def _look_at_feeds(self) -> None:
        for train in self.trains:
            feed = self.stretches[train.path[-1]].feed
            is_fed = "track feed" in self.goes and all(self._holds(c) for c in feed)
            if train.is_fed and not is_fed:
                train.left_um = train.run_on_mm * MM
            elif is_fed:
                train.left_um = 0
            train.is_fed = is_fed

    # -- motion -------------------------------------------------------------------------------------------

    def next_ms(self) -> int:
        """Milliseconds until something happens to a train; at most 50, to look for collisions."""
        found = 50
        for train in self.trains:
            if not train.is_moving:
                continue
            stretch = self.stretches[train.path[-1]]
            marks = [stretch.length_mm * MM]
            for at_mm in stretch.sensors.values():
                marks += [at_mm * MM, at_mm * MM + ZONE_UM]
            ways = [mark - train.head_um for mark in marks if mark > train.head_um]
            if not train.is_fed:
                ways.append(train.left_um)
            found = min(found, *(-(-way // train.speed) for way in ways))
        return max(found, 1)

    def run(self, t: int, ms: int) -> None:
        """Everything moves on by `ms`, not more than next_ms said; it is then time `t`."""
        for train in self.trains:
            if not train.is_moving:
                continue
            way = train.speed * ms
            if not train.is_fed:
                way = min(way, train.left_um)
                train.left_um -= way
            self._advance(t, train, way)
        self._look_at_feeds()
        self._look_for_collisions(t)

    def _advance(self, t: int, train: Train, way: int) -> None:
        old = train.head_um
        train.head_um += way
        stretch = self.stretches[train.path[-1]]
        for name, at_mm in stretch.sensors.items():
            for mark, closes in ((at_mm * MM, True), (at_mm * MM + ZONE_UM, False)):
                if old < mark <= train.head_um:
                    self.over(train, name, closes)
        if train.head_um >= stretch.length_mm * MM:
            following = next((name for condition, name in stretch.then if self._holds(condition)), None)
            if following is None:
                train.head_um = stretch.length_mm * MM
                train.stalled = True
                self._mishap(t, f"the {train.name} ran against points at the end of {train.path[-1]}")
                return
            train.head_um -= stretch.length_mm * MM
            train.path.append(following)
            kept = self.body(train)
            train.path = train.path[-len(kept) :]

    # -- where they are -------------------------------------------------------------------------------------

    def body(self, train: Train) -> list[tuple[str, int, int]]:
        """(stretch, from, to) under a train, from the head back."""
        found = []
        left = train.length_mm * MM
        to = train.head_um
        for name in reversed(train.path):
            if found:
                to = self.stretches[name].length_mm * MM
            start = max(0, to - left)
            found.append((name, start, to))
            left -= to - start
            if left <= 0:
                break
        return found

    def _look_for_collisions(self, t: int) -> None:
        for i, one in enumerate(self.trains):
            for other in self.trains[i + 1 :]:
                if one.stalled and other.stalled:
                    continue
                for name, start, to in self.body(one):
                    if any(n == name and start < b and a < to for n, a, b in self.body(other)):
                        self._mishap(t, f"the {one.name} and the {other.name} met on {name}")
                        one.stalled = other.stalled = True
                        break

    def _mishap(self, t: int, text: str) -> None:
        self.mishaps.append((t, text))
