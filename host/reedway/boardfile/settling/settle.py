"""Standing rules that cannot settle: tried in every case where possible, else searched for a while."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import Any

from reedlogic import words as w
from reedlogic.rules import PASSES_MAX
from reedway.boardfile import grammar
from reedway.boardfile.numbering import Numbering
from reedway.boardfile.rulewords import CompiledRule
from reedway.boardfile.settling.bitrules import (
    PHYSICAL,
    Bit,
    BitRule,
    bit_rules,
    components,
    reads,
    thrown_by,
    without_ends,
)
from reedway.boardfile.settling.disturb import beginnings
from reedway.boardfile.settling.eventual import in_all_cases, in_the_end, soon_enough
from reedway.boardfile.settling.truthtable import VARIABLES_MAX, Table
from reedway.boardfile.settling.walk import walk
from reedway.layout.near import listed
from reedway.problems import Complaint

TRACE_PASSES = 24  # a ring of changes shows itself within these
SHOWN_MAX = 6


@dataclass
class Settling:
    """What was found out: rules that do not settle, and rules of which it could not be decided."""

    unsettled: list[Complaint]
    undecided: list[Complaint]


Case = dict[Bit, bool]
TOO_MANY: Case = {(PHYSICAL, 0): False}


def check_settling(
    numbering: Numbering, plan: tuple[Any, ...], standing: list[CompiledRule], search_s: float
) -> Settling:
    """Look at each group of standing rules that have to do with each other."""
    deadline = time.monotonic() + search_s
    found = Settling([], [])
    speaker = _Speaker(numbering, standing)
    for group in components(bit_rules(plan[w.PLAN_STANDING], plan[w.PLAN_CAUTIONS])):
        case = _in_every_case(group, plan)
        if case is TOO_MANY:
            for part in components(without_ends(group)):
                case = _in_every_case(part, plan)
                if case is TOO_MANY:
                    case = _large(part, plan, deadline, found, speaker)
                if case:
                    found.unsettled.append(speaker.unsettled(part, case))
        elif case:
            found.unsettled.append(speaker.unsettled(group, case))
    return found


def _large(
    group: list[BitRule], plan: tuple[Any, ...], deadline: float, found: Settling, speaker: _Speaker
) -> Case:
    """Prove it without looking at every case, else search; what stays open is said."""
    if in_all_cases(group):
        return {}
    at_rest = in_the_end(group, deadline)
    if at_rest and soon_enough(group):
        return {}
    case = walk(plan, variables_of(group), deadline)
    if case is None:
        found.undecided.append(speaker.undecided(group, at_rest))
        return {}
    return case


def _in_every_case(group: list[BitRule], plan: tuple[Any, ...]) -> Case:
    """A case that comes about and does not settle in the passes that the ring makes; empty: there is none."""
    variables = variables_of(group)
    if len(variables) > VARIABLES_MAX:
        return TOO_MANY
    table = Table(variables, group, thrown_by(group))
    values = table.start()
    changed = table.one_pass(values)
    settled = table.all ^ changed
    for _ in range(PASSES_MAX - 1):
        if not changed:
            return {}
        changed = table.one_pass(values)
    bad = changed & beginnings(table, settled, plan) if changed else 0
    return table.case(bad) if bad else {}


def variables_of(group: list[BitRule]) -> list[Bit]:
    """The bits that decide what a group does."""
    thrown = thrown_by(group)
    return sorted(set().union(*(reads(rule, thrown) for rule in group)))


class _Speaker:
    """Says which rules do not settle, and when."""

    def __init__(self, numbering: Numbering, standing: list[CompiledRule]) -> None:
        self.numbering = numbering
        self.standing = standing
        self.texts: dict[tuple[Bit, bool], str] = {}
        for condition in grammar.conditions(numbering):
            if len(condition.bits) == 1:
                word, mask, value = condition.bits[0]
                self.texts.setdefault(((word, mask.bit_length() - 1), bool(value)), condition.text)

    def complaint(self, line: int, message: str) -> Complaint:
        return Complaint(self.numbering.layout.path, line, message)

    def unsettled(self, group: list[BitRule], case: Case) -> Complaint:
        thrown = thrown_by(group)
        guilty, ended = _trace(group, thrown, case)
        lines = sorted({self.standing[rule.number].line for rule in guilty})
        read = {bit for rule in guilty for bit in reads(rule, thrown)}
        steady = read - set().union(*(rule.writes() for rule in group))
        when = [text for text in (self.say(bit, case[bit]) for bit in sorted(steady)) if text]
        with_words = f"with {listed(when, SHOWN_MAX)} " if when else ""
        rules = f"the standing rules in lines {listed(map(str, lines), SHOWN_MAX)}"
        if ended:
            what = f"{rules} need more than {PASSES_MAX} rounds; each round runs down the file once"
            cure = "put each of them below those that it waits for"
        else:
            what = (
                f"{rules} undo each other for ever" if len(lines) > 1 else "this rule undoes itself for ever"
            )
            what += "; standing rules must come to rest after an event"
            cure = "add a condition that ends it"
        return self.complaint(lines[-1], f"{with_words}{what}; {cure}")

    def undecided(self, group: list[BitRule], at_rest: bool) -> Complaint:
        lines = sorted(self.standing[rule.number].line for rule in group)
        which = f"the {len(lines)} standing rules from line {lines[0]} to {lines[-1]}"
        if at_rest:
            message = f"{which} always come to rest, but whether in 8 rounds could not be decided in the time"
        else:
            message = f"whether {which} always come to rest could not be decided in the time"
        return self.complaint(
            lines[0], f"{message}; if they do not, the fault 'rules do not settle' stops the trains"
        )

    def say(self, bit: Bit, value: bool) -> str:
        if bit[0] in (w.W_POSITION, PHYSICAL, w.W_WANTED):
            return ""
        return self.texts.get((bit, value), "")


def _trace(group: list[BitRule], thrown: set[int], case: Case) -> tuple[list[BitRule], bool]:
    """The rules that go on changing something after the passes of the ring; True when they end later."""
    table = Table([], group, thrown)
    values = {**table.start(), **{bit: int(value) for bit, value in case.items()}}
    for _ in range(PASSES_MAX - 1):
        table.one_pass(values)
    guilty: dict[int, BitRule] = {}
    changed = 1
    for _ in range(TRACE_PASSES):
        start = dict(values)
        for rule in group:
            before = dict(values)
            table.run(values, rule)
            if values != before:
                guilty[rule.number] = rule
        changed = int(values != start)
        if not changed:
            break
    return list(guilty.values()), not changed
