"""Every small change of one rule, or of the values of one start, that might set a layout right."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from reedlogic import words as w
from reedway.boardfile import grammar
from reedway.boardfile.clash import check_clashes, rules_by_event
from reedway.boardfile.compile import Compiled
from reedway.boardfile.grammar import Act, Condition
from reedway.boardfile.rulewords import CompiledRule, merge_acts
from reedway.layout.model import Text
from reedway.proof.rulenames import listed

OPPOSITE = {
    w.OP_SET: w.OP_CLEAR,
    w.OP_CLEAR: w.OP_SET,
    w.OP_THROW_A: w.OP_THROW_B,
    w.OP_THROW_B: w.OP_THROW_A,
}
RELAY_WORDS = 4
ASKED = (*range(RELAY_WORDS), w.W_GO, w.W_POSITION)  # words whose bits a further condition may ask for
# Kinds of change, the likeliest mistakes first.
ASK, OTHER_SENSOR, SWAP, OTHER, START, DO, TURN, NOT_ASK, NOT_DO, MOVE, TAKE_OUT = range(11)
MOVES_MAX = 400  # of acts from one rule to another


@dataclass(frozen=True, eq=False)
class Edit:
    """One change. `new` takes the place of `old`; None takes the rule out."""

    kind: int
    what: str  # "add `LINE KEPT out` to the rule at line 178"
    old: CompiledRule | None = None
    new: CompiledRule | None = None
    condition: Condition | None = None  # that is new
    start: tuple | None = None  # the values of the start in place of its own
    act: Act | None = None  # that is taken out, moved, or has another in its place
    also: tuple[tuple[CompiledRule, CompiledRule], ...] = ()  # other rules, and what takes their place


def restricts(edit: Edit) -> bool:
    """True when the change can only matter where its rule acts."""
    return edit.kind in (ASK, DO, NOT_DO, TAKE_OUT)


def plan_with(compiled: Compiled, edit: Edit, start: int) -> tuple | None:
    """The plan of the changed layout; None where `check` would refuse it."""
    at = [_instead(edit, rule) for rule in compiled.at_rules]
    standing = [_instead(edit, rule) for rule in compiled.standing]
    at_rules = [rule for rule in at if rule is not None]
    stands = [rule for rule in standing if rule is not None]
    if check_clashes(compiled.numbering, at_rules, stands):
        return None
    plan = list(compiled.plan)
    plan[w.PLAN_AT] = tuple(
        (number, *((rule.flat_conditions, rule.flat_acts) for rule in rules))
        for number, rules in rules_by_event(at_rules).items()
    )
    plan[w.PLAN_STANDING] = tuple((rule.flat_conditions, rule.flat_acts) for rule in stands)
    if edit.start is not None:
        starts = list(plan[w.PLAN_STARTS])
        starts[start] = edit.start
        plan[w.PLAN_STARTS] = tuple(starts)
    return tuple(plan)


def _instead(edit: Edit, rule: CompiledRule) -> CompiledRule | None:
    """What stands in the changed layout in place of a rule."""
    for other, new in edit.also:
        if rule is other:
            return new
    return edit.new if rule is edit.old else rule


def flatten(conditions: Iterable[Condition]) -> tuple[int, ...] | None:
    """One triple for each word; None when they cannot hold together."""
    merged: dict[int, tuple[int, int]] = {}
    for condition in conditions:
        for word, mask, value in condition.bits:
            old_mask, old_value = merged.get(word, (0, 0))
            if (old_value ^ value) & old_mask & mask:
                return None
            merged[word] = (old_mask | mask, old_value | value)
    return tuple(number for word in sorted(merged) for number in (word, *merged[word]))


def changed(rule: CompiledRule, conditions: list[Condition], acts: list[Act]) -> CompiledRule | None:
    """The rule with these conditions and acts; None when that is no rule."""
    flat = flatten(conditions)
    if flat is None or not acts:
        return None
    return replace(rule, conditions=conditions, acts=acts, flat_conditions=flat, flat_acts=merge_acts(acts))


class Edits:
    """The changes of one layout."""

    def __init__(self, compiled: Compiled) -> None:
        self.compiled = compiled
        numbering = compiled.numbering
        detectors = {(item.word, item.bit) for item in numbering.inputs if item.kind == "detector"}
        self.conditions = [
            condition
            for condition in grammar.conditions(numbering)
            if condition.bits[0][0] in ASKED
            or (len(condition.bits) == 1 and condition.bits[0][:2] in detectors)
        ]
        self.acts = [act for act in grammar.acts(numbering) if act.op in OPPOSITE and act.word != w.W_LAMP]
        throws = [acts for _, acts in grammar.throws(numbering)]
        self.acts += [acts[0] for acts in throws if len(acts) == 1]
        self.events = [e for e in grammar.events(numbering) if e.number >> w.EVENT_SHIFT == w.E_HIT]
        sensors = {item.index for item in numbering.inputs if item.kind == "sensor"}
        self.events = [e for e in self.events if e.number & (1 << w.EVENT_SHIFT) - 1 in sensors]

    def written(self) -> list[CompiledRule]:
        """Rules that the owner can change."""
        rules = [*self.compiled.at_rules, *self.compiled.standing]
        return [rule for rule in rules if not rule.derived and rule.follower is None]

    def of(self, rule: CompiledRule) -> Iterator[Edit]:
        """Every change of one rule."""
        yield from self._of_conditions(rule)
        yield from self._of_acts(rule)
        if rule.event is not None and rule.event in self.events:
            for event in self.events:
                if event != rule.event:
                    what = f"write `at: {event.text}` in place of `at: {rule.event.text}` {_at(rule)}"
                    yield Edit(OTHER_SENSOR, what, rule, replace(rule, event=event))
        yield Edit(TAKE_OUT, f"take out {_rule(rule)}", rule, None)

    def _of_conditions(self, rule: CompiledRule) -> Iterator[Edit]:
        asked = [bits[:2] for condition in rule.conditions for bits in condition.bits]
        for condition in self.conditions:
            if not any(bits[:2] in asked for bits in condition.bits):
                new = changed(rule, [*rule.conditions, condition], rule.acts)
                if new is not None:
                    what = f"add `{condition.text}` to the conditions {_of(rule)}"
                    yield Edit(ASK, what, rule, new, condition)
        for i, condition in enumerate(rule.conditions):
            others = rule.conditions[:i] + rule.conditions[i + 1 :]
            new = changed(rule, others, rule.acts)
            if new is not None and (others or rule.event is not None):
                yield Edit(NOT_ASK, f"take `{condition.text}` out of the conditions {_of(rule)}", rule, new)
            for other in self.conditions:
                kind = _kind(other, condition)
                new = changed(rule, [*others, other], rule.acts) if kind else None
                if new is not None:
                    what = f"write `{other.text}` in place of `{condition.text}` {_at(rule)}"
                    yield Edit(kind, what, rule, new, other)

    def _of_acts(self, rule: CompiledRule) -> Iterator[Edit]:
        done = {(act.op, act.word, act.mask) for act in rule.acts}
        for act in self.acts:
            turned = (OPPOSITE[act.op], act.word, act.mask)
            if (act.op, act.word, act.mask) in done:
                continue
            if turned not in done:
                new = changed(rule, rule.conditions, [*rule.acts, act])
                yield Edit(DO, f"add `{act.text}` to what {_rule(rule)} does", rule, new)
            for i, old in enumerate(rule.acts):
                is_turned = (old.op, old.word, old.mask) == turned
                if is_turned or (old.op == act.op and _family(old) == _family(act) and turned not in done):
                    acts = [*rule.acts[:i], act, *rule.acts[i + 1 :]]
                    what = f"write `{act.text}` in place of `{old.text}` {_at(rule)}"
                    new = changed(rule, rule.conditions, acts)
                    yield Edit(TURN if is_turned else OTHER, what, rule, new, act=old)
        for i, act in enumerate(rule.acts):
            new = changed(rule, rule.conditions, rule.acts[:i] + rule.acts[i + 1 :])
            if new is not None and act.op in OPPOSITE:
                yield Edit(NOT_DO, f"take `{act.text}` out of what {_rule(rule)} does", rule, new, act=act)

    def moves(self, rules: Iterable[CompiledRule]) -> Iterator[Edit]:
        """Each act on a relay or a block of these rules done by another `at` rule instead."""
        written = self.written()
        targets = [rule for rule in written if rule.event is not None and rule.event in self.events]
        for rule in rules:
            if not any(rule is one for one in written):
                continue
            for i, act in enumerate(rule.acts):
                if act.op not in (w.OP_SET, w.OP_CLEAR) or not (act.word < RELAY_WORDS or act.word == w.W_GO):
                    continue
                rest = changed(rule, rule.conditions, rule.acts[:i] + rule.acts[i + 1 :])
                for other in targets:
                    done = any(act.word == its.word and act.mask & its.mask for its in other.acts)
                    more = None if done else changed(other, other.conditions, [*other.acts, act])
                    if rest is not None and more is not None and other is not rule:
                        what = f"move `{act.text}` from {_rule(rule)} to {_rule(other)}"
                        yield Edit(MOVE, what, rule, rest, act=act, also=((other, more),))

    def swaps(self) -> Iterator[Edit]:
        """Each two sensors exchanged, in all rules at their hits."""
        written = self.written()
        for i, one in enumerate(self.events):
            for other in self.events[i + 1 :]:
                pairs = [(r, replace(r, event=other)) for r in written if r.event == one]
                turned = [(r, replace(r, event=one)) for r in written if r.event == other]
                if pairs and turned:
                    lines = listed([str(rule.line) for rule, _ in (*pairs, *turned)])
                    names = f"{one.text.removesuffix(' hit')} and {other.text.removesuffix(' hit')}"
                    what = f"exchange {names} in the rules at lines {lines}"
                    yield Edit(SWAP, what, *pairs[0], also=(*pairs[1:], *turned))

    def of_start(self, number: int) -> Iterator[Edit]:
        """Every change of the values that one start gives."""
        layout = self.compiled.layout
        start = layout.starts[number]
        conditions, relays, positions, go, places = self.compiled.plan[w.PLAN_STARTS][number]

        def of_the_start(texts: list[Text]) -> str:
            return f"of the start {start.name} at line {texts[0].line if texts else start.line}"

        for i, relay in enumerate(layout.relays):
            if relay.follows is None:
                word, bit = i // w.WORD_BITS, 1 << i % w.WORD_BITS
                values = (*relays[:word], relays[word] ^ bit, *relays[word + 1 :])
                verb, to = ("take", "out of") if relays[word] & bit else ("add", "to")
                what = f"{verb} `{relay.name}` {to} relays_in {of_the_start(start.relays_in)}"
                yield Edit(START, what, start=(conditions, values, positions, go, places))
        for i, turnout in enumerate(layout.turnouts):
            to = turnout.first if positions >> i & 1 else turnout.second
            what = f"write `{turnout.name} to {to}` in turnouts {of_the_start(start.turnouts)}"
            yield Edit(START, what, start=(conditions, relays, positions ^ 1 << i, go, places))
        for text, acts in grammar.throws(self.compiled.numbering):
            sides = positions
            for act in acts:
                sides = sides | act.mask if act.op == w.OP_THROW_B else sides & ~act.mask
            if len(acts) > 1 and sides != positions:
                what = f"write `{text.removeprefix('throw ')}` in turnouts {of_the_start(start.turnouts)}"
                yield Edit(START, what, start=(conditions, relays, sides, go, places))
        for i, block in enumerate(layout.blocks):
            verb, to = ("take", "out of") if go >> i & 1 else ("add", "to")
            what = f"{verb} `{block.name}` {to} go {of_the_start(start.go)}"
            yield Edit(START, what, start=(conditions, relays, positions, go ^ 1 << i, places))


def _kind(other: Condition, condition: Condition) -> int:
    """TURN, OTHER, or 0 where one condition cannot stand for the other."""
    if len(other.bits) > 1 or len(condition.bits) > 1:
        return 0
    (word, mask, value), (its_word, its_mask, its_value) = other.bits[0], condition.bits[0]
    if (word, mask) == (its_word, its_mask):
        return TURN if value != its_value else 0
    is_alike = (word < RELAY_WORDS) == (its_word < RELAY_WORDS)
    return OTHER if is_alike and bool(value) == bool(its_value) else 0


def _family(act: Act) -> int:
    """Acts on relays, on blocks, on turnouts."""
    return -1 if act.op in (w.OP_SET, w.OP_CLEAR) and act.word < RELAY_WORDS else act.word


def _rule(rule: CompiledRule) -> str:
    return f"the rule at line {rule.line}"


def _of(rule: CompiledRule) -> str:
    return f"of {_rule(rule)}"


def _at(rule: CompiledRule) -> str:
    return f"in {_rule(rule)}"
