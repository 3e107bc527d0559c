"""Which rules acted at each step of a story: the controller itself is asked again, and watched."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from reedlogic import words as w
from reedlogic.ring import INDEX
from reedlogic.rules import PASSES_MAX, come_to_rest, standing_rules
from reedway.boardfile.clash import rules_by_event
from reedway.boardfile.grammar import Act
from reedway.boardfile.rulewords import CompiledRule
from reedway.proof.judge import Verdict
from reedway.proof.machine import Machine
from reedway.proof.scene import Scene, begin
from reedway.proof.told import Told

THROWS = (w.OP_THROW_A, w.OP_THROW_B)
WANTED = w.W_WANTED


@dataclass
class Acted:
    """A rule that acted, with those of its acts that changed something."""

    rule: CompiledRule
    acts: list[Act]


@dataclass
class Moment:
    """One step of a story; the first one, without a step, is the start."""

    told: Told | None
    before: int  # state of the world
    after: int
    acted: list[Acted] = field(default_factory=list)
    records: list[tuple[int, int, int]] = field(default_factory=list)  # (kind, which, value)

    def with_act(self, op: int, word: int, bit: int) -> CompiledRule | None:
        """The rule that last did this here."""
        for acted in reversed(self.acted):
            if any(act.op == op and act.mask & bit and _word(act) == word for act in acted.acts):
                return acted.rule
        return None


def _word(act: Act) -> int:
    if act.op in THROWS:
        return WANTED
    return w.W_TIMER if act.op in (w.OP_START, w.OP_RESTART, w.OP_CANCEL) else act.word


class Tracer:
    """Watches a controller of its own with the rules of one scene."""

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        compiled = scene.compiled
        self.machine = Machine(scene.machine.plan)
        plan = self.machine.plan
        rules = rules_by_event(compiled.at_rules)
        self.rules = {event[0]: mine for event, mine in zip(plan[w.PLAN_AT], rules.values(), strict=True)}
        self.standing = compiled.standing
        self.alone = [
            standing_rules((one,), True) for one in plan[w.PLAN_STANDING]
        ]  # each standing rule, for one pass
        self.at: list[CompiledRule] = []
        self.stood: list[Acted] = []
        logic = self.machine.explored.logic
        self.act, self.settle = logic.act, logic.settle
        logic.act, logic.settle = self._acting, self._settling  # type: ignore[method-assign]

    def _acting(self, now: int, number: int, fired: int) -> None:
        self.at += [rule for i, rule in enumerate(self.rules[number]) if fired >> i & 1]
        self.act(now, number, fired)

    def _settling(self) -> None:
        """As the logic does it; and once more from the same words, each rule alone, to see which did what."""
        logic = self.machine.explored.logic
        before = list(logic.words)
        self.settle()
        words = before
        for _ in range(PASSES_MAX):
            begun = list(words)
            for rule, alone in zip(self.standing, self.alone, strict=True):
                old = list(words)
                come_to_rest(words, list(old), logic.watch, alone, logic.physical, logic.caution_holds, INDEX)
                if words != old:
                    self.stood.append(Acted(rule, [act for act in rule.acts if _changed(act, old, words)]))
            if words == begun:
                break
        assert words == logic.words, "each rule alone did something else than all together"

    def moments(self, verdict: Verdict) -> list[Moment]:
        """The start, then every step of the story."""
        scene = self.scene
        first = verdict.way[0]
        start = Moment(None, first, first)
        self._watch(
            start, [0] * w.WORDS, lambda: begin(self.machine.explored, scene.start_number, scene.turned_on)
        )
        found = [start]
        for told, before, after in zip(verdict.steps, verdict.way, verdict.way[1:], strict=False):
            moment = Moment(told, before, after)
            calls = scene.machine.events[told.event] if told.event >= 0 else ()
            if calls and calls[0][0] != "reset":
                logic = before & self.machine.all
                self.machine.explored.restore(self.machine.packing.unpack(logic))
                old = list(self.machine.explored.words)
                event = self.machine.event(*calls)
                self._watch(moment, old, lambda e=event, s=logic: self.machine.ask(s, e))
            found.append(moment)
        return found

    def _watch(self, moment: Moment, old: list[int], run) -> None:  # type: ignore[no-untyped-def]
        self.at.clear()
        self.stood.clear()
        run()
        moment.records = self.machine.explored.records()
        for rule in self.at:
            acts = [act for act in rule.acts if act.op == w.OP_RESTART or not _is_so(act, old)]
            if acts:
                moment.acted.append(Acted(rule, acts))
        moment.acted += self.stood


def _is_so(act: Act, words: list[int]) -> bool:
    """Is what the act wants so already?"""
    word = words[_word(act)] & act.mask
    return word != 0 if act.op in (w.OP_SET, w.OP_THROW_B, w.OP_START) else word == 0


def _changed(act: Act, old: list[int], new: list[int]) -> bool:
    """Has the act changed something?"""
    word = _word(act)
    if act.op == w.OP_FOLLOW:
        return (old[word] ^ new[word]) & act.mask != 0
    return not _is_so(act, old) and _is_so(act, new)


def last_rule(
    moments: list[Moment], before: int, op: int, word: int, bit: int
) -> tuple[int, CompiledRule] | None:
    """(step, rule) of the last rule before step `before` that did this; step 0 is the start."""
    for n in range(before - 1, -1, -1):
        rule = moments[n].with_act(op, word, bit)
        if rule is not None:
            return n, rule
    return None


def bits(word: int) -> Iterator[int]:
    """Numbers of the bits that are set."""
    return (i for i in range(word.bit_length()) if word >> i & 1)
