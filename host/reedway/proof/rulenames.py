"""How a story names rules, and what they did, in the words of the layout file."""

from __future__ import annotations

from reedlogic import words as w
from reedway.boardfile.grammar import Act, Condition, conditions
from reedway.boardfile.numbering import Numbering
from reedway.boardfile.rulewords import CompiledRule, unique
from reedway.durations import as_written
from reedway.layout.model import Layout
from reedway.proof.tracing import WANTED, Acted, Moment, last_rule


def named(rule: CompiledRule) -> str:
    """`the rule at line 87 (at N4 hit while CALL in)`"""
    if rule.follower is not None:
        return f"relay {rule.follower.name} (line {rule.line})"
    kind = "derived rule of the track" if rule.derived else "rule"
    return f"the {kind} at line {rule.line} ({head(rule)})"


def head(rule: CompiledRule) -> str:
    """When the rule acts."""
    return rule.text.rsplit(": ", 1)[0] if rule.acts else rule.text


def did(layout: Layout, acted: Acted, idle: set[str]) -> str:
    """`Mill may go, CALL drops out`; nothing about the timers in `idle`."""
    texts = [
        text
        for act in acted.acts
        if (text := _did(layout, acted.rule, act)) and act.text.split(" ", 1)[-1] not in idle
    ]
    return ", ".join(unique(texts))


def _did(layout: Layout, rule: CompiledRule, act: Act) -> str:
    if act.op == w.OP_FOLLOW:
        assert rule.follower is not None
        return f"{rule.follower.name} changes with its conditions"
    if act.says:
        return act.text
    name = act.text
    for verb, says in (
        ("pull in ", "{} pulls in"),
        ("drop out ", "{} drops out"),
        ("throw ", "{} is asked for"),
        ("restart ", "the timer {} starts"),
        ("start ", "the timer {} starts"),
        ("cancel ", "the timer {} is cancelled"),
    ):
        if name.startswith(verb):
            thing = name.removeprefix(verb)
            if "timer" in says:
                thing = timer(layout, thing)
            return says.format(thing)
    if act.word == w.W_GO:
        return name.replace(" goes", " may go") if act.op == w.OP_SET else name
    return ""  # lamps


def timer(layout: Layout, name: str) -> str:
    """`let out (4 s)`"""
    found = next((timer for timer in layout.timers if timer.name.lower() == name.lower()), None)
    return f"{name} ({as_written(found.time_ms)})" if found else name


def listed(texts: list[str]) -> str:
    """`a`, `a and b`, `a, b and c`"""
    return " and ".join([", ".join(texts[:-1]), texts[-1]] if len(texts) > 1 else texts)


def was_not(texts: list[str]) -> str:
    """What was so in place of conditions: `INTO B was out and Bridge did not go`."""
    said = []
    for text in texts:
        name, _, last = text.rpartition(" ")
        turned = {"in": "was out", "out": "was in", "goes": "did not go", "stops": "did not stop"}
        said.append(f"{name} {turned[last]}" if last in turned else f"`{text}` was not so")
    return listed(said)


def so_since(numbering: Numbering, moments: list[Moment], condition: Condition) -> str:
    """What is so in place of a condition, and since when: `LINE KEPT in` since step 4, by line 178."""
    word, mask, value = condition.bits[0]
    others = (
        other.text
        for other in conditions(numbering)
        if len(other.bits) == len(condition.bits) and other.bits[0] == (word, mask, mask & ~value)
    )
    opposite = next(others, f"not {condition.text}")
    return f"`{opposite}` {since(moments, condition, len(moments), opposite=True)}"


def since(moments: list[Moment], condition: Condition, before: int, opposite: bool = False) -> str:
    """`since step 4, by the rule at line 178`; `since line 178 at the start`, or `from the start`"""
    word, mask, value = condition.bits[0]
    is_on = bool(value) != opposite
    op = w.OP_SET if is_on else w.OP_CLEAR
    if word == w.W_POSITION:
        word, op = WANTED, w.OP_THROW_B if is_on else w.OP_THROW_A
    found = last_rule(moments, before, op, word, mask)
    if found is None:
        return "from the start"
    if found[0] == 0:
        return f"since line {found[1].line} at the start"
    return f"since step {found[0]}, by line {found[1].line}"
