"""boot.py and main.py with the chip's modules replaced: pins first, and the true cause of every reset."""

from __future__ import annotations

import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from board import pioasm

pioasm.install()

from reedboard import chips, marks  # noqa: E402

BOOT = Path(__file__).parents[2] / "firmware" / "boot.py"
MAIN = BOOT.with_name("main.py")
BOOT_BYTES_MAX = 200  # compiled as a whole before its first line runs: a coil pin may be high so long
PINS = range(29)


class Chip:
    """The parts of the chip that the two files touch, in the order in which it does."""

    IN, OUT, PULL_DOWN = 0, 1, 1

    def __init__(
        self, scratch: tuple[int, int], now: int, button_presses: int = 0, chip: str = "RP2040"
    ) -> None:
        self.log: list[tuple[Any, ...]] = []
        base = 0x400D800C if chip == "RP2350" else 0x4005800C
        self.memory = {base: scratch[0], base + 4: scratch[1]}
        self.base = base
        self.now = now
        self.button_presses = button_presses
        self.chip = chip

    def pin(self, gpio: int, mode: int, pull: int | None = None, value: int | None = None) -> Chip:
        self.log.append(("pin", gpio, mode, pull, value))
        return self

    def value(self, value: int) -> None:
        self.log.append(("led", value))

    def boot(self, monkeypatch: pytest.MonkeyPatch, with_boot: bool = True) -> dict[str, Any]:
        """Run boot.py and main.py; their globals afterwards, with what was handed to the loop as `ran`."""
        chip = self

        class Memory:
            def __getitem__(self, address: int) -> int:
                return chip.memory.get(address, 0)

            def __setitem__(self, address: int, value: int) -> None:
                chip.memory[address] = value

        def pin(gpio: int, mode: int, pull: int | None = None, value: int | None = None) -> Chip:
            return chip.pin(gpio, mode, pull, value)

        pin.IN, pin.OUT, pin.PULL_DOWN = self.IN, self.OUT, self.PULL_DOWN  # type: ignore[attr-defined]
        modules: dict[str, dict[str, Any]] = {
            "micropython": {"kbd_intr": lambda char: self.log.append(("ctrl-c", char))},
            "machine": {"Pin": pin, "mem32": Memory()},
            "rp2": {"bootsel_button": self._button},
            "gc": {"threshold": lambda amount: self.log.append(("threshold", amount))},
            "time": {"ticks_ms": lambda: self.now, "sleep_ms": lambda ms: self.log.append(("sleep", ms))},
        }
        for name, content in modules.items():
            module = ModuleType(name)
            vars(module).update(content)
            monkeypatch.setitem(sys.modules, name, module)
        implementation = ModuleType("implementation")
        implementation._machine = f"Board with {self.chip}"  # type: ignore[attr-defined]
        implementation.cache_tag = None  # type: ignore[attr-defined] # asked for by an import
        monkeypatch.setattr(sys, "implementation", implementation)
        space: dict[str, Any] = {"__name__": "__main__"}
        start = ModuleType("reedboard.start")
        start.run = lambda *given: space.update(ran=given)  # type: ignore[attr-defined]
        monkeypatch.setitem(sys.modules, "reedboard.start", start)
        monkeypatch.delitem(sys.modules, "reedboard.pads", raising=False)
        if with_boot:
            exec(compile(BOOT.read_text(), "boot.py", "exec"), space)
        self.log.append(("booted",))
        exec(compile(MAIN.read_text(), "main.py", "exec"), space)
        return space

    def _button(self) -> int:
        self.button_presses -= 1
        return int(self.button_presses == 0)


def test_break_in_is_off_before_anything_else_and_no_import_of_ours_before_the_pins() -> None:
    text = BOOT.read_text()
    assert text.index("kbd_intr(-1)") < text.index("    Pin(") < text.index("reedboard")
    assert text.endswith("import reedboard.pads\n")


def test_every_user_pin_becomes_an_input_before_anything_takes_time(monkeypatch: pytest.MonkeyPatch) -> None:
    chip = Chip((0, 0), 300)
    chip.boot(monkeypatch)
    assert chip.log[0] == ("ctrl-c", -1)
    pins = chip.log[1 : 1 + len(PINS)]
    assert pins == [("pin", gpio, Chip.IN, Chip.PULL_DOWN, None) for gpio in PINS]
    assert chip.log[1 + len(PINS)] == ("booted",)


def test_boot_is_short() -> None:
    assert BOOT.stat().st_size <= BOOT_BYTES_MAX


def test_the_second_chip_also_gets_its_input_buffers_off(monkeypatch: pytest.MonkeyPatch) -> None:
    chip = Chip((0, 0), 300, chip="RP2350")
    chip.boot(monkeypatch)
    cleared = sorted(address for address, value in chip.memory.items() if value == 0x40)
    assert cleared == [0x40038000 + 0x3000 + 4 + 4 * gpio for gpio in PINS]


RUNNING = marks.pack(marks.RUNNING, 0)
CASES = [
    ("power-on", (0, 0), 300, marks.POWER_ON),
    ("power-on with rubbish", (0x12345678, 99), 300, marks.POWER_ON),
    ("watchdog", (RUNNING, 5000), 300, marks.BITE),
    ("soft reset", (RUNNING, 5000), 5003, marks.SOFT),
    ("soft reset of maintenance", (marks.pack(marks.NOTHING, 0), 0), 90_000, marks.SOFT),
    ("asked", (marks.pack(marks.RESET, 0), 5000), 300, marks.ASKED),
    ("to maintenance", (marks.pack(marks.MAINTENANCE, 0), 5000), 300, marks.ASKED_MAINTENANCE),
]


@pytest.mark.parametrize(("scratch", "now", "cause"), [case[1:] for case in CASES], ids=[c[0] for c in CASES])
def test_the_cause_of_a_reset_is_the_true_one(
    monkeypatch: pytest.MonkeyPatch, scratch: tuple[int, int], now: int, cause: int
) -> None:
    space = Chip(scratch, now).boot(monkeypatch)
    assert space["reset_cause"] == cause == marks.cause_of(*scratch, now)
    assert space["maintenance"] == (cause == marks.ASKED_MAINTENANCE)
    assert space.get("ran") == (None if space["maintenance"] else (cause, 0))


def test_the_fault_that_stood_is_kept_and_the_marks_are_ready_for_the_next_reset(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    chip = Chip((marks.pack(marks.RUNNING, 513), 5000), 300)
    assert chip.boot(monkeypatch)["kept_fault"] == 513
    assert marks.fault_of(chip.memory[chip.base]) == 513
    assert chip.memory[chip.base] >> 12 & 15 == marks.NOTHING and chip.memory[chip.base + 4] == 0
    assert chip.base == 0x4005800C == chips.SCRATCH


@pytest.mark.parametrize("chip_name", ["RP2040", "RP2350"])
@pytest.mark.parametrize("runs", [True, False])
def test_a_watchdog_that_runs_gets_time_for_the_imports_and_none_is_started(
    monkeypatch: pytest.MonkeyPatch, runs: bool, chip_name: str
) -> None:
    # data sheets of both chips, "Watchdog": control register with its enable bit 30, then the load register
    chip = Chip((RUNNING, 5000), 5003, chip=chip_name)
    control = {"RP2040": 0x40058000, "RP2350": 0x400D8000}[chip_name]
    chip.memory[control] = int(runs) << 30 | 900_000
    chip.boot(monkeypatch)
    assert chip.memory[control] == int(runs) << 30 | 900_000
    assert chip.memory.get(control + 4) == (8_000_000 if runs else None)


def test_without_boot_py_a_watchdog_that_runs_gets_no_more_time(monkeypatch: pytest.MonkeyPatch) -> None:
    chip = Chip((RUNNING, 5000), 5003)
    chip.memory[0x40058000] = 1 << 30
    chip.boot(monkeypatch, with_boot=False)
    assert 0x40058004 not in chip.memory


@pytest.mark.parametrize("presses", [1, 15])
def test_the_button_in_the_first_second_means_maintenance(
    monkeypatch: pytest.MonkeyPatch, presses: int
) -> None:
    chip = Chip((RUNNING, 5000), 300, presses)
    assert chip.boot(monkeypatch)["maintenance"]
    assert chip.log[-1] == ("led", 0)


def test_without_the_button_boot_takes_a_second_and_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    chip = Chip((0, 0), 300)
    assert not chip.boot(monkeypatch)["maintenance"]
    assert sum(entry[1] for entry in chip.log if entry[0] == "sleep") == 1000
