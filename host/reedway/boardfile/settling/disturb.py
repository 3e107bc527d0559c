"""What one event may change before the standing rules act: the cases from which they must settle."""

from __future__ import annotations

from typing import Any

from reedlogic import words as w
from reedway.boardfile.numbering import PANEL_BASE
from reedway.boardfile.settling.bitrules import PHYSICAL, Bit, at_bits, bits_of, literals_of
from reedway.boardfile.settling.truthtable import Table


def beginnings(table: Table, settled: int, plan: tuple[Any, ...]) -> int:
    """Cases that come about when one event disturbs a settled one, or at a start."""
    found = settled
    for bits in _disturbances(table, plan):
        found |= table.free(settled, bits)
    at_start = next((bits for event, bits in at_bits(plan) if event == w.E_START << w.EVENT_SHIFT), set())
    for start in plan[w.PLAN_STARTS]:
        found |= table.free(table.where(start_values(table.variables, start)), with_turnouts(at_start))
    return found


def _disturbances(table: Table, plan: tuple[Any, ...]) -> list[set[Bit]]:
    """Sets of bits that one event may change together."""
    state = set().union(*(rule.writes() for rule in table.rules))
    free_alone = (w.W_TIMER, w.W_HELD, w.W_WANTED)  # timer ends, orders
    found = [{bit} for bit in table.variables if bit not in state or bit[0] in free_alone]
    turnouts = {bit[1] for bit in table.variables if bit[0] in (w.W_WANTED, w.W_POSITION, PHYSICAL)}
    found += [with_turnouts({(w.W_WANTED, turnout)}) for turnout in turnouts]
    found.append({bit for bit in table.variables if bit[0] in (w.W_HELD, w.W_CAUTION)})  # acknowledge
    found += [with_turnouts(bits | own_bits(event, plan)) for event, bits in at_bits(plan)]
    return found


def with_turnouts(bits: set[Bit]) -> set[Bit]:
    """A turnout asked for may lie and be known in any way."""
    turnouts = {bit[1] for bit in bits if bit[0] == w.W_WANTED}
    words = (w.W_WANTED, w.W_POSITION, w.W_KNOWN, PHYSICAL)
    return bits | {(word, turnout) for turnout in turnouts for word in words}


def own_bits(event: int, plan: tuple[Any, ...]) -> set[Bit]:
    """The bits that the event itself changes."""
    kind, index = event >> w.EVENT_SHIFT, event & (1 << w.EVENT_SHIFT) - 1
    if kind <= w.E_OFF:
        word = w.W_PANEL if index >= PANEL_BASE else w.W_LEVEL
        return {(word, index % PANEL_BASE), (w.W_RESTING, index)}
    if kind == w.E_TIMER:
        return {(w.W_TIMER, index)}
    if kind == w.E_POSITION:
        return {(w.W_POSITION, index), (w.W_KNOWN, index), (PHYSICAL, index)}
    if kind in (w.E_GO, w.E_HOLD):
        return {(w.W_HELD, i) for i in bits_of(plan[w.PLAN_PLACES][index])}
    return set()


def start_values(variables: list[Bit], start: tuple[Any, ...]) -> dict[Bit, bool]:
    """What a start makes of these bits; levels are as its switches want them, the others free."""
    conditions, relays, positions, go, _places = start
    words = {word: relays[word] for word in range(4)}
    words.update({w.W_WANTED: positions, w.W_GO: go, w.W_TIMER: 0, w.W_KNOWN: 0, PHYSICAL: 0})
    fixed = dict(literals_of(conditions))
    fixed.update({bit: bool(words[bit[0]] >> bit[1] & 1) for bit in variables if bit[0] in words})
    return fixed
