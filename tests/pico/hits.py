"""What the pins of the emulated chip tell of hits: when each was served, when its outputs left."""

from __future__ import annotations

from pico.bench import MARK_GPIO, SERVE_GPIO
from pico.chip import Chip

NEVER = float("inf")
LATE = 12  # field of the status, firmware/PROTOCOL.md
LINE_MS = 2000  # a byte takes the chip about a millisecond, and records may be on their way
ASK_AGAIN_MS = 100  # the board does not print while a line is on its way


def spans(chip: Chip, gpio: int, since: float) -> list[tuple[float, float]]:
    """(begin, end) of each whole time that a mark was high."""
    return [span for span in chip.pulses(gpio) if span[0] > since and span[1] != NEVER]


def scans(chip: Chip, since: float) -> list[tuple[float, float]]:
    """Whole scans: those that look at everything."""
    return spans(chip, MARK_GPIO, since)


def longest_scan_ms(chip: Chip, since: float) -> float:
    """The longest whole scan."""
    return max(end - begin for begin, end in scans(chip, since))


def served(chip: Chip, since: float) -> list[tuple[float, float]]:
    """Each event of a sensor or contact, from its first act to the last, its outputs not out yet."""
    return spans(chip, SERVE_GPIO, since)


def first_edge(chip: Chip, gpio: int, high: bool, since: float) -> float:
    """When a pin first moved so; ms."""
    return next(
        edge.at_ms for edge in chip.edges if edge.gpio == gpio and edge.high == high and edge.at_ms > since
    )


def heap_free(chip: Chip, letter: str = "u") -> int:
    """As the interpreter counts it: "u" as it is, "g" after collecting."""
    seen = len(chip.texts)
    for _ in range(LINE_MS // ASK_AGAIN_MS):
        chip.say(letter)
        if chip.until(lambda: any(text.startswith("heap") for text in chip.texts[seen:]), ASK_AGAIN_MS, 2):
            return int(next(text for text in chip.texts[seen:] if text.startswith("heap")).split()[1])
    raise AssertionError(chip.texts)


def late_scans(chip: Chip) -> int:
    """As the board's own status has it."""
    chip.lines = [line for line in chip.lines if line.kind != "q"]
    chip.say("q")
    assert chip.until(lambda: any(line.kind == "q" for line in chip.lines), LINE_MS, 5), chip.texts
    return int([line.fields for line in chip.lines if line.kind == "q"][-1][LATE])
