"""The rules of a layout turned into words and bits, sentence by sentence, each mistake with its line."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

from reedlogic import words as w
from reedway.boardfile.grammar import Act, Condition, Event
from reedway.boardfile.names import Names
from reedway.boardfile.numbering import Numbering
from reedway.boardfile.sentences import SentenceError, Sentences
from reedway.layout.model import Relay, Rule, Text
from reedway.problems import Complaint

TEXTS_MAX = 30
# Acts that undo each other; the word of the board file is compared too.
OPPOSITE = {
    (w.OP_SET, w.OP_CLEAR),
    (w.OP_THROW_A, w.OP_THROW_B),
    (w.OP_START, w.OP_CANCEL),
    (w.OP_RESTART, w.OP_CANCEL),
}


@dataclass
class CompiledRule:
    """One rule or follower relay: what was written, and what it is in the board file."""

    line: int
    event: Event | None  # None: standing
    conditions: list[Condition]
    acts: list[Act]
    why: str | None = None
    follower: Relay | None = None
    derived: bool = False
    flat_conditions: tuple[int, ...] = ()
    flat_acts: tuple[int, ...] = ()

    @property
    def text(self) -> str:
        """The rule as one sentence."""
        conditions = " and ".join(condition.text for condition in self.conditions)
        if self.follower is not None:
            return f"{self.follower.name} is in exactly while {conditions or 'always'}"
        acts = ", ".join(unique(act.text for act in self.acts))
        if self.event is None:
            return f"as soon as {conditions or 'always'}: {acts}"
        return f"at {self.event.text}{' while ' + conditions if conditions else ''}: {acts}"


def unique(texts: Iterable[str]) -> list[str]:
    """Each text once, in order."""
    return list(dict.fromkeys(texts))


@dataclass
class Messages:
    """Notes, cautions and faults of rules, numbered as they come."""

    notes: list[str] = field(default_factory=list)
    cautions: list[tuple[str, str]] = field(default_factory=list)  # (words, place held or "")
    faults: list[str] = field(default_factory=list)


class RuleCompiler:
    """Reads the sentences of every rule and collects complaints."""

    def __init__(self, numbering: Numbering, sentences: Sentences) -> None:
        self.numbering = numbering
        self.layout = numbering.layout
        self.sentences = sentences
        self.messages = Messages()
        self.complaints: list[Complaint] = []

    def complain(self, line: int, message: str) -> None:
        self.complaints.append(Complaint(self.layout.path, line, message))

    def followers(self) -> list[CompiledRule]:
        found = []
        for index, relay in self.numbering.followers():
            conditions = self.conditions(relay.follows or [])
            word, bit = w.W_RELAY + index // w.WORD_BITS, 1 << index % w.WORD_BITS
            act = Act(f"{relay.name} follows", w.OP_FOLLOW, word, bit)
            rule = CompiledRule(relay.line, None, conditions, [act], follower=relay)
            rule.flat_conditions = self.flatten(conditions)
            rule.flat_acts = (w.OP_FOLLOW, word, bit)
            found.append(rule)
        return found

    def rule(self, rule: Rule) -> CompiledRule:
        event = None
        if rule.at is not None:
            try:
                event = self.sentences.event(rule.at.text)
            except SentenceError as error:
                self.complain(rule.at.line, str(error))
        conditions = self.conditions(rule.conditions)
        acts: list[Act] = []
        for text in rule.acts:
            acts += self.acts(text, rule.at is None)
        made = CompiledRule(rule.line, event, conditions, acts, rule.why)
        made.derived = bool(getattr(rule, "derived", False))
        made.flat_conditions = self.flatten(conditions)
        made.flat_acts = merge_acts(acts)
        self._check_acts(made)
        return made

    def conditions(self, texts: list[Text]) -> list[Condition]:
        found = []
        for text in texts:
            try:
                found.append(replace(self.sentences.condition(text.text), line=text.line))
            except SentenceError as error:
                self.complain(text.line, str(error))
        return found

    def flatten(self, conditions: list[Condition]) -> tuple[int, ...]:
        """At most one triple per word; two conditions that cannot hold together are a complaint."""
        merged: dict[int, tuple[int, int]] = {}
        for condition in conditions:
            for word, mask, value in condition.bits:
                old_mask, old_value = merged.get(word, (0, 0))
                if (old_value ^ value) & old_mask & mask:
                    self.complain(condition.line, self._never(conditions, condition, word, mask, value))
                    return ()
                merged[word] = (old_mask | mask, old_value | value)
        return tuple(number for word in sorted(merged) for number in (word, *merged[word]))

    def _never(self, conditions: list[Condition], last: Condition, word: int, mask: int, value: int) -> str:
        for other in conditions:
            for its_word, its_mask, its_value in other.bits:
                if its_word == word and (its_value ^ value) & its_mask & mask:
                    return (
                        f"'{other.text}' and '{last.text}' can never hold together, so this never acts; "
                        f"all conditions of one list must hold at once; remove one or write two rules"
                    )
        raise AssertionError("no pair of conditions opposes")

    def acts(self, text: Text, standing: bool) -> list[Act]:
        try:
            acts = self.sentences.act(text.text)
        except SentenceError as error:
            self.complain(text.line, str(error))
            return []
        if standing and (acts[0].op == w.OP_RESTART or acts[0].word == w.W_NOTE):
            allowed = "start and cancel" if acts[0].op == w.OP_RESTART else "caution and fault"
            self.complain(
                text.line,
                f"'{text}' cannot stand in as_soon_as, which acts as long as its conditions hold; "
                f"allowed there: {allowed}; use at, or another act",
            )
            return []
        return [self._numbered(act, text) for act in acts]

    def _numbered(self, act: Act, text: Text) -> Act:
        """A note, caution or fault gets its bit the first time its words are met."""
        if not act.says:
            return replace(act, line=text.line)
        messages = self.messages
        if act.word == w.W_CAUTION:
            bit = self._number(messages.cautions, (act.says, act.holds), "cautions", text)
        else:
            is_note = act.word == w.W_NOTE
            kept = messages.notes if is_note else messages.faults
            bit = self._number(kept, act.says, "notes" if is_note else "faults", text)
        return replace(act, mask=bit, line=text.line)

    def _number(self, kept: list[Any], item: object, kind: str, text: Text) -> int:
        if item not in kept:
            if len(kept) == TEXTS_MAX:
                self.complain(
                    text.line,
                    f"more than {TEXTS_MAX} different {kind}; at most {TEXTS_MAX} fit; use one again",
                )
                return 1
            kept.append(item)
        return 1 << kept.index(item)

    def _check_acts(self, rule: CompiledRule) -> None:
        for i, act in enumerate(rule.acts):
            for other in rule.acts[:i]:
                if opposed(act, other):
                    self.complain(
                        act.line,
                        f"'{other.text}' and '{act.text}' contradict each other; "
                        f"a rule must ask for one of the two; remove one",
                    )
                    return

    def fill_names(self, names: Names, standing: list[CompiledRule]) -> None:
        names.notes = self.messages.notes
        names.cautions = [words for words, _ in self.messages.cautions]
        names.faults = self.messages.faults
        names.standing = [[rule.text, rule.line] for rule in standing]

    def caution_masks(self) -> tuple[int, ...]:
        """Blocks that each caution of a rule holds."""
        masks = []
        for _, place in self.messages.cautions:
            index = None
            if place:
                place_index = self.numbering.places[place.lower()]
                index = self.numbering.place_block(self.layout.places[place_index])
            masks.append(0 if index is None else 1 << index)
        return tuple(masks)


def opposed(one: Act, other: Act) -> bool:
    """True when the two acts ask for opposite things of one relay, block, turnout, timer or lamp."""
    if (one.op, other.op) not in OPPOSITE and (other.op, one.op) not in OPPOSITE:
        return False
    return one.word == other.word and bool(one.mask & other.mask)


def merge_acts(acts: list[Act]) -> tuple[int, ...]:
    """Flat triples, acts of one op and word merged, in order of first use."""
    merged: dict[tuple[int, int], int] = {}
    for act in acts:
        merged[act.op, act.word] = merged.get((act.op, act.word), 0) | act.mask
    return tuple(number for (op, word), mask in merged.items() for number in (op, word, mask))
