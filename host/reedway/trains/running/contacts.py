"""Sensors and points' contacts as the trains make them, and what a disturbance makes of them."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from reedlogic import words as w

if TYPE_CHECKING:
    from reedway.trains.running.train import Running
    from reedway.trains.running.world import World

BOUNCE_US = (200, 500, 800)  # a reed stops bouncing within 1 ms (electrics/passing.py)


class Contacts:
    """Counts the magnets over each sensor; a contact is closed while there is one, or it is stuck."""

    def __init__(self, world: World) -> None:
        self.world = world
        self.over: dict[tuple[int, int], int] = {}  # (train, sensor) -> magnets
        self.unseen: set[tuple[int, int]] = set()  # passes that the sensor misses
        self.stuck: set[int] = set()
        self.phantoms: dict[int, int] = {}
        self.missing: dict[int, int] = {}  # sensor -> passes still to be missed
        self.misses: Callable[[], bool] = lambda: False
        self.bounce = False
        self.late_us = 0  # so long a contact takes to close

    def closes(self, train: Running, sensor: int) -> None:
        """A magnet comes over a sensor."""
        key = (train.number, sensor)
        if key not in self.over:
            self.over[key] = 0
            if self.missing.get(sensor, 0):
                self.missing[sensor] -= 1
                self.unseen.add(key)
            elif self.misses():
                self.unseen.add(key)
        self.over[key] += 1
        if self.late_us:
            self.world.at(self.world.now + self.late_us, lambda: self._show(sensor))
        else:
            self._show(sensor)

    def opens(self, train: Running, sensor: int) -> None:
        """A magnet has left a sensor."""
        key = (train.number, sensor)
        if key not in self.over:
            return
        self.over[key] -= 1
        if not self.over[key]:
            del self.over[key]
            self.unseen.discard(key)
        self._show(sensor)

    def of_train(self, train: Running) -> list[int]:
        """Sensors that a magnet of this train is over."""
        return [sensor for number, sensor in self.over if number == train.number]

    def is_closed(self, sensor: int) -> bool:
        if sensor in self.stuck or self.phantoms.get(sensor, 0):
            return True
        return any(one == sensor and (n, one) not in self.unseen for n, one in self.over)

    def _show(self, sensor: int) -> None:
        closed = self.is_closed(sensor)
        board = self.world.board
        before = bool(board.raw >> sensor & 1)
        board.set(sensor, closed)
        if self.bounce and closed != before:
            for n, after in enumerate(BOUNCE_US):
                level = closed if n % 2 else not closed
                self.world.at(self.world.now + after, lambda level=level: board.set(sensor, level))  # type: ignore[misc]
            self.world.at(self.world.now + 1000, lambda: board.set(sensor, self.is_closed(sensor)))

    def stick(self, sensor: int, stuck: bool) -> None:
        """A contact stays closed, or is free again."""
        if stuck:
            self.stuck.add(sensor)
        else:
            self.stuck.discard(sensor)
        self._show(sensor)

    def phantom(self, sensor: int, ms: int) -> None:
        """A contact closes without a train."""
        self.phantoms[sensor] = self.phantoms.get(sensor, 0) + 1
        self._show(sensor)

        def end() -> None:
            self.phantoms[sensor] -= 1
            self._show(sensor)

        self.world.at(self.world.now + ms * 1000, end)

    def points(self, turnout: int, position: int) -> None:
        """Position contacts show how points lie, from the end of the pulse on."""
        row = self.world.compiled.plan[w.PLAN_TURNOUTS][turnout]
        for number, closes_in in ((row[8], 0), (row[9], 1)):
            if number < 60:
                self.world.board.set(number, position == closes_in)
