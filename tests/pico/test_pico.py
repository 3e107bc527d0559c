"""A MicroPython image in an emulated RP2040: pulses, scans, the line, a host that does not read.

Set REEDWAY_PICO_UF2 to an image (.uf2) and install rp2040py and littlefs-python; takes several minutes.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from pico.image import image

UF2 = image()

from pico.bench import LAYOUT, PAIRS, SPEED_MAIN, files, gpio  # noqa: E402
from pico.chip import Chip  # noqa: E402
from pico.hits import first_edge, late_scans, scans, served  # noqa: E402
from pico.talk import ARM, BOOT_MS, POWER_ON, booted, hello, started  # noqa: E402
from reedlogic import words as w  # noqa: E402
from reedway.board.protocol import encode  # noqa: E402

EXIT_A, EXIT_B, SENSOR = (gpio(t) for t in ("coil 1", "coil 2", "sensor 1"))
FEEDS = tuple(gpio(f"feed {number}") for number in (1, 2, 3))
LINE_SCANS = 8  # reedboard/start.py
WATCH_MS = 2000  # reedboard/board.py
LATE_MS = 20  # from here a scan is late


@pytest.fixture(scope="module")
def running() -> Iterator[Chip]:
    """A show that runs: started, turnout known, block fed."""
    chip = booted(Chip(UF2, files()))
    assert hello(chip)[4] == POWER_ON
    yield started(chip)


def test_the_start_pulses_the_coil_exactly(running: Chip) -> None:
    (begin, end) = running.pulses(EXIT_A)[-1]
    assert end - begin == pytest.approx(80 + 1 / 256, abs=0.02)


def test_every_millisecond_has_its_scan(running: Chip) -> None:
    since = running.now_ms
    running.run(140)  # whole scans come every 64 ms here
    lengths = sorted(end - begin for begin, end in scans(running, since))
    middle_us, longest_us = lengths[len(lengths) // 2] * 1000, lengths[-1] * 1000
    print(f"whole scan: middle {middle_us:.0f} us, longest {longest_us:.0f} us")
    assert sum(edge.gpio == ARM and edge.at_ms > since for edge in running.edges) >= 138
    assert longest_us < 1000


@pytest.mark.parametrize("layout", [LAYOUT, PAIRS], ids=["bench", "three-trains-pairs"])
def test_speed_and_allocation_of_the_idle_loop(layout: bytes) -> None:
    chip = Chip(UF2, files(with_boot=False, main=SPEED_MAIN, layout=layout))
    assert chip.until(lambda: any(text.startswith("speed") for text in chip.texts), BOOT_MS, 20), chip.texts
    told = next(text for text in chip.texts if text.startswith("speed")).split()
    scan_us, taken, step_us = (int(word) for word in told[1:])
    mean_us = scan_us + step_us / LINE_SCANS
    print(f"idle loop {scan_us} us a scan, {taken} bytes of heap in 400 scans")
    print(
        f"a look at the quiet line {step_us} us, in one of {LINE_SCANS} scans: in the mean {mean_us:.0f} us"
    )
    assert mean_us < 80 and taken == 0


def test_a_hit_reaches_the_coil(running: Chip) -> None:
    running.run(800)  # the pause after the first pulse
    at = running.now_ms
    running.close(SENSOR)
    assert running.until(lambda: running.is_high(EXIT_B), 20, 1)
    begin = running.pulses(EXIT_B)[-1][0]
    lengths = [end - start for start, end in scans(running, at)]
    print(f"edge to coil {begin - at:.2f} ms with confirm 5 ms; longest scan {max(lengths) * 1000:.0f} us")
    assert 5 <= begin - at <= 8


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
    assert end - begin == pytest.approx(80 + 1 / 256, abs=0.02)


def longest_gap(chip: Chip, since: float) -> float:
    """Longest time between two scans, as the arm line shows them."""
    arm = [edge.at_ms for edge in chip.edges if edge.gpio == ARM and edge.at_ms > since]
    return max(later - earlier for earlier, later in zip(arm, arm[1:], strict=False))


def test_a_host_that_holds_the_port_and_does_not_read_makes_no_scan_late(running: Chip) -> None:
    since, before = running.now_ms, len(running.lines)
    running.reading.stall()
    for _ in range(30):  # much more than the controller, the interpreter and the board can hold
        running.say("q")
        running.run(20)
    gap_ms = longest_gap(running, since)
    print(f"host does not read for 600 ms: longest time between two scans {gap_ms:.2f} ms")
    assert len(running.lines) == before
    assert gap_ms < LATE_MS
    running.reading.go_on()
    running.run(100)
    assert len(running.lines) > before  # what was sent before the ring was full comes whole
    assert not running.texts, running.texts
    assert late_scans(running) == 0


def test_a_host_that_closes_the_port_makes_no_scan_late(running: Chip) -> None:
    since = running.now_ms
    running.device.cdc._cdc_set_control_line_state(0)
    running.run(150)
    running.device.cdc._cdc_set_control_line_state(3)
    running.run(50)
    gap_ms = longest_gap(running, since)
    print(f"port closed and opened again: longest time between two scans {gap_ms:.2f} ms")
    assert gap_ms < LATE_MS
    assert late_scans(running) == 0


def test_of_three_hits_at_once_each_is_out_before_the_next_is_served(running: Chip) -> None:
    """In file order; the coil comes last, when all that is due at that millisecond has been served."""
    at = running.now_ms
    for sensor in ("sensor 2", "sensor 3", "sensor 4"):
        running.close(gpio(sensor))
    assert running.until(lambda: running.is_high(EXIT_A), 25, 1)
    events = served(running, at)
    off = [first_edge(running, feed, False, at) for feed in FEEDS]
    coil = first_edge(running, EXIT_A, True, at)
    print("three hits at once, ms after the edges: feeds", *(f"{ms - at:.2f}" for ms in off), end="")
    print(f", coil {coil - at:.2f}; confirm 5 ms")
    assert len(events) == 3
    for (_, served_ms), off_ms, (next_ms, _) in zip(events, off, [*events[1:], (coil, 0)], strict=True):
        assert served_ms < off_ms < next_ms
    assert late_scans(running) == 0


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


def test_in_maintenance_a_feed_goes_off_when_the_computer_falls_silent() -> None:
    chip = booted(Chip(UF2, files()))
    chip.say("o", w.O_MAINTENANCE, w.NONE)
    chip.say("o", w.O_FEED, 1)
    assert chip.until(lambda: chip.is_high(FEEDS[0]), 300, 5)
    for _ in range(5):
        chip.run(500)
        chip.send(encode("w", 0))  # it is there
        assert chip.is_high(FEEDS[0])
    heard = chip.now_ms
    assert chip.until(lambda: not chip.is_high(FEEDS[0]), 3000, 20)
    off = first_edge(chip, FEEDS[0], False, heard)
    print(f"silence in maintenance: the feed is off {off - heard:.0f} ms after the last word was sent")
    assert WATCH_MS <= off - heard <= WATCH_MS + LATE_MS
