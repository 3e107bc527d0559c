"""The shift programs of lamps and panel in the state-machine emulator, against registers modelled here.

A model counts only what data sheets of 8-bit registers say: data is taken with the rising clock edge, outputs
change with the rising latch edge; inputs are loaded while the latch is low, the last stage (input H of the
register next to the board) is on the data line, and a rising clock edge brings the next.
"""

import random
from collections import deque

import pioemu
import pytest

from board import pioasm

pioasm.install()

from reedboard import registers  # noqa: E402

DATA, CLOCK, LATCH = 0, 1, 2
REGISTERS = 3


class OutputRegisters:
    """Three 8-bit output registers in a row."""

    def __init__(self) -> None:
        self.shift = self.outputs = 0
        self.pins = 0

    def see(self, pins: int) -> None:
        rising = pins & ~self.pins
        if rising >> CLOCK & 1:
            self.shift = (self.shift << 1 | pins >> DATA & 1) & (1 << 8 * REGISTERS) - 1
        if rising >> LATCH & 1:
            self.outputs = self.shift
        self.pins = pins


class InputRegisters:
    """Three 8-bit input registers; `levels` as they come out: input H of the first register first."""

    def __init__(self, levels: list[int]) -> None:
        self.levels = levels
        self.stages = [1] * len(levels)
        self.pins = 1 << LATCH

    def see(self, pins: int) -> int:
        if not pins >> LATCH & 1:
            self.stages = list(self.levels)
        elif (pins & ~self.pins) >> CLOCK & 1:
            self.stages = [*self.stages[1:], 1]
        self.pins = pins
        return self.stages[0] << DATA


@pytest.mark.parametrize("word", [0, 1, 1 << 23, 0x5A5A5A, (1 << 24) - 1, 1 << 7, 1 << 8])
def test_lamp_bits_end_at_their_outputs(word: int) -> None:
    program = registers.lamp_program()
    model = OutputRegisters()
    for _before, after in pioemu.emulate(
        program.words,
        stop_when=lambda _opcode, now: now.program_counter == 0 and not now.transmit_fifo,
        initial_state=pioemu.State(transmit_fifo=deque([word])),
        shift_osr_right=False,
        out_base=DATA,
        out_count=1,
        set_base=LATCH,
        set_count=1,
        side_set_base=CLOCK,
        side_set_count=1,
        wrap_target=program.wrap_target,
        wrap_top=program.wrap,
    ):
        model.see(after.pin_values)
    assert model.outputs == word  # bit 0 is the first output of the first register


@pytest.mark.parametrize("seed", range(4))
def test_panel_bits_come_in_the_order_of_the_wires(seed: int) -> None:
    rng = random.Random(seed)
    levels = [1] * 24 if seed == 0 else [rng.getrandbits(1) for _ in range(24)]
    program = registers.panel_program()
    model = InputRegisters(levels)

    def line(state: pioemu.State) -> int:
        return model.see(state.pin_values)

    last = pioemu.State()
    for _before, after in pioemu.emulate(
        program.words,
        stop_when=lambda _opcode, now: now.program_counter == 0 and not now.transmit_fifo,
        initial_state=pioemu.State(
            transmit_fifo=deque([0]), pin_values=1 << LATCH, pin_directions=1 << CLOCK | 1 << LATCH
        ),
        input_source=line,
        shift_isr_right=True,
        set_base=LATCH,
        set_count=1,
        side_set_base=CLOCK,
        side_set_count=1,
        wrap_target=program.wrap_target,
        wrap_top=program.wrap,
    ):
        last = after
    assert last.clock / registers.SHIFT_HZ < 0.0005  # ready for the next scan
    assert list(last.receive_fifo) == [sum(level << place for place, level in enumerate(levels))]
