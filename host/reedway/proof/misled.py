"""A rule that keeps one track for a train and throws the turnout to another: found by what relays tell."""

from __future__ import annotations

from collections.abc import Iterable

from reedlogic import words as w
from reedway.boardfile.grammar import Act
from reedway.boardfile.rulewords import CompiledRule
from reedway.proof.scene import Scene
from reedway.proof.search import search
from reedway.proof.tracing import THROWS, Moment
from reedway.proof.world import World

LOOKED_AT_MAX = 50_000  # states, for what relays tell
RELAYS = 4  # words
Told = dict[tuple[int, int], str]  # a relay by word and bit, and its name


class Relays:
    """What each relay tells of a section, before anything goes wrong."""

    def __init__(self, scene: Scene, lagging: bool) -> None:
        self.scene = scene
        self.world: World
        self.world, first = scene.world(lagging)
        self.states = list(search(self.world, first, LOOKED_AT_MAX).came_from)

    def in_with(self, section: int) -> Told:
        """Relays that are in whenever a train is in the section, and not always."""
        there, away = self._states(section)
        always = every = -1
        for state in there:
            always &= state
        for state in (*there, *away):
            every &= state
        return self._named(always & ~every) if there else {}

    def only_with(self, section: int) -> Told:
        """Relays that are in only while a train is in the section."""
        there, away = self._states(section)
        never, some = 0, 0
        for state in away:
            never |= state
        for state in there:
            some |= state
        return self._named(some & ~never) if away else {}

    def _states(self, section: int) -> tuple[list[int], list[int]]:
        """States with a train in the section, and those without."""
        world = self.world
        there: list[int] = []
        away: list[int] = []
        for state in self.states:
            spots = (world.spot_of(state, j) for j in range(len(world.fields)))
            is_there = any(world.covers[spot] >> section & 1 for spot in spots)
            (there if is_there else away).append(state)
        return there, away

    def _named(self, state: int) -> Told:
        packing = self.scene.machine.packing
        told = {}
        for i, relay in enumerate(self.scene.spots.track.layout.relays):
            word, bit = i // w.WORD_BITS, 1 << i % w.WORD_BITS
            if packing.mask(word, bit) & state:
                told[word, bit] = relay.name
        return told


def misled(relays: Relays, moments: list[Moment]) -> tuple[CompiledRule, int, str] | None:
    """(rule, last step in which it acted so, what it keeps and where it throws to), or None."""
    for n in range(len(moments) - 1, -1, -1):
        for acted in moments[n].acted:
            for act in acted.rule.acts:
                if act.op in THROWS:
                    text = _against_itself(relays, acted.rule, act)
                    if text:
                        return acted.rule, n, text
    return None


def _against_itself(relays: Relays, rule: CompiledRule, act: Act) -> str:
    """`It keeps track B (pull in B KEPT) but throws entry to A, that is to track A`, or ""."""
    track = relays.scene.spots.track
    turnout = act.mask.bit_length() - 1
    position = 1 if act.op == w.OP_THROW_B else 0
    section = next((i for i in range(len(track.sections)) if track.turnout(i) == turnout), -1)
    if section < 0:
        return ""
    if track.is_facing(section):
        right, wrong = track.to[section][1 - position], track.to[section][position]
        telling = _only_one(relays.in_with(right), relays.in_with(wrong))
        acts = _named(telling, _all(rule))
        if acts and not _named(_only_one(relays.in_with(wrong), relays.in_with(right)), _all(rule)):
            return (
                f"keeps {track.name(right)} ({acts}) but does `{act.text}`, which leads the train into "
                f"{track.name(wrong)}"
            )
    elif track.is_trailing(section):
        ways = track.trailing[section]
        right, wrong = ways[1 - position], ways[position]
        telling = _only_one(relays.only_with(right), relays.only_with(wrong))
        asks = _named(telling, _asked(rule))
        if asks and not _named(_only_one(relays.only_with(wrong), relays.only_with(right)), _asked(rule)):
            return (
                f"asks for {asks}, which tells of a train in {track.name(right)}, but does `{act.text}`, "
                f"which lets a train out of {track.name(wrong)}"
            )
    return ""


def _only_one(told: Told, other: Told) -> Told:
    return {bits: name for bits, name in told.items() if bits not in other}


def _asked(rule: CompiledRule) -> Iterable[tuple[int, int, bool, str]]:
    return ((word, mask, bool(value), c.text) for c in rule.conditions for word, mask, value in c.bits)


def _all(rule: CompiledRule) -> Iterable[tuple[int, int, bool, str]]:
    return ((a.word, a.mask, a.op == w.OP_SET, a.text) for a in rule.acts)


def _named(telling: Told, bits: Iterable[tuple[int, int, bool, str]]) -> str:
    """The first of these that is about a relay that tells, and has it in."""
    return next((f"`{text}`" for word, mask, is_in, text in bits if is_in and (word, mask) in telling), "")
