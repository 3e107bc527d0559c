"""Large groups of standing rules: a proof, part by part, that in the end they come to rest.

A bit that rules only set, or only clear, changes at most once; so a change that goes on for ever goes round
among bits that rules both set and clear. Each ring of such bits is tried in all its cases, with everything
outside it free.
"""

from __future__ import annotations

import time

from reedlogic import words as w
from reedlogic.rules import PASSES_MAX
from reedway.boardfile.settling.bitrules import CLEAR, FOLLOW, SET, Bit, BitRule, Literal, reads, thrown_by
from reedway.boardfile.settling.truthtable import VARIABLES_MAX, Table

ABSTRACT = w.WORDS + 1  # a word of our own: "all else that this rule demands"


def in_all_cases(group: list[BitRule]) -> bool:
    """True when the whole group settles in the ring's passes whatever its conditions on inputs are."""
    thrown = thrown_by(group)
    state = {bit for rule in group for bit in rule.writes()}
    state &= {bit for rule in group for bit in reads(rule, thrown)}
    passes = _passes_of(state, group, set())
    return passes is not None


def in_the_end(group: list[BitRule], deadline: float) -> bool:
    """True when it is proved that no change goes on for ever."""
    two_way = two_way_bits(group)
    for ring in rings(group):
        if time.monotonic() > deadline or _passes_of(ring, group, two_way) is None:
            return False
    return True


def soon_enough(group: list[BitRule]) -> bool:
    """True when no change has to wait for more passes than the ring makes.

    A change goes on within a pass to rules further down, and waits a pass to go back up to one above.
    """
    edges = [edge for edge in _edges(group) if edge[0] != edge[1]]
    waits = [0] * len(group)
    for _ in range(len(group) + 1):
        longer = list(waits)
        for i, j, _bit in edges:
            longer[j] = max(longer[j], waits[i] + (j < i))
        if longer == waits:
            return max(waits) + 2 <= PASSES_MAX  # one pass to begin with, one that changes nothing
        waits = longer
    two_way = two_way_bits(group)
    if any(ring & two_way for ring in _rings(group, {bit for rule in group for bit in rule.writes()})):
        return False
    return sum(j < i for i, j, _bit in edges) + 2 <= PASSES_MAX  # each bit of a round changes once


def _edges(group: list[BitRule]) -> list[tuple[int, int, Bit]]:
    """(i, j, bit): what rule i does to the bit can make rule j act."""
    thrown = thrown_by(group)
    found = []
    for i, rule in enumerate(group):
        for effect, bit in rule.acts:
            for j, other in enumerate(group):
                if bit not in reads(other, thrown):
                    continue
                wants = [want for literal, want in other.literals if literal == bit]
                only_ends = effect != FOLLOW and wants == [effect == CLEAR] and not follows(other)
                if not only_ends:
                    found.append((i, j, bit))
    return found


def follows(rule: BitRule) -> bool:
    return any(effect == FOLLOW for effect, _ in rule.acts)


def two_way_bits(group: list[BitRule]) -> set[Bit]:
    """Bits that the rules both set and clear."""
    sets = {bit for rule in group for effect, bit in rule.acts if effect in (SET, FOLLOW)}
    clears = {bit for rule in group for effect, bit in rule.acts if effect in (CLEAR, FOLLOW)}
    return sets & clears


def rings(group: list[BitRule]) -> list[set[Bit]]:
    """Sets of two-way bits in which each depends on each other one (or a bit on itself)."""
    return _rings(group, two_way_bits(group))


def _rings(group: list[BitRule], bits: set[Bit]) -> list[set[Bit]]:
    thrown = thrown_by(group)
    leads = {bit: set[Bit]() for bit in bits}
    for rule in group:
        for bit in reads(rule, thrown) & bits:
            leads[bit] |= rule.writes() & bits
    reach = {bit: _reached(bit, leads) for bit in bits}
    found: list[set[Bit]] = []
    for bit in sorted(bits):
        ring = {other for other in reach[bit] if bit in reach[other]}
        if ring and ring not in found:
            found.append(ring)
    return found


def _reached(bit: Bit, leads: dict[Bit, set[Bit]]) -> set[Bit]:
    found: set[Bit] = set()
    waiting = set(leads[bit])
    while waiting:
        one = waiting.pop()
        if one not in found:
            found.add(one)
            waiting |= leads[one]
    return found


def _passes_of(ring: set[Bit], group: list[BitRule], two_way: set[Bit]) -> int | None:
    """Passes after which the ring is at rest in every case, all outside it free; None: too many."""
    writers = [rule for rule in group if rule.writes() & ring]
    thrown = {bit[1] for bit in ring if bit[0] == w.W_WANTED}
    outside: dict[object, Bit] = {}
    rules = [_outside_as_one(rule, ring, thrown, two_way, outside) for rule in writers]
    variables = set().union(ring, outside.values(), *(reads(rule, thrown) for rule in rules))
    if len(variables) > VARIABLES_MAX:
        return None
    table = Table(sorted(variables), rules, thrown)
    values = table.start()
    for passes in range(1, PASSES_MAX + 1):
        if not table.one_pass(values):
            return passes
    return None


def _outside_as_one(
    rule: BitRule, ring: set[Bit], thrown: set[int], two_way: set[Bit], outside: dict[object, Bit]
) -> BitRule:
    """The rule with all that it demands outside the ring as one free bit, shared where that rests."""
    lies = (w.W_KNOWN, w.W_POSITION)
    inside = tuple(n for n in rule.literals if n[0] in ring or (n[0][0] in lies and n[0][1] in thrown))
    others = frozenset(rule.literals) - frozenset(inside)
    literals: tuple[Literal, ...] = inside
    if others:
        rests = not any(bit in two_way or bit[0] == w.W_KNOWN for bit, _ in others)
        key: object = others if rests else rule.number
        literals = (*inside, (outside.setdefault(key, (ABSTRACT, len(outside))), True))
    return BitRule(rule.number, literals, tuple(act for act in rule.acts if act[1] in ring))
