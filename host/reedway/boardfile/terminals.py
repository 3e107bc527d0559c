"""Which GPIO each terminal is on, for each board: the default tables, and what an owner's file uses of them.

Coils count up from GPIO 0 (the one-shot needs them side by side), sensors count down from GPIO 12: the two
share thirteen pins as the layout needs them. Further sensors and feeds take pins of what is not used.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from reedway.layout.model import Layout, Text

BOARDS = {"pico": "Pico", "pico2": "Pico 2"}
USABLE = (*range(23), 26, 27, 28)
BOARD_LED = 25
COILS_MAX = 14
LAMPS_MAX = 30
PANEL_MAX = 24

# Pins of both boards that are not on the header, or have their work on the board itself (their data sheets,
# "Pinout and design files": GPIO23 power-save, GPIO24 USB power, GPIO25 LED, GPIO29 supply voltage).
RESERVED = {
    23: "it switches the board's own power supply",
    24: "it senses the USB power",
    25: "it is the board's LED",
    29: "it measures the supply voltage",
}

_SENSOR_PINS = (*range(12, 3, -1), 13, 14, 15, 16, 17, 18, 3, 2, 1, 0, 27, 28, 26, 22, 21, 20, 19)
_FEED_PINS = (19, 20, 21, 22, 27, 18, 17, 16, 15, 14, 13, 12, 11)
_SUPPLY_PINS = (27, 18, 17, 16, 15, 14, 13, 12)
LAMP_REGISTER = ("lamp data", "lamp clock", "lamp latch")
PANEL_REGISTER = ("panel data", "panel clock", "panel latch")


@dataclass(frozen=True)
class Use:
    """One terminal that the layout file uses."""

    terminal: str
    line: int
    what: str  # "sensor N1"
    allowed: tuple[str, ...]  # families of terminals that can do this
    name: str = ""


def terminal_name(text: str) -> str:
    """The one spelling of a terminal: small letters, single spaces."""
    return " ".join(text.lower().split())


def terminal_table(board: str) -> dict[str, int]:
    """Default GPIO of each terminal; `lamp N` and `panel N` sit on shift registers and are not here."""
    if board not in BOARDS:
        raise KeyError(board)
    table = {f"coil {i + 1}": i for i in range(COILS_MAX)}
    table.update({f"sensor {i + 1}": pin for i, pin in enumerate(_SENSOR_PINS)})
    table.update({f"feed {i + 1}": pin for i, pin in enumerate(_FEED_PINS)})
    table.update({f"supply {i + 1}": pin for i, pin in enumerate(_SUPPLY_PINS)})
    table.update({name: 13 + i for i, name in enumerate(LAMP_REGISTER)})
    table.update({name: 16 + i for i, name in enumerate(PANEL_REGISTER)})
    table.update({"track feed": 26, "arm": 28})
    return table


def reserved(board: str) -> dict[int, str]:
    """GPIO that no terminal may be on, with the reason."""
    if board not in BOARDS:
        raise KeyError(board)
    return dict(RESERVED)


def family(terminal: str) -> str | None:
    """`sensor 3` -> `sensor`; None when there is no such terminal on any board."""
    if terminal in ("track feed", "arm", *LAMP_REGISTER, *PANEL_REGISTER):
        return terminal
    found = re.fullmatch(r"(sensor|coil|feed|supply|lamp|panel) ([1-9][0-9]?)", terminal)
    if not found:
        return None
    most = {
        "sensor": len(_SENSOR_PINS),
        "coil": COILS_MAX,
        "feed": len(_FEED_PINS),
        "supply": len(_SUPPLY_PINS),
        "lamp": LAMPS_MAX,
        "panel": PANEL_MAX,
    }
    return found[1] if int(found[2]) <= most[found[1]] else None


def number(terminal: str) -> int:
    """`sensor 3` -> 2: terminals count from 1, inside all counts from 0; 0 if without a number."""
    last = terminal.split(" ")[-1]
    return int(last) - 1 if family(terminal) and last.isdigit() else 0


def uses(layout: Layout) -> list[Use]:
    """Every terminal that the layout file names, in file order of kinds."""
    found: list[Use] = []

    def use(text: Text | None, what: str, name: str, *allowed: str) -> None:
        if text is not None:
            found.append(Use(terminal_name(text.text), text.line, what, allowed, name))

    for sensor in layout.sensors:
        use(sensor.terminal, f"sensor {sensor.name}", sensor.name, "sensor")
    for level in layout.levels:
        on_panel = ("panel",) if level.kind in ("switch", "contact") else ()
        what = "track power" if level.kind == "power" else f"{level.kind} {level.name}"
        use(level.terminal, what, level.name, "sensor", *on_panel)
    for button in layout.buttons:
        use(button.terminal, f"button {button.name}", button.name, "sensor", "panel")
    for turnout in layout.turnouts:
        use(turnout.coil_first, f"turnout {turnout.name} to {turnout.first}", turnout.name, "coil")
        use(turnout.coil_second, f"turnout {turnout.name} to {turnout.second}", turnout.name, "coil")
    for supply in layout.supplies:
        use(supply.terminal, f"supply {supply.name}", supply.name, "supply")
    for block in layout.blocks:
        use(block.terminal, f"block {block.name}", block.name, "feed")
    use(layout.track_feed, "the track feed", "track feed", "track feed", "feed")
    for lamp in layout.lamps:
        use(lamp.terminal, f"lamp {lamp.name}", lamp.name, "lamp")
    return found


def overrides(layout: Layout) -> dict[str, int]:
    """The owner's `terminals:` under their one spelling."""
    return {terminal_name(name): gpio for name, gpio in layout.terminals.items()}


def gpio_table(layout: Layout) -> dict[str, int]:
    """GPIO of each terminal on this layout's board, the owner's changes included."""
    return {**terminal_table(layout.board), **overrides(layout)}


def registers(found: list[Use]) -> list[str]:
    """The register terminals that come into use with the first lamp and the first panel input."""
    families = {family(use.terminal) for use in found}
    lamps = LAMP_REGISTER if "lamp" in families else ()
    panel = PANEL_REGISTER if "panel" in families else ()
    return [*lamps, *panel]


def has_arm(layout: Layout) -> bool:
    """The arm line is there when its pin was given, or when there are coils and nothing else took the pin."""
    if "arm" in overrides(layout):
        return True
    table = gpio_table(layout)
    found = uses(layout)
    taken = {table.get(name) for name in [*(use.terminal for use in found), *registers(found)]}
    return bool(layout.turnouts) and table["arm"] not in taken


def pins_used(layout: Layout) -> dict[int, str]:
    """GPIO -> terminal for what this layout uses; with a faultless layout each GPIO comes once."""
    table = gpio_table(layout)
    found = uses(layout)
    names = [*(use.terminal for use in found), *registers(found), *(["arm"] if has_arm(layout) else [])]
    return {table[name]: name for name in names if name in table}


def pins_free(layout: Layout) -> list[int]:
    """Usable GPIO that this layout does not use."""
    used = pins_used(layout)
    return [gpio for gpio in USABLE if gpio not in used]
