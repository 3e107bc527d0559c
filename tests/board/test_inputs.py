"""The inputs as inputs.py reads them, memory for registers: the logic is given what the registers hold."""

from __future__ import annotations

import random
import sys
from array import array
from types import ModuleType
from typing import Any

import pytest

from board.bench import Bench, compiled
from board.fakes import ALL_HIGH, FakePins
from reedboard import chips
from reedboard.terminals import Terminals
from reedlogic.boardfile import PIN_TABLE

ALL_PANEL = (1 << 24) - 1


class Registers:
    """The processor's registers from an address on; a word written to the panel's asks for a sample."""

    def __init__(self, chip: RegisterPins, address: int) -> None:
        self.chip, self.address = chip, address

    def __getitem__(self, place: int) -> int:
        return self.chip.read(self.address + 4 * place)

    def __setitem__(self, place: int, word: int) -> None:
        self.chip.write(self.address + 4 * place, word)


class RegisterPins(FakePins):
    """The pins of a chip whose inputs come through inputs.py; plain Python stands for viper."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        super().__init__()
        self.is_asked = True  # for a sample of the panel: registers.Panel asks for the first
        self.stamped = 0
        micropython = ModuleType("micropython")
        vars(micropython).update(viper=lambda function: function, const=lambda value: value)
        monkeypatch.setitem(sys.modules, "micropython", micropython)
        monkeypatch.delitem(sys.modules, "reedboard.inputs", raising=False)
        from reedboard import inputs

        def ptr32(thing: Any) -> Any:
            return thing if isinstance(thing, array) else Registers(self, thing)

        monkeypatch.setattr(inputs, "ptr32", ptr32, raising=False)
        registers = inputs.Inputs(Terminals(compiled().plan[PIN_TABLE]))
        self.inputs, self.panel, self.moved = registers.gpio, registers.panel, registers.moved  # type: ignore[method-assign]
        self.quiet = registers.quiet

    def read(self, address: int) -> int:
        # RP2040 data sheet, section 3.7: FSTAT's bit 9 is RXEMPTY of state machine 1, 0x24 its RXF
        if address == chips.GPIO_IN:
            return self.levels
        if address == chips.PIO1 + 0x04:
            return 0 if self.is_asked else 1 << 9
        assert address == chips.PIO1 + 0x24 and self.is_asked
        self.is_asked = False
        return self.panel_levels

    def write(self, address: int, word: int) -> None:
        if address == chips.PIO1 + 0x14:
            self.is_asked = True
        elif address == chips.GPIO_OUT_XOR:
            self.toggle(word)
        else:
            assert address == chips.SCRATCH + 4
            self.stamped = word


def given(bench: Bench) -> tuple[int, int]:
    """What the logic was given last: closed contacts of GPIO and panel."""
    return bench.board.controller.raw, bench.board.controller.panel


@pytest.mark.parametrize("levels", [0, ALL_HIGH])
@pytest.mark.parametrize("panel", [0, ALL_PANEL])
def test_the_first_look_after_a_reset_sees_what_is_closed(
    monkeypatch: pytest.MonkeyPatch, levels: int, panel: int
) -> None:
    bench = Bench(pins=RegisterPins(monkeypatch))
    bench.pins.levels, bench.pins.panel_levels = levels, panel
    bench.board.begin(bench.now)
    assert given(bench) == (0 if levels else 0b111, 0 if panel else 0b11)


@pytest.mark.parametrize("seed", range(4))
def test_a_look_gives_what_the_registers_hold_and_a_short_scan_misses_nothing(
    monkeypatch: pytest.MonkeyPatch, seed: int
) -> None:
    rng = random.Random(seed)
    pins = RegisterPins(monkeypatch)
    bench = Bench(pins=pins)
    bench.board.begin(bench.now)
    short = 0
    for _ in range(4000):
        for name in ("N1", "N2", "N3", "service", "halt"):
            if rng.random() < 0.05:
                rng.choice((bench.close, bench.open))(name)
        bench.now += 1
        before = given(bench)
        if rng.random() < 0.7 and pins.quiet(bench.now):
            short += 1
            assert pins.stamped == bench.now
            bench.board.last = bench.now
            assert given(bench) == before
            if bench.now & 3:  # the panel is looked at in every fourth
                assert given(bench)[0] == closed(bench)[0]
            else:
                assert given(bench) == closed(bench)
        else:
            bench.board.scan(bench.now)
            assert given(bench) == closed(bench)
    assert 500 < short < 3500


def closed(bench: Bench) -> tuple[int, int]:
    """The contacts that are closed, in the order of the layout file."""
    levels, panel = bench.pins.levels, bench.pins.panel_levels
    gpio = [not levels >> bench.gpio(name) & 1 for name in ("N1", "N2", "N3")]
    places = [not panel >> bench.gpio(name) & 1 for name in ("service", "halt")]
    return sum(bit << i for i, bit in enumerate(gpio)), sum(bit << i for i, bit in enumerate(places))
