"""The owner's drawing of the layout with every name in it lit by its state, and the state in words."""

from __future__ import annotations

import re
from collections.abc import Iterator

from reedway.layout.model import Layout
from reedway.sessionlog.kinds import w
from reedway.sessionlog.reader import Line
from reedway.sessionlog.tell import Teller

WIDTH = 80
# What a state looks like: an ANSI rendition (ECMA-48, SGR) around the name.
LOOKS = {
    "hit": "30;43",
    "closed": "30;43",
    "at rest": "1;97;41",
    "open": "",
    "goes": "1;32",
    "stops": "31",
    "first": "36",
    "second": "1;35",
    "moving": "30;43",
    "unknown": "2",
}
TOLD = {
    "hit",
    "throw",
    "caution",
    "clear",
    "feed",
    "fault",
    "mode",
    "note",
    "order",
    "refused",
}  # as they come
TOLD_LINES = 3
GLOW_MS = 3000  # board time for which a hit stays lit


class Live:
    """The state of every thing in the drawing, followed record by record."""

    def __init__(self, layout: Layout, teller: Teller) -> None:
        self.teller = teller
        self.mode = "before start"
        self.told: list[str] = []
        self.sensors = {sensor.name: "open" for sensor in layout.sensors}
        self.blocks = {block.name: "stops" for block in layout.blocks}
        self.turnouts = {turnout.name: "unknown" for turnout in layout.turnouts}
        blocks = {name.casefold(): name for name in self.blocks}
        held = [(p.name, p.block.text.casefold()) for p in layout.places if p.block is not None]
        self.place_blocks = {place: blocks[block] for place, block in held}
        self._hits: dict[str, int] = {}  # when each sensor was last hit

    def take(self, line: Line) -> None:
        """One record."""
        kind, name, value = line.kind, line.name, line.value
        if not isinstance(value, int):
            return
        if name in self.sensors:
            self._sensor(line.t, kind, name, value)
        elif kind == "feed" and name in self.blocks:
            self.blocks[name] = "goes" if value else "stops"
        elif kind == "throw":
            self.turnouts[name] = "moving"
        elif kind == "position":
            self.turnouts[name] = "second" if value else "first"
        elif kind == "mode":
            self.mode = name
        if kind in TOLD:
            self.told = [*self.told, self.teller.tell(kind, name, value)][-TOLD_LINES:]

    def _sensor(self, t: int, kind: str, name: str, value: int) -> None:
        if kind == "hit":
            self.sensors[name] = "closed"
            self._hits[name] = t
        elif kind == "rest":
            self.sensors[name] = "at rest"
        elif kind == "opening" and self.sensors[name] == "closed" or kind == "clear" and value == w.C_REST:
            self.sensors[name] = "open"

    def states(self, t: int) -> dict[str, str]:
        """The state at board time t of every name that a drawing may hold."""
        found = dict(self.sensors)
        for name, hit in self._hits.items():
            if found[name] == "open" and t - hit < GLOW_MS:
                found[name] = "hit"
        for place, block in self.place_blocks.items():
            found[place] = self.blocks[block]
        return found | self.blocks | self.turnouts

    def words(self, states: dict[str, str]) -> Iterator[str]:
        """The states in words, for those who see no colours, in lines of at most 80 characters."""
        items = [f"{name} {states[name]}" for name in self.sensors]
        items += [f"{name} {state}" for name, state in self.blocks.items()]
        for name, state in self.turnouts.items():
            if state in ("first", "second"):
                items.append(f"{name} to {self.teller.position(name, int(state == 'second'))}")
            else:
                items.append(f"{name} {'moves' if state == 'moving' else 'not known'}")
        line = " "
        for item in items:
            if len(line) + len(item) + 3 > WIDTH:
                yield line
                line = " "
            line += f" {item}  "
        yield line


class Picture:
    """Draws frames: a line of time and mode, the drawing, the states, what happened last."""

    def __init__(self, layout: Layout, colours: bool) -> None:
        self.drawing = [line[:WIDTH] for line in layout.drawing]
        self.colours = colours
        self._word_lines = 0
        names = [*(s.name for s in layout.sensors), *(t.name for t in layout.turnouts)]
        names += [*(b.name for b in layout.blocks), *(p.name for p in layout.places)]
        longest_first = sorted(names, key=len, reverse=True)
        self._by_fold = {name.casefold(): name for name in names}
        either = "|".join(map(re.escape, longest_first)) or "(?!)"
        self._names = re.compile(rf"(?<!\w)(?:{either})(?!\w)", re.IGNORECASE)

    def lit(self, states: dict[str, str]) -> list[str]:
        """The drawing with its names lit."""
        if not self.colours:
            return self.drawing

        def light(match: re.Match[str]) -> str:
            look = LOOKS.get(states.get(self._by_fold[match[0].casefold()], ""), "")
            return f"\x1b[{look}m{match[0]}\x1b[0m" if look else match[0]

        return [self._names.sub(light, line) for line in self.drawing]

    def frame(self, clock: str, t: int, live: Live) -> list[str]:
        """The frame at board time t; no frame has fewer lines than one before."""
        states = live.states(t)
        words = list(live.words(states))
        self._word_lines = max(self._word_lines, len(words))
        words += [""] * (self._word_lines - len(words))
        told = [f"  {text}"[:WIDTH] for text in live.told]
        told += [""] * (TOLD_LINES - len(told))
        return [f" {clock}  {live.mode}", *self.lit(states), "", *words, *told]
