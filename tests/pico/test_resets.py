"""What a hang, an exception, a soft reset or a wrong board file leaves on the pins and the arm line.

Set REEDWAY_PICO_UF2 to an image (.uf2) and install rp2040py and littlefs-python; takes several minutes.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from pico.image import image

UF2 = image()

from pico import pump  # noqa: E402
from pico.bench import BEGIN_GPIO, files, gpio  # noqa: E402
from pico.chip import Chip  # noqa: E402
from pico.talk import BITE, SOFT, booted, hello  # noqa: E402
from reedlogic import words as w  # noqa: E402

EXIT_A, HOLD, ARM = (gpio(terminal) for terminal in ("coil 1", "feed 1", "arm"))
PULSE_MS = 80 + 1 / 256
WATCHDOG_MS = 500
IN_PULSE_MS = 20


def arm_edges(chip: Chip) -> list[tuple[float, bool]]:
    return [(edge.at_ms, edge.high) for edge in chip.edges if edge.gpio == ARM]


def disturbed(chip: Chip, letter: str) -> float:
    """Start, which pulses the coil; send the command in mid-pulse; the time at which it was sent."""
    chip.edges.clear()
    chip.say("o", w.O_START, w.NONE)
    assert chip.until(lambda: chip.is_high(EXIT_A), 50, 1)
    chip.run(IN_PULSE_MS)
    at = chip.now_ms
    chip.say(letter)
    return at


def arm_is_dead(chip: Chip) -> float:
    """Milliseconds from the last edge of the arm line to the open switch; it was closed before.

    A pin left high keeps both capacitors at the gate, and the switch closed the longest.
    """
    edges = arm_edges(chip)
    assert pump.after(edges, pump.PIN_V_LEAST).gate_v >= pump.CLOSED_V
    opens_ms = pump.opens_ms(edges)
    assert opens_ms <= pump.OFF_MS
    return opens_ms


@pytest.fixture(scope="module")
def board() -> Iterator[Chip]:
    """With its boot.py."""
    yield booted(Chip(UF2, files()))


def test_a_file_written_in_mid_pulse_does_not_touch_the_pulse(board: Chip) -> None:
    """Interrupts are off while flash is erased and programmed; the emulator takes no time for it."""
    disturbed(board, "f")
    board.run(120)
    begin, end = board.pulses(EXIT_A)[-1]
    assert end - begin == pytest.approx(PULSE_MS, abs=0.02)
    edges = arm_edges(board)
    gap_ms = max(later - earlier for (earlier, _), (later, _) in zip(edges, edges[1:], strict=False))
    print(f"a file of 4200 bytes written in mid-pulse: longest time between two scans {gap_ms:.0f} ms")
    board.say("x")  # hang, and so begin anew
    board.run(20)
    booted(board)


def test_an_endless_loop_with_interrupts_off_opens_the_arm_switch(board: Chip) -> None:
    at = disturbed(board, "x")
    board.run(pump.OFF_MS + 20)
    begin, end = board.pulses(EXIT_A)[-1]
    assert end - begin == pytest.approx(PULSE_MS, abs=0.02)
    edges = arm_edges(board)
    last, begun = edges[-1][0], board.pulses(BEGIN_GPIO)[-1][0]
    assert begun - 1.5 < last <= begun  # and it has not moved since
    print(f"hang: {begun - at:.1f} ms after the command; switch open {arm_is_dead(board):.0f} ms after that")
    began = board.now_ms
    booted(board)
    assert hello(board)[4] == BITE
    assert not board.is_high(HOLD)
    bite = next(edge.at_ms for edge in board.edges if edge.gpio == ARM and edge.at_ms > began)
    print(f"hang: scans again {bite - last:.0f} ms after the last one")


def test_an_exception_in_the_loop_in_mid_pulse(board: Chip) -> None:
    at = disturbed(board, "e")
    board.run(120)
    begin, end = board.pulses(EXIT_A)[-1]
    assert end - begin == pytest.approx(PULSE_MS, abs=0.02)
    assert any("told to fail" in text for text in board.texts)  # its traceback is device text
    begun = board.pulses(BEGIN_GPIO)[-1][0]
    assert at < begun and begun - 1.5 < arm_edges(board)[-1][0] <= begun
    print(f"exception: switch open {arm_is_dead(board):.0f} ms after the last edge")
    booted(board)
    assert hello(board)[4] == BITE
    assert not board.is_high(HOLD)


def test_a_soft_reset_waits_for_the_end_of_the_pulse(board: Chip) -> None:
    at = disturbed(board, "y")
    board.run(100)
    asked = board.pulses(BEGIN_GPIO)[-1][0]
    begin, end = board.pulses(EXIT_A)[-1]
    print(
        f"soft reset {asked - at:.1f} ms after the command, in mid-pulse: "
        f"low {end - begin:.2f} ms after the pulse began"
    )
    assert begin < asked < end
    assert end - begin == pytest.approx(PULSE_MS, abs=0.02)
    booted(board)
    assert hello(board)[4] == SOFT


def test_at_the_prompt_after_an_exception_no_pulse_runs(board: Chip) -> None:
    """Ctrl-C has no effect; so the loop is made to fail, and at its prompt somebody types quickly."""
    disturbed(board, "e")
    board.run(8)
    board.send(b"\x03\x03\x01\x04")
    board.run(150)
    begin, end = board.pulses(EXIT_A)[-1]
    assert end - begin == pytest.approx(PULSE_MS, abs=0.02)
    booted(board)


def test_if_nobody_waits_boot_py_lets_the_pin_go(board: Chip) -> None:
    """A reset out of something else than the scan loop would be such."""
    board.say("n")
    board.run(20)
    at = disturbed(board, "y")
    board.run(100)
    asked = board.pulses(BEGIN_GPIO)[-1][0]
    begin, end = board.pulses(EXIT_A)[-1]
    print(
        f"soft reset without the wait: carried out {asked - at:.1f} ms after the command was sent, "
        f"pins are inputs {end - asked:.1f} ms after that, {end - begin:.1f} ms after the pulse began"
    )
    assert end - begin < PULSE_MS + 20
    assert end - asked < 60
    booted(board)
    assert hello(board)[4] == SOFT


@pytest.mark.parametrize("letter", ["y", "e"])
def test_with_neither_a_pin_stays_high_until_the_arm_line(letter: str) -> None:
    """Or until main.py or the watchdog; the arm line is surely the first."""
    chip = booted(Chip(UF2, files(with_boot=False)))
    chip.say("n")
    chip.run(20)
    disturbed(chip, letter)
    if letter == "e":
        chip.run(8)
        chip.send(b"\x03\x03\x01\x04")
    assert chip.until(lambda: not chip.is_high(EXIT_A), 1500, 5)
    begin, end = chip.pulses(EXIT_A)[-1]
    end = min(end, chip.now_ms)  # the emulator tells of no edge when the watchdog resets the pins
    edges = [edge for edge in arm_edges(chip) if edge[0] < end]
    opens_ms = pump.opens_ms(edges)
    print(
        f"without wait and boot.py ({letter}): pin high for {end - begin:.0f} ms; "
        f"the coil's supply is off {edges[-1][0] + opens_ms - begin:.0f} ms after the pulse began"
    )
    assert end - begin > PULSE_MS + 20
    assert opens_ms <= pump.OFF_MS
    assert end - edges[-1][0] < WATCHDOG_MS + 50 or letter == "y"


@pytest.mark.parametrize("letter", ["y", "e"])
def test_without_boot_py_the_wait_is_enough(letter: str) -> None:
    chip = booted(Chip(UF2, files(with_boot=False)))
    disturbed(chip, letter)
    if letter == "e":
        chip.run(8)
        chip.send(b"\x03\x03\x01\x04")
    chip.run(150)
    begin, end = chip.pulses(EXIT_A)[-1]
    assert end - begin == pytest.approx(PULSE_MS, abs=0.02)


def test_pins_of_another_build_are_refused_and_no_output_moves() -> None:
    contents = files()
    contents["pins.py"] = contents["pins.py"].replace(b"for row in TERMINALS", b"for row in TERMINALS[1:]")
    assert contents["pins.py"] != files()["pins.py"]
    chip = Chip(UF2, contents)
    assert chip.until(lambda: any("cannot be used" in text for text in chip.texts), 3000, 50), chip.texts
    chip.run(20)
    outputs = {EXIT_A, gpio("coil 2"), HOLD, ARM}
    assert not [edge for edge in chip.edges if edge.gpio in outputs]
