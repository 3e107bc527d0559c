"""What happens to trains in stories: one rests on a sensor, one stalls, one is missed."""

from __future__ import annotations

from examples.evening import Evening

S = 1000
CHATTER_FOR_MS = 2000


def stops_short(evening: Evening, train: str, sensor: str, gap_ms: tuple[int, int]) -> None:
    """The next time this train stops behind a sensor it stops right on it, and the contact trembles."""

    def arrives() -> None:
        usual = evening.train(train).run_on_mm
        evening.train(train).run_on_mm = 4  # dirty rails: it stands at once

        def runs_as_usual() -> None:
            evening.train(train).run_on_mm = usual

        evening.at(evening.now + 1 * S, runs_as_usual)
        evening.at(evening.now + 3 * S, lambda: _tremble(evening, train, sensor, gap_ms))

    evening.when(train, sensor, arrives)


def stalls(evening: Evening, train: str, sensor: str, ms: int, gap_ms: tuple[int, int]) -> None:
    """The next time this train is over a sensor it stalls on it for so long, and the contact trembles."""

    def stands() -> None:
        evening.train(train).stalled = True
        evening.at(evening.now + 2 * S, lambda: _tremble(evening, train, sensor, gap_ms))

    def goes_on() -> None:
        evening.train(train).stalled = False

    def comes() -> None:
        evening.at(evening.now + 20, stands)
        evening.at(evening.now + 20 + ms, goes_on)

    evening.when(train, sensor, comes)


def _tremble(evening: Evening, train: str, sensor: str, gap_ms: tuple[int, int]) -> None:
    """As long as the train stands there."""
    if evening.train(train).is_moving:
        return
    evening.contacts.chatter(evening.now, sensor, CHATTER_FOR_MS, gap_ms)
    after = evening.now + CHATTER_FOR_MS + 200
    evening.at(after, lambda: _tremble(evening, train, sensor, gap_ms))


def misses(evening: Evening, t: int, sensor: str) -> None:
    """The sensor misses the next closing after a time."""

    def deafen() -> None:
        evening.contacts.deaf[sensor] = 1

    evening.at(t, deafen)
