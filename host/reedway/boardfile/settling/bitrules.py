"""Standing rules bit by bit: what each reads and writes, for the search for rules that do not settle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from reedlogic import words as w

Bit = tuple[int, int]  # (word, number of the bit)
Literal = tuple[Bit, bool]  # the bit, and how it must be
PHYSICAL = w.WORDS  # a word of our own: the turnout is physically known
SET, CLEAR, FOLLOW = 0, 1, 2
Flat = tuple[int, ...]


@dataclass(frozen=True)
class BitRule:
    """One standing rule; number is its place in the plan."""

    number: int
    literals: tuple[Literal, ...]
    acts: tuple[tuple[int, Bit], ...]  # (SET, CLEAR or FOLLOW, bit)

    def writes(self) -> set[Bit]:
        return {bit for _, bit in self.acts}


def bits_of(mask: int) -> list[int]:
    return [i for i in range(w.WORD_BITS) if mask >> i & 1]


def literals_of(conditions: Flat) -> tuple[Literal, ...]:
    """One literal for each bit that flat conditions demand."""
    return tuple(
        ((conditions[j], i), bool(conditions[j + 2] >> i & 1))
        for j in range(0, len(conditions), 3)
        for i in bits_of(conditions[j + 1])
    )


def written(acts: Flat, caution_holds: tuple[int, ...]) -> list[tuple[int, Bit]]:
    """What flat acts set, clear or follow, bit by bit; a caution also holds its blocks."""
    found: list[tuple[int, Bit]] = []
    for j in range(0, len(acts), 3):
        op, word, mask = acts[j : j + 3]
        if op in (w.OP_THROW_A, w.OP_THROW_B):
            word = w.W_WANTED
        elif op in (w.OP_START, w.OP_RESTART, w.OP_CANCEL):
            word = w.W_TIMER
        if op == w.OP_FOLLOW:
            effect = FOLLOW
        else:
            effect = CLEAR if op in (w.OP_CLEAR, w.OP_THROW_A, w.OP_CANCEL) else SET
        found += [(effect, (word, i)) for i in bits_of(mask)]
        if word == w.W_CAUTION and op == w.OP_SET:
            held = 0
            for i in bits_of(mask):
                held |= caution_holds[i]
            found += [(SET, (w.W_HELD, i)) for i in bits_of(held)]
    return found


def bit_rules(standing: tuple[tuple[Flat, Flat], ...], caution_holds: tuple[int, ...]) -> list[BitRule]:
    """All standing rules, in their order."""
    return [
        BitRule(n, literals_of(conditions), tuple(written(acts, caution_holds)))
        for n, (conditions, acts) in enumerate(standing)
    ]


def reads(rule: BitRule, thrown: set[int]) -> set[Bit]:
    """Bits that decide whether the rule acts; known is three bits for a turnout that standing rules throw."""
    found = set()
    for bit, _ in rule.literals:
        found.add(bit)
        if bit[0] == w.W_KNOWN and bit[1] in thrown:
            found.discard(bit)
            found |= {(w.W_WANTED, bit[1]), (w.W_POSITION, bit[1]), (PHYSICAL, bit[1])}
    return found


def thrown_by(rules: list[BitRule]) -> set[int]:
    """Turnouts that these rules throw."""
    return {bit[1] for rule in rules for bit in rule.writes() if bit[0] == w.W_WANTED}


def without_ends(rules: list[BitRule]) -> list[BitRule]:
    """The rules that write something which one of them reads; the others only follow on."""
    thrown = thrown_by(rules)
    read: set[Bit] = set().union(*(reads(rule, thrown) for rule in rules)) if rules else set()
    return [rule for rule in rules if rule.writes() & read]


def components(rules: list[BitRule]) -> list[list[BitRule]]:
    """Rules that have to do with each other: groups that share no bit that one of them writes."""
    state = set().union(*(rule.writes() for rule in rules)) if rules else set()
    thrown = thrown_by(rules)
    groups: list[tuple[set[Bit], list[BitRule]]] = []
    for rule in rules:
        touched = (reads(rule, thrown) & state) | rule.writes()
        joined = [group for group in groups if group[0] & touched]
        groups = [group for group in groups if not group[0] & touched]
        bits = touched.union(*(group[0] for group in joined))
        members = [member for group in joined for member in group[1]] + [rule]
        groups.append((bits, sorted(members, key=lambda member: member.number)))
    return [members for _, members in groups]


def at_bits(plan: tuple[Any, ...]) -> list[tuple[int, set[Bit]]]:
    """For each event with at rules: its number, and all bits that they may change."""
    found = []
    for event, *rules in plan[w.PLAN_AT]:
        bits: set[Bit] = set()
        for _, acts in rules:
            bits |= {bit for _, bit in written(acts, plan[w.PLAN_CAUTIONS])}
        found.append((event, bits))
    return found
