"""What a layout will do, as data: every rule as a sentence, sensors, blocks, gangs, starts, assumptions."""

from __future__ import annotations

from typing import Any

from reedlogic import words as w
from reedway.boardfile.compile import Compiled
from reedway.boardfile.numbering import Input
from reedway.boardfile.rulewords import CompiledRule
from reedway.boardfile.sentences import plain
from reedway.boardfile.terminals import BOARDS
from reedway.boardfile.throwtimes import ThrowTime, throw_time
from reedway.durations import as_written
from reedway.layout.assumptions import assumptions, limits
from reedway.layout.model import Button, Sensor, Start, Text

Row = dict[str, Any]


def explain(compiled: Compiled) -> Row:
    """All that `reedway explain` tells, ready for JSON."""
    layout = compiled.layout
    return {
        "layout": layout.name,
        "board": BOARDS[layout.board],
        "inputs": [_input(compiled, i) for i in range(len(compiled.numbering.inputs))],
        "other_events": _other_events(compiled),
        "standing": [rule_row(rule) for rule in compiled.standing],
        "blocks": [_block(compiled, i) for i in range(len(layout.blocks))],
        "throws": _throws(compiled),
        "starts": [_start(compiled, start) for start in layout.starts],
        "assumptions": assumptions(compiled),
        "limits": limits(compiled),
    }


def rule_row(rule: CompiledRule) -> Row:
    """One rule as a sentence with its reason; derived ones are told apart."""
    return {"sentence": rule.text, "line": rule.line, "why": rule.why, "derived": rule.derived}


def _input(compiled: Compiled, number: int) -> Row:
    item = compiled.numbering.inputs[number]
    thing = item.thing
    mine = [rule for rule in compiled.at_rules if rule.event and _is_about(rule.event.number, item.index)]
    by_event: dict[str, list[Row]] = {}
    for rule in mine:
        assert rule.event is not None
        by_event.setdefault(rule.event.text, []).append(rule_row(rule))
    row: Row = {
        "name": item.name,
        "kind": item.kind,
        "line": thing.line,
        "confirm_ms": thing.confirm_ms,
        "opening_ms": thing.opening_ms,
    }
    if isinstance(thing, Sensor):
        row |= {"rearm_ms": thing.rearm_ms, "at_rest_ms": thing.at_rest_ms}
    if isinstance(thing, Button) and thing.order:
        row["order"] = thing.order.text
    row["rules"] = by_event
    rules = [*compiled.at_rules, *compiled.standing]
    row["read_by"] = sorted({rule.line for rule in rules if _reads(rule, item.word, item.bit)})
    row["does"] = _does(compiled, item)
    return row


def _does(compiled: Compiled, item: Input) -> list[str]:
    """What an input does without any rule."""
    found = []
    for turnout in compiled.layout.turnouts:
        contacts = {turnout.contact_first: turnout.first, turnout.contact_second: turnout.second}
        if item.name in contacts:
            found.append(f"closed: turnout {turnout.name} lies to {contacts[item.name]}")
    for sentence in (f"{item.name} {word}" for word in item.words):
        chosen = [start.name for start in compiled.layout.starts if _names_one(sentence, start.switches)]
        if chosen:
            found.append(f"{sentence}: for the start {' or '.join(chosen)}")
    if item.kind == "power":
        found.append("off: timers and times at rest wait")
    return found


def _is_about(event: int, index: int) -> bool:
    return event >> w.EVENT_SHIFT <= w.E_OFF and event & (1 << w.EVENT_SHIFT) - 1 == index


def _reads(rule: CompiledRule, word: int, bit: int) -> bool:
    words = {word, w.W_RESTING} if word == w.W_LEVEL else {word}
    return any(
        found in words and mask & bit for condition in rule.conditions for found, mask, _ in condition.bits
    )


def _other_events(compiled: Compiled) -> list[Row]:
    """Rules at the end of timers, turnouts in position, orders."""
    rules = [
        rule for rule in compiled.at_rules if rule.event and rule.event.number >> w.EVENT_SHIFT > w.E_OFF
    ]
    return [rule_row(rule) for rule in rules]


def _block(compiled: Compiled, index: int) -> Row:
    """What lets a block go and what stops it."""
    layout, numbering = compiled.layout, compiled.numbering
    bit = 1 << index
    rules = [*compiled.at_rules, *compiled.standing]
    places = [place.name for place in layout.places if numbering.place_block(place) == index]
    orders = [
        f"button {item.name}"
        for item in numbering.inputs
        if isinstance(item.thing, Button) and item.thing.order and _holds(item.thing.order.text, places)
    ]
    cautions = [act.text for rule in rules for act in rule.acts if act.holds and act.holds in places]
    return {
        "name": layout.blocks[index].name,
        "line": layout.blocks[index].line,
        "places": places,
        "goes": [rule_row(rule) for rule in rules if _acts(rule, w.OP_SET, bit)],
        "goes_at_start": [
            start.name for start in layout.starts if index in _numbers(numbering.blocks, start.go)
        ],
        "stops": [rule_row(rule) for rule in rules if _acts(rule, w.OP_CLEAR, bit)],
        "held_by": [*orders, *dict.fromkeys(cautions)],
    }


def _acts(rule: CompiledRule, op: int, bit: int) -> bool:
    return any(act.op == op and act.word == w.W_GO and act.mask & bit for act in rule.acts)


def _holds(order: str, places: list[str]) -> bool:
    return plain(order) in (f"hold {plain(place)}" for place in places)


def _names_one(sentence: str, texts: list[Text]) -> bool:
    return plain(sentence) in (plain(text.text) for text in texts)


def _numbers(table: dict[str, int], texts: list[Any]) -> list[int]:
    return [table[str(text).lower()] for text in texts if str(text).lower() in table]


def _throws(compiled: Compiled) -> list[Row]:
    """Every gang and every turnout that is in none, with what throwing it takes."""
    layout, numbering = compiled.layout, compiled.numbering
    in_gangs = {member for gang in layout.gangs for member in numbering.members(gang)}
    groups = [(f"gang {gang.name}", gang.line, numbering.members(gang)) for gang in layout.gangs]
    groups += [
        (f"turnout {turnout.name}", turnout.line, [i])
        for i, turnout in enumerate(layout.turnouts)
        if i not in in_gangs
    ]
    rules = [*compiled.at_rules, *compiled.standing]
    found = []
    for name, line, members in groups:
        mask = sum(1 << member for member in members)
        found.append(
            {
                "name": name,
                "line": line,
                "order": [layout.turnouts[member].name for member in members],
                **throw_row(compiled, members),
                "thrown_by": [rule_row(rule) for rule in rules if _throws_any(rule, mask)],
            }
        )
    return found


def _throws_any(rule: CompiledRule, mask: int) -> bool:
    return any(act.op in (w.OP_THROW_A, w.OP_THROW_B) and act.mask & mask for act in rule.acts)


def throw_row(compiled: Compiled, members: list[int]) -> Row:
    """Times of a throw: from rest, and at the longest, with the steps of the longest in order."""
    usual, longest = (throw_time(compiled.plan, members, worst) for worst in (False, True))
    return {
        "usual_ms": usual.total_ms,
        "longest_ms": longest.total_ms,
        "steps": steps_text(compiled, longest),
    }


def steps_text(compiled: Compiled, throw: ThrowTime) -> list[str]:
    """`wait 1.5 s for supply bank`, `pulse exit 80 ms`, ... in order."""
    layout = compiled.layout
    found = []
    for step in throw.steps:
        turnout = layout.turnouts[step.turnout]
        if step.waits_ms:
            what = f"supply {turnout.supply} to recharge" if step.recharge else "the pause between pulses"
            found.append(f"wait {as_written(step.waits_ms)} for {what}")
        if step.lead_ms:
            found.append(f"close supply {turnout.supply} {as_written(step.lead_ms)} ahead")
        again = " again" if step.retry else ""
        found.append(f"pulse {turnout.name}{again} {as_written(step.pulse_ms)}")
        if step.contact_ms:
            found.append(f"wait {as_written(step.contact_ms)} for the position contact of {turnout.name}")
    return found


def _start(compiled: Compiled, start: Start) -> Row:
    row: Row = {
        "name": start.name,
        "line": start.line,
        "switches": [str(text) for text in start.switches],
        "trains": [str(text) for text in start.trains_at],
        "turnouts": _positions(compiled, start),
        "relays_in": [str(text) for text in start.relays_in],
        "go": [str(text) for text in start.go] if compiled.layout.blocks else None,
    }
    if compiled.layout.turnouts:
        row |= throw_row(compiled, list(range(len(compiled.layout.turnouts))))
    return row


def _positions(compiled: Compiled, start: Start) -> list[str]:
    """Where every turnout is put, also those that the start does not name."""
    layout = compiled.layout
    word: int = compiled.plan[w.PLAN_STARTS][layout.starts.index(start)][2]
    return [
        f"{turnout.name} to {turnout.second if word >> i & 1 else turnout.first}"
        for i, turnout in enumerate(layout.turnouts)
    ]
