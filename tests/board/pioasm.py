"""An assembler for functions written for rp2.asm_pio: only the instructions that Reedway's programs use.

Encodings: RP2040 data sheet, section 3.4 "Instruction Set". The words come from the very function that runs
on the board; nothing of the program is written down twice.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from types import ModuleType
from typing import Any

CODES = {"pins": 0, "x": 1, "y": 2, "null": 3, "pindirs": 4, "isr": 6, "osr": 7}
JUMPS = {"not_x": 1, "x_dec": 2, "not_y": 3, "y_dec": 4, "not_osre": 7}


@dataclass
class Program:
    """Assembled words, and what goes into the state machine's registers with them."""

    options: dict[str, Any]
    words: list[int] = field(default_factory=list)
    wrap_target: int = 0
    wrap: int = -1


class _Emitter:
    """Collects words; run twice, so that labels ahead are known the second time."""

    def __init__(self, options: dict[str, Any]) -> None:
        self.program = Program(options)
        self.labels: dict[str, int] = {}
        side = options.get("sideset_init", ())
        self.side_bits = len(side) if isinstance(side, (tuple, list)) else 1

    def __getitem__(self, delay: int) -> _Emitter:
        assert delay < 1 << (5 - self.side_bits)
        self.program.words[-1] |= delay << 8
        return self

    def side(self, value: int) -> _Emitter:
        assert value < 1 << self.side_bits
        self.program.words[-1] |= value << (13 - self.side_bits)
        return self

    def word(self, word: int) -> _Emitter:
        self.program.words.append(word)
        return self

    def names(self) -> dict[str, Any]:
        def jmp(condition: Any, label: str | None = None) -> _Emitter:
            name, code = (condition, 0) if label is None else (label, condition)
            return self.word(code << 5 | self.labels.get(name, 0))

        def mark(name: str) -> None:
            self.labels[name] = len(self.program.words)

        def wrap_target() -> None:
            self.program.wrap_target = len(self.program.words)

        def wrap() -> None:
            self.program.wrap = len(self.program.words) - 1

        return {
            **CODES,
            **JUMPS,
            "noblock": 1,
            "block": 0x20,
            "jmp": jmp,
            "label": mark,
            "wrap_target": wrap_target,
            "wrap": wrap,
            "nop": lambda: self.word(0xA042),  # mov y, y
            "in_": lambda source, bits: self.word(0x4000 | source << 5 | bits & 31),
            "out": lambda target, bits: self.word(0x6000 | target << 5 | bits & 31),
            "push": lambda how=0x20: self.word(0x8000 | how & 0x20),
            "pull": lambda how=0x20: self.word(0x8080 | how & 0x20),
            "mov": lambda target, source: self.word(0xA000 | target << 5 | source),
            "set": lambda target, value: self.word(0xE000 | target << 5 | value),
        }


def asm_pio(**options: Any) -> Callable[[Callable[[], None]], Program]:
    """What the board's rp2.asm_pio does, for the tests."""

    def assemble(function: Callable[[], None]) -> Program:
        emitter = _Emitter(options)
        space = {**function.__globals__, **emitter.names()}
        again = type(function)(function.__code__, space)  # type: ignore[call-overload]
        again()
        emitter.program.words.clear()
        again()
        return emitter.program

    return assemble


class Pio:
    """Constants of rp2.PIO."""

    OUT_LOW, OUT_HIGH = 2, 3
    SHIFT_LEFT, SHIFT_RIGHT = 0, 1


def install() -> None:
    """Make `import rp2` and `import machine` work on CPython, far enough to assemble programs."""
    rp2 = ModuleType("rp2")
    rp2.asm_pio = asm_pio  # type: ignore[attr-defined]
    rp2.PIO = Pio  # type: ignore[attr-defined]
    machine = ModuleType("machine")
    machine.Pin = machine.mem32 = None  # type: ignore[attr-defined]
    sys.modules.setdefault("rp2", rp2)
    sys.modules.setdefault("machine", machine)
