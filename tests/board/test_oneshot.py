"""The one-shot in an independent emulator: exact pulses, one pin at most, the ceiling, the duty."""

import random

import pytest

from board.pulses import COILS, CYCLES_MS, FIRST_GPIO, program, run
from reedboard import oneshot

EDGE_CYCLE = 1  # the pulse lasts its milliseconds and one cycle of 1/256 ms
PAUSE_PULSES = 8


def test_the_program_leaves_room_and_fits_in_the_memory_of_a_block() -> None:
    assert len(program().words) == 30 <= 32


@pytest.mark.parametrize("index", range(COILS))
@pytest.mark.parametrize("pulse_ms", [1, 2, 80, 256])
def test_pulse_is_exact_on_the_one_pin_of_every_coil(index: int, pulse_ms: int) -> None:
    done = run([oneshot.word(index, pulse_ms)])
    assert [pins for pins, _begin, _end in done.pulses()] == [1 << (FIRST_GPIO + index)]
    _pins, begin, end = done.pulses()[0]
    assert end - begin == pulse_ms * CYCLES_MS + EDGE_CYCLE


@pytest.mark.parametrize("index", range(16))
def test_an_index_beyond_the_last_coil_raises_nothing_and_still_costs_its_time(index: int) -> None:
    done = run([oneshot.word(index, 3)])
    assert len(done.pulses()) == (1 if index < COILS else 0)
    assert done.idle_at >= (1 + PAUSE_PULSES) * 3 * CYCLES_MS


@pytest.mark.parametrize("coils", [1, 2, oneshot.COILS_MAX])
def test_no_pin_outside_the_coils_is_touched(coils: int) -> None:
    seen = 0
    for index in range(16):
        for pins, _begin, _end in run([oneshot.word(index, 1)], coils).pulses():
            seen |= pins
    assert seen == ((1 << coils) - 1) << FIRST_GPIO


@pytest.mark.parametrize("pulse_ms", [1, 7, 256])
def test_it_is_idle_again_within_nine_pulses_and_a_millisecond(pulse_ms: int) -> None:
    # `build` takes 8 pulses + late_ms + 1 as the keeper's pause: the firmware must never find it busy.
    for index in (0, oneshot.COILS_MAX - 1):
        busy = run([oneshot.word(index, pulse_ms)], oneshot.COILS_MAX).idle_at
        assert 9 * pulse_ms * CYCLES_MS <= busy < (9 * pulse_ms + 1) * CYCLES_MS


EDGES = [0, 1, 0xFFFFFFFF, 0x80000000, 0x7FFFFFFF, 0xFFF, 0xFF0, 0xF, 0xFFFFF000, 0x55555555, 0xAAAAAAAA]


@pytest.mark.parametrize("seed", range(4))
def test_whatever_word_comes_one_pin_at_most_never_too_long_never_too_often(seed: int) -> None:
    rng = random.Random(seed)
    words = [rng.getrandbits(32) for _ in range(12)] + EDGES[seed::4]
    for garbage in (0, 0xFFFFFFFF):
        # four words wait at once, as a queue holds after a hang
        done = run(words[:4] if garbage else words, garbage=garbage)
        pulses = done.pulses()
        for pins, begin, end in pulses:
            assert pins & (pins - 1) == 0, f"two coils: {pins:b}"
            assert end - begin <= oneshot.TICKS_MAX * CYCLES_MS + EDGE_CYCLE
        for (_, begin, end), (_, later, _) in zip(pulses, pulses[1:], strict=False):
            assert later - end >= PAUSE_PULSES * (end - begin)
        if pulses:
            assert done.idle_at - pulses[-1][2] >= PAUSE_PULSES * (pulses[-1][2] - pulses[-1][1])


def test_this_file_would_notice_a_pulse_that_is_a_cycle_too_long() -> None:
    words = program(COILS).words
    at = words.index(0xBF42)  # the first nop of 32 cycles
    words[at] -= 0x0100  # a cycle less a millisecond
    try:
        _pins, begin, end = run([oneshot.word(0, 10)]).pulses()[0]
    finally:
        words[at] += 0x0100
    assert end - begin == 10 * CYCLES_MS + EDGE_CYCLE - 10
