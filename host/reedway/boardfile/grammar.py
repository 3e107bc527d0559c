"""Every sentence that a layout's rules may use, with what it means in words and bits."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from reedlogic import words as w
from reedway.boardfile.numbering import Numbering

Bits = tuple[tuple[int, int, int], ...]  # (word, mask, value)


@dataclass(frozen=True)
class Condition:
    """A sentence that holds or not."""

    text: str
    bits: Bits
    line: int = field(default=0, compare=False)


@dataclass(frozen=True)
class Event:
    """A sentence for something that happens."""

    text: str
    number: int  # kind * 64 + index


@dataclass(frozen=True)
class Act:
    """A sentence for what a rule does. A caution's bit is filled in by the compiler."""

    text: str
    op: int
    word: int
    mask: int
    says: str = ""  # the words of a note, caution or fault
    holds: str = ""  # the place that a caution holds
    line: int = field(default=0, compare=False)


def conditions(numbering: Numbering) -> Iterator[Condition]:
    """Every condition of this layout."""
    layout = numbering.layout
    for item in numbering.inputs:
        on, off = item.words
        yield Condition(f"{item.name} {on}", ((item.word, item.bit, item.bit),))
        yield Condition(f"{item.name} {off}", ((item.word, item.bit, 0),))
        if item.kind == "sensor" and item.word == w.W_LEVEL:
            yield Condition(f"{item.name} at rest", ((w.W_RESTING, item.bit, item.bit),))
            yield Condition(f"{item.name} not at rest", ((w.W_RESTING, item.bit, 0),))
    for i, relay in enumerate(layout.relays):
        yield from _pair(relay.name, "in", "out", w.W_RELAY + i // w.WORD_BITS, 1 << i % w.WORD_BITS)
    for i, block in enumerate(layout.blocks):
        yield from _pair(block.name, "goes", "stops", w.W_GO, 1 << i)
    for i, timer in enumerate(layout.timers):
        yield from _pair(timer.name, "running", "not running", w.W_TIMER, 1 << i)
    for place in layout.places:
        block_index = numbering.place_block(place)
        if block_index is not None:
            yield from _pair(place.name, "held", "not held", w.W_HELD, 1 << block_index)
    for i, turnout in enumerate(layout.turnouts):
        yield Condition(f"{turnout.name} not known", ((w.W_KNOWN, 1 << i, 0),))
    for name, positions in throwables(numbering):
        mask = positions[0][1] | positions[0][2]
        yield Condition(f"{name} known", ((w.W_KNOWN, mask, mask),))
        for position, _to_first, to_second in positions:
            if position:
                bits = ((w.W_POSITION, mask, to_second), (w.W_KNOWN, mask, mask))
                yield Condition(f"{name} to {position}", bits)


def _pair(name: str, on: str, off: str, word: int, bit: int) -> Iterator[Condition]:
    yield Condition(f"{name} {on}", ((word, bit, bit),))
    yield Condition(f"{name} {off}", ((word, bit, 0),))


def throwables(numbering: Numbering) -> Iterator[tuple[str, list[tuple[str, int, int]]]]:
    """Turnouts and gangs: (name, [(position, turnouts to the first, turnouts to the second position)])."""
    for i, turnout in enumerate(numbering.layout.turnouts):
        yield turnout.name, [(turnout.first, 1 << i, 0), (turnout.second, 0, 1 << i)]
    for gang in numbering.layout.gangs:
        members = numbering.members(gang)
        if members:
            yield gang.name, gang_positions(numbering, members)


def gang_positions(numbering: Numbering, members: list[int]) -> list[tuple[str, int, int]]:
    """The position names that all members share, each by the member's own naming; ('', all, 0) if none."""
    found = []
    lead = numbering.turnout_of(members[0])
    for position in (lead.first, lead.second):
        first = second = 0
        for member in members:
            turnout = numbering.turnout_of(member)
            if turnout.first.lower() == position.lower():
                first |= 1 << member
            elif turnout.second.lower() == position.lower():
                second |= 1 << member
        if all((first | second) >> member & 1 for member in members):
            found.append((position, first, second))
    everyone = sum(1 << member for member in set(members))
    return found or [("", everyone, 0)]


def events(numbering: Numbering) -> Iterator[Event]:
    """Every event of this layout."""

    def event(text: str, kind: int, index: int = 0) -> Event:
        return Event(text, kind << w.EVENT_SHIFT | index)

    layout = numbering.layout
    for item in numbering.inputs:
        if item.kind == "sensor":
            yield event(f"{item.name} hit", w.E_HIT, item.index)
            yield event(f"{item.name} opens", w.E_OPENING, item.index)
            yield event(f"{item.name} rearmed", w.E_REARM, item.index)
            yield event(f"{item.name} at rest", w.E_REST, item.index)
            continue
        on, off = ("closes", "opens") if item.kind == "contact" else item.words
        is_button = item.kind == "button"
        yield event(f"{item.name} {on}", w.E_HIT if is_button else w.E_ON, item.index)
        yield event(f"{item.name} {off}", w.E_OPENING if is_button else w.E_OFF, item.index)
    for i, timer in enumerate(layout.timers):
        yield event(f"{timer.name} runs out", w.E_TIMER, i)
    for i, turnout in enumerate(layout.turnouts):
        yield event(f"{turnout.name} in position", w.E_POSITION, i)
    for text, kind in (
        ("start", w.E_START),
        ("stop", w.E_STOP),
        ("go on", w.E_GO_ON),
        ("acknowledge", w.E_ACKNOWLEDGE),
    ):
        yield event(text, kind)
    for i, place in enumerate(layout.places):
        if numbering.place_block(place) is not None:
            yield event(f"{place.name} let go", w.E_GO, i)
            yield event(f"{place.name} held", w.E_HOLD, i)
        yield event(f"train set on {place.name}", w.E_SET_ON, i)
        yield event(f"train lifted off {place.name}", w.E_LIFT_OFF, i)


def acts(numbering: Numbering) -> Iterator[Act]:
    """Every act of this layout without words of its own (note, caution and fault have them)."""
    layout = numbering.layout
    for i, relay in enumerate(layout.relays):
        if relay.follows is None:
            word, bit = w.W_RELAY + i // w.WORD_BITS, 1 << i % w.WORD_BITS
            yield Act(f"pull in {relay.name}", w.OP_SET, word, bit)
            yield Act(f"drop out {relay.name}", w.OP_CLEAR, word, bit)
    for i, block in enumerate(layout.blocks):
        yield Act(f"{block.name} goes", w.OP_SET, w.W_GO, 1 << i)
        yield Act(f"{block.name} stops", w.OP_CLEAR, w.W_GO, 1 << i)
    for i, timer in enumerate(layout.timers):
        yield Act(f"start {timer.name}", w.OP_START, 0, 1 << i)
        yield Act(f"restart {timer.name}", w.OP_RESTART, 0, 1 << i)
        yield Act(f"cancel {timer.name}", w.OP_CANCEL, 0, 1 << i)
    for i, lamp in enumerate(layout.lamps):
        if lamp.shows is None:
            yield Act(f"light {lamp.name}", w.OP_SET, w.W_LAMP, 1 << i)
            yield Act(f"darken {lamp.name}", w.OP_CLEAR, w.W_LAMP, 1 << i)


def throws(numbering: Numbering) -> Iterator[tuple[str, list[Act]]]:
    """`throw ends to B` with one act per direction: members may name their positions the other way round."""
    for name, positions in throwables(numbering):
        for position, first, second in positions:
            if not position:
                continue
            text = f"throw {name} to {position}"
            both = [Act(text, w.OP_THROW_A, 0, first), Act(text, w.OP_THROW_B, 0, second)]
            yield text, [act for act in both if act.mask]
