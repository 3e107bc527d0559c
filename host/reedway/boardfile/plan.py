"""The part of a board file that is not rules: inputs, outputs, turnouts, supplies, times and their limits."""

from __future__ import annotations

from reedlogic import words as w
from reedway.boardfile.gangs import after_masks
from reedway.boardfile.numbering import PANEL_BASE, Numbering
from reedway.boardfile.sentences import SentenceError, Sentences, plain
from reedway.boardfile.terminals import number, terminal_name
from reedway.layout.model import Button, Lamp, Layout, Sensor, Text, Turnout
from reedway.layout.near import did_you_mean
from reedway.problems import Complaint

ONE_SHOT_REST = 8  # the one-shot rests this many times the pulse before it takes another
PULSE_MS_MAX = 250  # its counter has 8 bits of 1 ms
SIMPLE_ORDERS = {
    "start": (w.O_START, w.NONE),
    "stop": (w.O_STOP, 0),
    "go on": (w.O_GO_ON, 0),
    "acknowledge": (w.O_ACKNOWLEDGE, 0),
}
LAMP_WORDS = {"caution": w.L_CAUTION, "fault": w.L_FAULT, "running": w.L_RUNNING}
BELONGS = "train belongs at "


class Parts:
    """Builds plan indices 0 to 13 (without cautions, notes and faults) and collects complaints."""

    def __init__(self, layout: Layout, numbering: Numbering, sentences: Sentences) -> None:
        self.layout = layout
        self.numbering = numbering
        self.sentences = sentences
        self.complaints: list[Complaint] = []

    def complain(self, line: int, message: str) -> None:
        self.complaints.append(Complaint(self.layout.path, line, message))

    def limits(self) -> tuple[int, ...]:
        layout = self.layout
        longest = max((t.pulse_ms + t.relay_operate_ms for t in layout.turnouts), default=0)
        pause_ms = max(layout.coil_pause_ms, ONE_SHOT_REST * longest + layout.late_ms + 1)
        return (layout.late_ms, pause_ms, layout.defer_ms_max, 0)

    def inputs(self, on_panel: bool) -> tuple[tuple[int, ...], ...]:
        found = []
        for item in self.numbering.inputs:
            if (item.index >= PANEL_BASE) != on_panel:
                continue
            thing = item.thing
            if isinstance(thing, Sensor):
                times = (thing.rearm_ms, thing.at_rest_ms)
                found.append((w.IN_SENSOR, thing.confirm_ms, thing.opening_ms, *times))
            else:
                kind = w.IN_BUTTON if isinstance(thing, Button) else w.IN_LEVEL
                found.append((kind, thing.confirm_ms, thing.opening_ms, 0, 0))
        return tuple(found)

    def button_orders(self) -> tuple[int, ...]:
        found: list[int] = []
        for item in self.numbering.inputs:
            if isinstance(item.thing, Button) and item.thing.order is not None:
                order = self._order(item.thing.order)
                if order:
                    found += [item.index, *order]
        return tuple(found)

    def _order(self, text: Text) -> tuple[int, int] | None:
        words = plain(text.text)
        if words in SIMPLE_ORDERS:
            return SIMPLE_ORDERS[words]
        verb, _, name = words.partition(" ")
        orders = {"hold": w.O_HOLD, "go": w.O_GO}
        if verb in orders and name:
            try:
                return orders[verb], self.sentences.place_that_can_be_held(name)
            except SentenceError as error:
                self.complain(text.line, f"order '{text}': {error}")
                return None
        self.complain(
            text.line,
            f"'{text}' is no order; allowed: start, stop, go on, acknowledge, hold PLACE, go PLACE; "
            f"{did_you_mean(words, [*SIMPLE_ORDERS, 'hold', 'go'])}",
        )
        return None

    def places(self) -> tuple[int, ...]:
        found = []
        for place in self.layout.places:
            index = self.numbering.place_block(place)
            if place.block is not None and index is None:
                self.unknown("block", place.block, [block.name for block in self.layout.blocks])
            found.append(0 if index is None else 1 << index)
        return tuple(found)

    def unknown(self, kind: str, text: Text, names: list[str]) -> None:
        self.complain(text.line, f"there is no {kind} '{text}'; {did_you_mean(text.text, names)}")

    def turnouts(self) -> tuple[tuple[int, ...], ...]:
        after = after_masks(self.numbering)
        return tuple(self._turnout(turnout, after[i]) for i, turnout in enumerate(self.layout.turnouts))

    def _turnout(self, turnout: Turnout, after: int) -> tuple[int, ...]:
        pulse_ms = turnout.pulse_ms + turnout.relay_operate_ms
        if pulse_ms > PULSE_MS_MAX:
            self.complain(
                turnout.line,
                f"turnout {turnout.name}: pulse {turnout.pulse_ms} ms and relay_operate "
                f"{turnout.relay_operate_ms} ms make {pulse_ms} ms; at most {PULSE_MS_MAX} ms together; "
                f"shorten the pulse",
            )
        supply = len(self.layout.supplies)  # the supply without a name: no recharge, no output
        if turnout.supply is not None:
            found = self.numbering.supplies.get(plain(turnout.supply.text))
            if found is None:
                self.unknown("supply", turnout.supply, [s.name for s in self.layout.supplies])
            else:
                supply = found
        coils = [number(terminal_name(c.text)) for c in (turnout.coil_first, turnout.coil_second)]
        heat = (turnout.refresh_every_ms, turnout.pulses, turnout.cool_ms)
        contacts = [self._contact(turnout, name) for name in (turnout.contact_first, turnout.contact_second)]
        return (*coils, pulse_ms, supply, after, *heat, *contacts, turnout.contact_wait_ms)

    def _contact(self, turnout: Turnout, name: str | None) -> int:
        if name is None:
            return w.NONE
        item = self.numbering.input_named(name)
        if item is None or item.kind != "contact":
            contacts = [level.name for level in self.layout.levels if level.kind == "contact"]
            hint = did_you_mean(name, contacts)
            self.complain(turnout.line, f"turnout {turnout.name}: there is no contact '{name}'; {hint}")
            return w.NONE
        return item.index

    def supplies(self) -> tuple[tuple[int, ...], ...]:
        found = [
            (supply.recharge_ms, supply.lead_ms, supply.trail_ms, int(supply.terminal is not None))
            for supply in self.layout.supplies
        ]
        if any(turnout.supply is None for turnout in self.layout.turnouts):
            found.append((0, 0, 0, 0))
        return tuple(found)

    def lamps(self) -> tuple[tuple[int, int], ...]:
        return tuple(self._lamp(lamp) for lamp in self.layout.lamps)

    def _lamp(self, lamp: Lamp) -> tuple[int, int]:
        if lamp.shows is None:
            return (w.L_RULES, 0)
        words = plain(lamp.shows.text)
        if words in LAMP_WORDS:
            return (LAMP_WORDS[words], 0)
        if words.startswith(BELONGS):
            place = self.numbering.places.get(words[len(BELONGS) :])
            if place is not None:
                return (w.L_BELONGS, place)
        for tail, source in ((" held", w.L_HELD), (" goes", w.L_FED)):
            name = words.removesuffix(tail)
            if name != words and name in self.numbering.places:
                try:
                    place = self.sentences.place_that_can_be_held(name)
                except SentenceError as error:
                    self.complain(lamp.shows.line, f"lamp {lamp.name}: {error}")
                    return (w.L_RULES, 0)
                block = self.numbering.place_block(self.layout.places[place])
                return (source, block or 0)
        places = [place.name for place in self.layout.places]
        every = [f"{BELONGS}{p}" for p in places] + [f"{p}{t}" for p in places for t in (" held", " goes")]
        self.complain(
            lamp.shows.line,
            f"lamp {lamp.name}: '{lamp.shows}' cannot be shown; allowed: train belongs at PLACE, PLACE held, "
            f"PLACE goes, caution, fault, running; {did_you_mean(words, [*every, *LAMP_WORDS])}",
        )
        return (w.L_RULES, 0)

    def track_power(self) -> int:
        return next((item.index for item in self.numbering.inputs if item.kind == "power"), w.NONE)
