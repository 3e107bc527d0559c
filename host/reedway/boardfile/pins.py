"""Checks the pins of a layout: absent, reserved, used twice, of the wrong kind, coils not side by side."""

from __future__ import annotations

import difflib

from reedway.boardfile.terminals import (
    BOARDS,
    USABLE,
    Use,
    family,
    gpio_table,
    has_arm,
    number,
    overrides,
    registers,
    reserved,
    terminal_name,
    terminal_table,
    uses,
)
from reedway.layout.model import Layout
from reedway.problems import Complaint

__all__ = ["check_pins", "reserved", "terminal_table"]

USABLE_TEXT = "GPIO 0 to 22 and 26 to 28"
FAMILIES_WITH_PINS = ("sensor", "coil", "feed", "supply", "track feed", "arm")
_RANGE = {
    "sensor": "sensor 1 to 26",
    "coil": "coil 1 to 14",
    "feed": "feed 1 to 13",
    "supply": "supply 1 to 8",
    "lamp": "lamp 1 to 30",
    "panel": "panel 1 to 24",
}


def check_pins(layout: Layout) -> list[Complaint]:
    """Every complaint about terminals and pins; empty when the layout can be wired."""
    if layout.board not in BOARDS:
        return []  # the loader has said so
    complaints = _check_overrides(layout)
    good: list[Use] = []
    for use in uses(layout):
        message = _wrong_kind(use)
        if message:
            complaints.append(Complaint(layout.path, use.line, message))
        else:
            good.append(use)
    return sorted({*complaints, *_used_twice(layout, good), *_coils_apart(layout, good)})


def _check_overrides(layout: Layout) -> list[Complaint]:
    """The owner's own `terminals:`: each must be a terminal with a pin, on a pin that may be used."""
    found = []
    board = BOARDS[layout.board]
    for written, gpio in layout.terminals.items():
        name = terminal_name(written)
        line = layout.terminal_lines.get(written, 1)
        kind = family(name)
        if kind in ("lamp", "panel"):
            message = (
                f"'{written}' sits on a shift register and has no GPIO of its own; "
                f"pins can be given to {kind} data, {kind} clock and {kind} latch; remove it"
            )
        elif kind is None:
            message = f"'{written}' is no terminal; {allowed_text(FAMILIES_WITH_PINS)}; {_suggest(name)}"
        elif gpio in reserved(layout.board):
            message = (
                f"GPIO {gpio} is reserved on a {board}: {reserved(layout.board)[gpio]}; "
                f"usable are {USABLE_TEXT}; give {name} one of these"
            )
        elif gpio not in USABLE:
            message = f"a {board} has no GPIO {gpio}; usable are {USABLE_TEXT}; give {name} one of these"
        else:
            continue
        found.append(Complaint(layout.path, line, message))
    return found


def allowed_text(families: tuple[str, ...]) -> str:
    """`allowed: sensor 1 to 26, panel 1 to 24`."""
    return "allowed: " + ", ".join(_RANGE.get(kind, kind) for kind in families)


def _suggest(name: str, families: tuple[str, ...] = ()) -> str:
    names = [
        *terminal_table("pico"),
        *(f"lamp {i + 1}" for i in range(30)),
        *(f"panel {i + 1}" for i in range(24)),
    ]
    if families:
        names = [n for n in names if family(n) in families]
    near = difflib.get_close_matches(name, names, 1, 0.7)
    return f"did you mean '{near[0]}'?" if near else "choose one of these"


def _wrong_kind(use: Use) -> str | None:
    kind = family(use.terminal)
    if kind is None:
        return (
            f"{use.what}: '{use.terminal}' is no terminal; {allowed_text(use.allowed)}; "
            f"{_suggest(use.terminal, use.allowed)}"
        )
    if kind in use.allowed:
        return None
    inputs, outputs = ("sensor", "panel"), ("coil", "feed", "track feed", "supply", "lamp", "arm")
    if kind in inputs and use.allowed[0] in outputs:
        why = f"'{use.terminal}' is an input and this is an output"
    elif kind in outputs and use.allowed[0] in inputs:
        why = f"'{use.terminal}' is an output and this is an input"
    elif kind == "panel":
        for_whom = "only switches, buttons and position contacts may use"
        why = f"'{use.terminal}' sits on the panel's shift register, which {for_whom}"
    else:
        why = f"'{use.terminal}' is not for this"
    return f"{use.what}: {why}; {allowed_text(use.allowed)}; choose one of these"


def _used_twice(layout: Layout, good: list[Use]) -> list[Complaint]:
    """One terminal for two things, or two terminals on one GPIO: said at the later of the two lines."""
    table = gpio_table(layout)
    by_terminal: dict[str, Use] = {}
    found = []
    for use in good:
        first = by_terminal.setdefault(use.terminal, use)
        if first is not use:
            message = (
                f"{use.what}: '{use.terminal}' is taken by {first.what} (line {first.line}); "
                f"each terminal serves one thing; {_free_hint(layout, good, use.allowed)}"
            )
            found.append(Complaint(layout.path, use.line, message))
    everything = list(by_terminal.values())
    everything += [Use(name, 0, f"the {name} line", (name,)) for name in registers(good)]
    if has_arm(layout):
        everything.append(Use("arm", 0, "the arm line", ("arm",)))
    by_pin: dict[int, Use] = {}
    for use in everything:
        if use.terminal not in table:
            continue  # on a register
        first = by_pin.setdefault(table[use.terminal], use)
        if first is not use:
            found.append(_pin_twice(layout, good, first, use, table[use.terminal]))
    return found


def _pin_twice(layout: Layout, good: list[Use], first: Use, use: Use, gpio: int) -> Complaint:
    moved = {terminal_name(name): line for name, line in layout.terminal_lines.items()}
    line = max(first.line, use.line, moved.get(first.terminal, 0), moved.get(use.terminal, 0), 1)
    hint_for = use if use.line else first
    message = (
        f"GPIO {gpio} is used twice: {first.what} ({_place(first)}) and {use.what} ({_place(use)}); "
        f"each pin serves one terminal; {_free_hint(layout, good, hint_for.allowed)}"
    )
    return Complaint(layout.path, line, message)


def _place(use: Use) -> str:
    return f"{use.terminal}, line {use.line}" if use.line else use.terminal


def _free_hint(layout: Layout, good: list[Use], families: tuple[str, ...]) -> str:
    """Terminals of these families whose pins nothing uses."""
    table = gpio_table(layout)
    taken = {use.terminal for use in good}
    pins = {table[name] for name in [*taken, *registers(good)] if name in table}
    if "arm" in overrides(layout):
        pins.add(table["arm"])
    free = [name for name in table if family(name) in families and table[name] not in pins]
    if "panel" in families:
        free += [f"panel {i + 1}" for i in range(24) if f"panel {i + 1}" not in taken]
    if "lamp" in families:
        free += [f"lamp {i + 1}" for i in range(30) if f"lamp {i + 1}" not in taken]
    if free:
        return "free: " + ", ".join(free[:4])
    left = [gpio for gpio in USABLE if gpio not in pins]
    if left:
        return f"no such terminal is free; give one a free pin under terminals: GPIO {left[0]}"
    return "no pin is free; a panel with shift registers takes switches, buttons and lamps off the pins"


def _coils_apart(layout: Layout, good: list[Use]) -> list[Complaint]:
    """The hardware one-shot counts pins: coil n must be on the pin of the lowest coil plus the difference."""
    table = gpio_table(layout)
    coils = sorted({number(use.terminal) for use in good if family(use.terminal) == "coil"})
    if not coils:
        return []
    found = []
    moved = {terminal_name(name): line for name, line in layout.terminal_lines.items()}
    base = table[f"coil {coils[0] + 1}"] - coils[0]
    for coil in coils:
        name = f"coil {coil + 1}"
        if table[name] != base + coil:
            line = moved.get(name) or moved.get(f"coil {coils[0] + 1}", 1)
            message = (
                f"{name} is on GPIO {table[name]}; coils must be on consecutive GPIO in coil order, "
                f"here GPIO {base + coil}, for the one-shot that makes the pulses; "
                f"change the pins of coils together under terminals"
            )
            found.append(Complaint(layout.path, line, message))
    return found
