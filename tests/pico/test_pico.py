"""A MicroPython image in an emulated RP2040: pulses, hangs, resets, a host that does not read.

Set REEDWAY_PICO_UF2 to an image (.uf2) and install rp2040py and littlefs-python; takes several minutes.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

UF2 = os.environ.get("REEDWAY_PICO_UF2")
if not UF2:
    pytest.skip("REEDWAY_PICO_UF2 names no MicroPython image", allow_module_level=True)
pytest.importorskip("rp2040py")
pytest.importorskip("littlefs")

from pico.bench import MARK_GPIO, SPEED_MAIN, files, gpio  # noqa: E402
from pico.chip import Chip  # noqa: E402
from reedlogic import words as w  # noqa: E402

EXIT_A, EXIT_B, SENSOR, HOLD, ARM = (gpio(t) for t in ("coil 1", "coil 2", "sensor 1", "feed 1", "arm"))
BOOT_MS = 5000
POWER_ON, BITE, SOFT = 0, 1, 2


def booted(chip: Chip) -> Chip:
    """Wait until scans run, then ask who it is."""
    seen = len(chip.edges)
    assert chip.until(lambda: any(edge.gpio == ARM for edge in chip.edges[seen:]), BOOT_MS, 20), chip.texts
    chip.sequence = 0
    chip.lines.clear()
    chip.say("h", 1)
    assert chip.until(lambda: any(line.kind == "h" for line in chip.lines), 300)
    return chip


def hello(chip: Chip) -> tuple[Any, ...]:
    return [line.fields for line in chip.lines if line.kind == "h"][-1]


@pytest.fixture(scope="module")
def running() -> Iterator[Chip]:
    """A show that runs: started, turnout known, block fed."""
    chip = booted(Chip(Path(str(UF2)), files()))
    assert hello(chip)[4] == POWER_ON
    chip.say("o", w.O_START, w.NONE)
    assert chip.until(lambda: chip.is_high(HOLD), 300)
    chip.run(5)
    yield chip


def scans(chip: Chip, since: float) -> list[tuple[float, float]]:
    return [span for span in chip.pulses(MARK_GPIO) if span[0] > since and span[1] != float("inf")]


def test_the_start_pulses_the_coil_exactly(running: Chip) -> None:
    (begin, end) = running.pulses(EXIT_A)[-1]
    assert end - begin == pytest.approx(80 + 1 / 64, abs=0.02)


def test_every_millisecond_has_its_scan(running: Chip) -> None:
    since = running.now_ms
    running.run(140)  # whole scans come every 64 ms here
    lengths = sorted(end - begin for begin, end in scans(running, since))
    middle_us, longest_us = lengths[len(lengths) // 2] * 1000, lengths[-1] * 1000
    print(f"whole scan: middle {middle_us:.0f} us, longest {longest_us:.0f} us")
    assert sum(edge.gpio == ARM and edge.at_ms > since for edge in running.edges) >= 138
    assert longest_us < 1000


def test_speed_and_allocation_of_the_idle_loop() -> None:
    chip = Chip(Path(str(UF2)), files(with_boot=False, main=SPEED_MAIN))
    assert chip.until(lambda: any(text.startswith("speed") for text in chip.texts), BOOT_MS, 20), chip.texts
    _word, scan_us, taken = next(text for text in chip.texts if text.startswith("speed")).split()
    print(f"idle loop {scan_us} us a millisecond, {taken} bytes of heap taken in 400")
    assert int(scan_us) < 400


def test_a_hit_reaches_the_coil(running: Chip) -> None:
    """Wanted: confirm and 3 ms. Not reached: one hit takes the logic 6 ms in this emulator."""
    running.run(800)  # the pause after the first pulse
    at = running.now_ms
    running.close(SENSOR)
    assert running.until(lambda: running.is_high(EXIT_B), 20, 1)
    begin = running.pulses(EXIT_B)[-1][0]
    lengths = [end - start for start, end in scans(running, at)]
    print(f"edge to coil {begin - at:.2f} ms with confirm 5 ms; longest scan {max(lengths) * 1000:.0f} us")
    assert 5 <= begin - at <= 14


def test_break_in_bytes_do_nothing(running: Chip) -> None:
    running.send(b"\x03\x03\x03\x01\x04\r\n")
    running.run(20)
    before = len(running.edges)
    running.run(20)
    assert sum(edge.gpio == ARM for edge in running.edges[before:]) >= 15
    assert running.is_high(EXIT_B)


def test_the_pulse_that_began_ends_in_time(running: Chip) -> None:
    running.run(60)
    begin, end = running.pulses(EXIT_B)[-1]
    assert end - begin == pytest.approx(80 + 1 / 64, abs=0.02)


def test_size_and_heap(running: Chip) -> None:
    running.say("t")
    assert running.until(
        lambda: any(line.kind == "t" and line.fields[0] == 44 for line in running.lines), 3000
    )
    heap = next(line.fields for line in running.lines if line.kind == "t" and line.fields[0] == 44)[-1]
    print(f"heap free after start-up {heap} bytes; files {sum(map(len, files().values()))} bytes")
    assert int(heap) > 40_000
    rows = {line.fields[0]: line.fields for line in running.lines if line.kind == "t"}
    assert rows[44][1] == 0, "late scans"


def throw_again(chip: Chip) -> int:
    """Throw the turnout to the other side; the GPIO of the coil that a test can now disturb."""
    chip.open(SENSOR)
    chip.run(750)
    to_a = chip.pulses(EXIT_B)[-1:] > chip.pulses(EXIT_A)[-1:]
    coil = EXIT_A if to_a else EXIT_B
    chip.say("o", w.O_THROW, 0 if to_a else 1)
    assert chip.until(lambda: chip.is_high(coil), 60, 1)
    chip.run(20)
    return coil


def test_hang_with_interrupts_off_in_mid_pulse(running: Chip) -> None:
    coil = throw_again(running)
    running.say("x")
    running.run(10)
    at = running.now_ms
    running.run(90)
    begin, end = running.pulses(coil)[-1]
    assert end - begin == pytest.approx(80 + 1 / 64, abs=0.02)
    assert not [edge for edge in running.edges if edge.gpio == ARM and edge.at_ms > at]
    booted(running)
    assert hello(running)[4] == BITE
    assert not running.is_high(HOLD)


def test_soft_reset_in_mid_pulse(running: Chip) -> None:
    running.say("o", w.O_START, w.NONE)
    assert running.until(lambda: running.is_high(EXIT_A), 50, 1)
    running.run(20)
    at = running.now_ms
    running.say("y")
    running.run(100)
    begin, end = running.pulses(EXIT_A)[-1]
    print(f"soft reset {at - begin:.1f} ms into the pulse: low after {end - at:.1f} ms")
    assert end - begin < 80 + 20
    booted(running)
    assert hello(running)[4] == SOFT


def test_without_boot_py_a_soft_reset_leaves_the_pin_high() -> None:
    chip = booted(Chip(Path(str(UF2)), files(with_boot=False)))
    chip.say("o", w.O_START, w.NONE)
    assert chip.until(lambda: chip.is_high(EXIT_A), 50, 1)
    chip.run(20)
    at = chip.now_ms
    chip.say("y")
    chip.run(150)
    print(f"without boot.py: {chip.pulses(EXIT_A)[-1]}")
    arm = [edge for edge in chip.edges if edge.gpio == ARM and edge.at_ms > at + 20]
    assert chip.pulses(EXIT_A)[-1][1] - at > 100  # longer than the pulse: only the arm line covers this
    assert not arm
