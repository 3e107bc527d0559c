"""What is allowed and yet seldom meant: things that nothing uses, a stop that does not stop everything."""

from __future__ import annotations

from collections.abc import Iterator

from reedlogic import words as w
from reedway.boardfile.compile import Compiled
from reedway.boardfile.settling.bitrules import literals_of
from reedway.boardfile.terminals import has_arm, pins_free
from reedway.layout.model import Layout
from reedway.layout.near import listed
from reedway.problems import Complaint


def advise(layout: Layout, compiled: Compiled) -> list[Complaint]:
    """Advice in the order of the file; none of it keeps a layout from being built."""
    uses = _Uses(compiled)
    found = [*_unused(layout, compiled, uses), *_blocks(layout, uses), *_starts(layout, compiled)]
    return sorted(Complaint(layout.path, line, message) for line, message in found)


class _Uses:
    """What the rules and starts read, set and clear, as (word, bit)."""

    def __init__(self, compiled: Compiled) -> None:
        self.read: set[tuple[int, int]] = set()
        self.done: set[tuple[int, int, int]] = set()  # (op, word, bit)
        self.events: set[int] = set()
        for rule in [*compiled.at_rules, *compiled.standing]:
            self.read |= {bit for bit, _ in literals_of(rule.flat_conditions)}
            if rule.event:
                self.events.add(rule.event.number)
            for act in rule.acts:
                self.done |= {(act.op, act.word, i) for i in range(w.WORD_BITS) if act.mask >> i & 1}
        self.starts = compiled.plan[w.PLAN_STARTS]
        for conditions, *_ in self.starts:
            self.read |= {bit for bit, _ in literals_of(conditions)}

    def event(self, index: int, *kinds: int) -> bool:
        return any(kind << w.EVENT_SHIFT | index in self.events for kind in kinds)


Found = Iterator[tuple[int, str]]


def _unused(layout: Layout, compiled: Compiled, uses: _Uses) -> Found:
    """Inputs that no rule knows of, relays and timers without effect."""
    in_use = {name for t in layout.turnouts for name in (t.contact_first, t.contact_second)}
    for item in compiled.numbering.inputs:
        bits = {(item.word, item.index % 30)} | ({(w.W_RESTING, item.index)} if item.index < 30 else set())
        if bits & uses.read or uses.event(item.index, *range(w.E_OFF + 1)):
            continue
        if item.kind == "sensor" and layout.rules:
            yield item.thing.line, f"sensor {item.name} is in no rule; it is recorded only"
        elif item.kind == "switch":
            yield (
                item.thing.line,
                f"switch {item.name} is in no rule and no start; turning it changes nothing",
            )
        elif item.kind == "contact" and item.name not in in_use:
            yield item.thing.line, f"contact {item.name} belongs to no turnout and is in no rule"
        elif item.kind == "button" and not getattr(item.thing, "order", None):
            yield item.thing.line, f"button {item.name} gives no order and is in no rule"
    for i, sensor in enumerate(layout.sensors):
        if not sensor.at_rest_ms and ((w.W_RESTING, i) in uses.read or uses.event(i, w.E_REST)):
            yield sensor.line, f"a rule waits for '{sensor.name} at rest', and its at_rest is never"
    for i, relay in enumerate(layout.relays):
        word, bit = i // w.WORD_BITS, i % w.WORD_BITS
        if (word, bit) not in uses.read:
            yield relay.line, f"relay {relay.name} is read by no rule"
        at_start = any(start[1][word] >> bit & 1 for start in uses.starts)
        if relay.follows is None and (w.OP_SET, word, bit) not in uses.done and not at_start:
            yield relay.line, f"relay {relay.name} is never pulled in"
    for i, timer in enumerate(layout.timers):
        if not any((op, 0, i) in uses.done for op in (w.OP_START, w.OP_RESTART)):
            yield timer.line, f"timer {timer.name} is never started"
        elif (w.W_TIMER, i) not in uses.read and not uses.event(i, w.E_TIMER):
            yield timer.line, f"timer {timer.name} runs, but no rule waits for it"


def _blocks(layout: Layout, uses: _Uses) -> Found:
    """Where trains cannot be stopped or never start."""
    for i, block in enumerate(layout.blocks):
        at_start = any(start[3] >> i & 1 for start in uses.starts)
        if (w.OP_SET, w.W_GO, i) not in uses.done and not at_start:
            yield block.line, f"block {block.name} never goes: no rule and no start lets it go"
    if layout.track_feed is None and (layout.blocks or layout.places):
        line = layout.blocks[0].line if layout.blocks else layout.places[0].line
        yield line, "there is no track_feed: stop and faults stop trains only in blocks, not on other rails"
    without = [place.name for place in layout.places if place.block is None]
    if without and not any(turnout.power_routing for turnout in layout.turnouts):
        line = next(place.line for place in layout.places if place.block is None)
        yield line, f"no train can be held at {listed(without)}: there is no block for it"
    if layout.turnouts and not has_arm(layout):
        free = pins_free(layout)
        cure = f"give it one under terminals: arm: GPIO {free[0]}" if free else "no other is free"
        yield layout.turnouts[0].line, f"the pin of the arm line is taken, so there is none; {cure}"


def _starts(layout: Layout, compiled: Compiled) -> Found:
    """A layout that nobody can start, and starts that are never chosen."""
    lines = [thing.line for thing in layout.rules] + [thing.line for thing in layout.turnouts]
    lines += [thing.line for thing in layout.blocks]
    if lines and not layout.starts:
        yield lines[0], "there are no starts, so nothing can be started; add one under starts"
    wanted = [set(literals_of(start[0])) for start in compiled.plan[w.PLAN_STARTS]]
    for i, start in enumerate(layout.starts):
        before = next((k for k in range(i) if wanted[k] <= wanted[i]), None)
        if before is not None:
            yield (
                start.line,
                f"start {start.name} is never chosen by the switches: "
                f"wherever it matches, {layout.starts[before].name} matches first",
            )
