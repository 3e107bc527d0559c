"""What is to be tried, in the order that is safe: inputs, lamps, coils, feeds, trains."""

from __future__ import annotations

from dataclasses import dataclass, field

from reedway.boardfile.compile import Compiled
from reedway.boardfile.names import TRACK_FEED
from reedway.boardfile.numbering import Input, Numbering

REST, INPUT, LAMP, TURNOUT, FEED, TRAIN = "rest", "input", "lamp", "turnout", "feed", "train"
# What an owner can ask for alone.
GROUPS = {
    "inputs": (REST, INPUT),
    "lamps": (LAMP,),
    "turnouts": (TURNOUT,),
    "feeds": (FEED,),
    "trains": (TRAIN,),
}
SOME_TRAIN = "train"  # where the layout file names none


@dataclass(frozen=True)
class Step:
    """One thing to try. `key` stays the same while the wires that it is about stay the same."""

    kind: str
    name: str
    index: int = 0  # input, lamp, turnout or feed, as the board counts them
    line: int = 0
    terminals: tuple[str, ...] = ()
    input_kind: str = ""
    words: tuple[str, ...] = field(default=())  # positions of a turnout; words of a level, on and off
    contacts: tuple[str | None, str | None] = (None, None)  # inputs that close in the two positions
    note: str = ""  # what more there is to say of it

    @property
    def key(self) -> str:
        return ", ".join([f"{self.kind} {self.name}", *self.terminals, *self.words])

    @property
    def title(self) -> str:
        if self.kind == REST:
            return "inputs at rest"
        if self.kind == INPUT:
            return self.name if self.input_kind == "power" else f"{self.input_kind} {self.name}"
        if self.kind == FEED:
            return self.name if self.name == TRACK_FEED else f"block {self.name}"
        return self.name if self.name == SOME_TRAIN else f"{self.kind} {self.name}"


def steps_of(compiled: Compiled) -> list[Step]:
    """Every step of a layout."""
    layout = compiled.layout
    inputs = Numbering(layout).inputs
    steps = [Step(REST, "inputs")] if inputs else []
    goes = {str(section.go_sensor).lower(): section.name for section in layout.track if section.go_sensor}
    steps += [_input(item, goes) for item in inputs if item.kind != "power"]
    steps += [
        Step(LAMP, lamp.name, i, lamp.terminal.line, (lamp.terminal.text,))
        for i, lamp in enumerate(layout.lamps)
    ]
    steps += [
        Step(
            TURNOUT,
            turnout.name,
            i,
            turnout.coil_first.line,
            (turnout.coil_first.text, turnout.coil_second.text),
            words=(turnout.first, turnout.second),
            contacts=(turnout.contact_first, turnout.contact_second),
        )
        for i, turnout in enumerate(layout.turnouts)
    ]
    steps += [_input(item, goes) for item in inputs if item.kind == "power"]
    if layout.track_feed is not None:
        feed = layout.track_feed
        steps.append(Step(FEED, TRACK_FEED, len(layout.blocks), feed.line, (feed.text,)))
    steps += [
        Step(FEED, block.name, i, block.terminal.line, (block.terminal.text,))
        for i, block in enumerate(layout.blocks)
    ]
    if layout.sensors:
        trains = [(train.name, train.line) for train in layout.stock.trains] or [(SOME_TRAIN, 0)]
        steps += [Step(TRAIN, name, line=line) for name, line in trains]
    return steps


def _input(item: Input, goes: dict[str, str]) -> Step:
    terminal = item.thing.terminal
    words = item.words if item.kind == "switch" else ()
    place = goes.get(item.name.lower(), "")
    note = f", the go sensor that lets {place} go" if place else ""
    return Step(INPUT, item.name, item.index, terminal.line, (terminal.text,), item.kind, words, note=note)


def sensors_of(steps: list[Step]) -> list[Step]:
    """The steps of the sensors."""
    return [step for step in steps if step.kind == INPUT and step.input_kind == "sensor"]
