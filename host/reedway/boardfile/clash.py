"""Rules that contradict each other: two of one event, or a sensor without rearm that throws or feeds."""

from __future__ import annotations

from reedlogic import words as w
from reedway.boardfile.numbering import Numbering
from reedway.boardfile.rulewords import CompiledRule, opposed
from reedway.layout.model import Sensor
from reedway.problems import Complaint

AT_RULES_MAX = 30
STANDING_MAX = 100
EVENTS_MAX = 255  # the ring keeps the place of an event's rules in one byte


def check_clashes(
    numbering: Numbering, at: list[CompiledRule], standing: list[CompiledRule]
) -> list[Complaint]:
    """Contradictions that can be seen without running anything, and more rules than fit."""
    path = numbering.layout.path
    found = []
    by_event = rules_by_event(at)
    for rules in by_event.values():
        if len(rules) > AT_RULES_MAX:
            assert rules[0].event is not None
            message = (
                f"{len(rules)} rules at '{rules[0].event.text}'; at most {AT_RULES_MAX} rules of one event; "
                f"join some or use as_soon_as"
            )
            found.append(Complaint(path, rules[AT_RULES_MAX].line, message))
        for i, rule in enumerate(rules):
            found += [clash for other in rules[:i] for clash in _clash(path, other, rule)]
    if len(by_event) > EVENTS_MAX:
        line = list(by_event.values())[EVENTS_MAX][0].line
        message = f"rules at {len(by_event)} events; at most {EVENTS_MAX} events may have rules; remove some"
        found.append(Complaint(path, line, message))
    if len(standing) > STANDING_MAX:
        message = (
            f"{len(standing)} as_soon_as rules and followers; at most {STANDING_MAX} fit; join some or use at"
        )
        found.append(Complaint(path, standing[STANDING_MAX].line, message))
    return found + _without_rearm(numbering, by_event)


def rules_by_event(at: list[CompiledRule]) -> dict[int, list[CompiledRule]]:
    """The at rules of each event in file order, events by their number."""
    found: dict[int, list[CompiledRule]] = {}
    for rule in at:
        if rule.event is not None:
            found.setdefault(rule.event.number, []).append(rule)
    return {number: found[number] for number in sorted(found)}


def _clash(path: str, first: CompiledRule, second: CompiledRule) -> list[Complaint]:
    if exclude_each_other(first.flat_conditions, second.flat_conditions):
        return []
    for act in second.acts:
        for other in first.acts:
            if opposed(act, other):
                assert second.event is not None
                message = (
                    f"at '{second.event.text}' this rule says '{act.text}' and line {other.line} "
                    f"says '{other.text}'; two rules of one event may disagree only when one demands what "
                    f"the other forbids, in their while; add such a condition to both"
                )
                return [Complaint(path, act.line, message)]
    return []


def exclude_each_other(first: tuple[int, ...], second: tuple[int, ...]) -> bool:
    """True when one list of conditions demands a bit in and the other the same bit out."""
    for i in range(0, len(first), 3):
        for j in range(0, len(second), 3):
            both = first[i + 1] & second[j + 1]
            if first[i] == second[j] and (first[i + 2] ^ second[j + 2]) & both:
                return True
    return False


def _without_rearm(numbering: Numbering, by_event: dict[int, list[CompiledRule]]) -> list[Complaint]:
    """A sensor whose hit throws or feeds needs a rearm time: else chatter does it again."""
    found = []
    for item in numbering.inputs:
        if not isinstance(item.thing, Sensor) or item.thing.rearm_ms:
            continue
        for rule in by_event.get(w.E_HIT << w.EVENT_SHIFT | item.index, []):
            act = next((act for act in rule.acts if throws_or_feeds(act.op, act.word)), None)
            if act:
                message = (
                    f"sensor {item.name} has rearm 0, and its hit says '{act.text}' (line {rule.line}); "
                    f"a sensor that throws or feeds needs a rearm time; give it for example rearm: 2 s"
                )
                found.append(Complaint(numbering.layout.path, item.thing.line, message))
                break
    return found


def throws_or_feeds(op: int, word: int) -> bool:
    return op in (w.OP_THROW_A, w.OP_THROW_B) or (op == w.OP_SET and word == w.W_GO)
