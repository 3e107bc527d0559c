"""What a run tells while it goes: one place for figures, chart and log to listen."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from reedway.trains.running.apart import Pair
    from reedway.trains.running.controlled import Record
    from reedway.trains.running.train import Running


class Hooks:
    """Does nothing; times are us but in records."""

    def record(self, record: Record) -> None:
        """The controller made a record."""

    def put(self, t: int, train: Running) -> None:
        """A train was set on."""

    def lifted(self, t: int, train: Running) -> None:
        """A train was taken off."""

    def starts(self, t: int, train: Running) -> None:
        """A train that stood starts."""

    def stands(self, t: int, train: Running, over: list[int]) -> None:
        """A train has come to stand, with a magnet over these sensors."""

    def motion(self, t: int, train: Running) -> None:
        """Another motion begins."""

    def entered(self, t: int, train: Running, old: int) -> None:
        """The nose has come from a section into the next one."""

    def left(self, t: int, train: Running, section: int) -> None:
        """The tail has left a section."""

    def closes(self, t: int, train: Running, sensor: int) -> None:
        """A magnet has come over a sensor."""

    def apart(self, t: int, least: float, pair: Pair) -> None:
        """So near has a moving train come to the one ahead."""

    def collision(self, t: int, how: str, train: Running, other: Running | None, section: int) -> None:
        """The run ends here."""
