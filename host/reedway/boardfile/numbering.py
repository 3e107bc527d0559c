"""The number of every named thing of a layout: its bit or index in the board file."""

from __future__ import annotations

from dataclasses import dataclass

from reedlogic import words
from reedway.boardfile.terminals import family, terminal_name
from reedway.layout.model import Block, Button, Gang, Layout, Level, Place, Relay, Sensor, Turnout

PANEL_BASE = 30  # input index of the first input on the panel registers
TRACK_POWER = "track power"
LEVEL_WORDS = {
    "sensor": ("closed", "open"),
    "detector": ("occupied", "free"),
    "button": ("pressed", "released"),
    "contact": ("closed", "open"),
    "power": ("on", "off"),
}


@dataclass(frozen=True)
class Input:
    """One input with its index in the board file."""

    name: str
    kind: str  # "sensor", "detector", "switch", "button", "contact", "power"
    index: int
    thing: Sensor | Level | Button

    @property
    def word(self) -> int:
        """The word that its confirmed level is in."""
        return words.W_PANEL if self.index >= PANEL_BASE else words.W_LEVEL

    @property
    def words(self) -> tuple[str, str]:
        """What it is when on and when off: (closed, open), (occupied, free), ..."""
        if isinstance(self.thing, Level) and self.kind == "switch":
            return self.thing.on_word, self.thing.off_word
        return LEVEL_WORDS[self.kind]

    @property
    def bit(self) -> int:
        return 1 << self.index % PANEL_BASE


class Numbering:
    """Indices by name (case ignored), counted once for compiler, names, pins and explain."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.inputs = _number_inputs(layout)
        self.by_input = {item.name.lower(): item for item in self.inputs}
        self.blocks = {block.name.lower(): i for i, block in enumerate(layout.blocks)}
        self.places = {place.name.lower(): i for i, place in enumerate(layout.places)}
        self.relays = {relay.name.lower(): i for i, relay in enumerate(layout.relays)}
        self.turnouts = {turnout.name.lower(): i for i, turnout in enumerate(layout.turnouts)}
        self.gangs = {gang.name.lower(): gang for gang in layout.gangs}
        self.timers = {timer.name.lower(): i for i, timer in enumerate(layout.timers)}
        self.lamps = {lamp.name.lower(): i for i, lamp in enumerate(layout.lamps)}
        self.supplies = {supply.name.lower(): i for i, supply in enumerate(layout.supplies)}

    def input_named(self, name: str) -> Input | None:
        return self.by_input.get(name.lower())

    def names(self) -> list[str]:
        """Every name that a sentence can use."""
        layout = self.layout
        found = [item.name for item in self.inputs]
        for things in (layout.turnouts, layout.gangs, layout.blocks, layout.places):
            found += [thing.name for thing in things]
        for others in (layout.relays, layout.timers, layout.lamps):
            found += [thing.name for thing in others]
        return found

    def place_block(self, place: Place) -> int | None:
        """Index of the block that holds a train at this place."""
        return self.blocks.get(place.block.text.lower()) if place.block else None

    def members(self, gang: Gang) -> list[int]:
        """Turnout indices of a gang in the order of throwing; unknown names are left out."""
        found = [self.turnouts.get(text.text.lower()) for text in gang.turnouts]
        return [index for index in found if index is not None]

    def followers(self) -> list[tuple[int, Relay]]:
        return [(i, relay) for i, relay in enumerate(self.layout.relays) if relay.follows is not None]

    def block_of(self, index: int) -> Block:
        return self.layout.blocks[index]

    def turnout_of(self, index: int) -> Turnout:
        return self.layout.turnouts[index]


def _number_inputs(layout: Layout) -> list[Input]:
    """Sensors, detectors, switches, buttons, contacts, power; those on the panel count from 30."""
    ordered: list[tuple[str, str, Sensor | Level | Button]] = []
    ordered += [(sensor.name, "sensor", sensor) for sensor in layout.sensors]
    for kind in ("detector", "switch"):
        ordered += [(level.name, kind, level) for level in layout.levels if level.kind == kind]
    ordered += [(button.name, "button", button) for button in layout.buttons]
    ordered += [(level.name, "contact", level) for level in layout.levels if level.kind == "contact"]
    ordered += [(TRACK_POWER, "power", level) for level in layout.levels if level.kind == "power"]
    on_pins: list[Input] = []
    on_panel: list[Input] = []
    for name, kind, thing in ordered:
        if family(terminal_name(thing.terminal.text)) == "panel":
            on_panel.append(Input(name, kind, PANEL_BASE + len(on_panel), thing))
        else:
            on_pins.append(Input(name, kind, len(on_pins), thing))
    return on_pins + on_panel
