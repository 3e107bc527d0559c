"""The wait before any prompt or soft reset: no pin is high at its end, whenever it begins."""

from __future__ import annotations

import sys
from types import ModuleType, SimpleNamespace
from typing import Any

import pytest

from board.pulses import CYCLES_MS, run
from reedboard import oneshot
from reedboard.marks import RESET, pack

LOOK_US = 10  # what a look at the clock takes here; on a chip it is more
PULSE_MS = 80


class OneShot:
    """A one-shot whose pin is high from a moment on."""

    def __init__(self, begin_us: float, end_us: float) -> None:
        self.begin_us, self.end_us = begin_us, end_us
        self.now_us = 0

    def ticks_ms(self) -> int:
        self.now_us += LOOK_US
        return self.now_us // 1000

    def is_high(self) -> bool:
        return self.begin_us <= self.now_us < self.end_us


def pins_of(monkeypatch: pytest.MonkeyPatch, shot: OneShot | None, clock: OneShot) -> Any:
    """The layer of the chip, with this one-shot and clock."""
    micropython = ModuleType("micropython")
    vars(micropython).update(viper=lambda function: function, const=lambda value: value)
    monkeypatch.setitem(sys.modules, "micropython", micropython)
    from reedboard import chippins

    time = SimpleNamespace(ticks_ms=clock.ticks_ms, ticks_diff=lambda later, earlier: later - earlier)
    monkeypatch.setattr(chippins, "time", time)
    pins: Any = chippins.ChipPins.__new__(chippins.ChipPins)
    pins.shot, pins.fault = shot, 0
    return pins


def waited(monkeypatch: pytest.MonkeyPatch, shot: OneShot | None, clock: OneShot) -> int:
    """Where the clock stands when the wait is over."""
    pins_of(monkeypatch, shot, clock).let_pulse_end()
    return clock.now_us


@pytest.mark.parametrize("asked_us", range(0, 1000, 50))
def test_a_pulse_that_was_handed_over_just_now_is_waited_for(
    monkeypatch: pytest.MonkeyPatch, asked_us: int
) -> None:
    index = oneshot.COILS_MAX - 1  # takes the one-shot the longest to raise
    _pins, begin, end = run([oneshot.word(index, PULSE_MS)], oneshot.COILS_MAX).pulses()[0]
    shot = OneShot(asked_us + 1000 * begin / CYCLES_MS, asked_us + 1000 * end / CYCLES_MS)
    shot.now_us = asked_us
    over_us = waited(monkeypatch, shot, shot)
    assert shot.end_us <= over_us <= shot.end_us + 1000


def test_it_never_waits_longer_than_the_longest_pulse(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = OneShot(0, 10**9)
    assert waited(monkeypatch, clock, clock) <= (oneshot.TICKS_MAX + 2) * 1000
    clock = OneShot(0, 0)
    assert waited(monkeypatch, None, clock) <= 3000


def test_a_reset_that_was_asked_for_cuts_no_pulse(monkeypatch: pytest.MonkeyPatch) -> None:
    """The logic's pulse began with the scan, the one-shot's when it was worked out: so it ends later."""
    shot = OneShot(0, 2500)
    pins = pins_of(monkeypatch, shot, shot)
    from reedboard import chippins

    at: list[int] = []
    memory: dict[int, int] = {}
    monkeypatch.setattr(chippins, "machine", SimpleNamespace(reset=lambda: at.append(shot.now_us)))
    monkeypatch.setattr(chippins, "mem32", memory)
    pins.reset(RESET)
    assert at == [shot.now_us] and not shot.is_high()
    assert memory == {chippins.SCRATCH: pack(RESET, 0)}
