"""Tries small changes of a refuted layout, one at a time, until the proof goes through."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import groupby, islice

from reedlogic import words as w
from reedway.boardfile.rulewords import CompiledRule
from reedway.proof.blame import Blame
from reedway.proof.edits import (
    ASK,
    DO,
    MOVE,
    MOVES_MAX,
    NOT_ASK,
    NOT_DO,
    OPPOSITE,
    OTHER,
    OTHER_SENSOR,
    START,
    SWAP,
    TAKE_OUT,
    TURN,
    Edit,
    Edits,
    plan_with,
    restricts,
)
from reedway.proof.judge import Limits, Verdict, is_sound
from reedway.proof.replayed import Path
from reedway.proof.scene import Scene, scenes
from reedway.proof.story import MESSAGES
from reedway.proof.tracing import THROWS, Moment

STATES_MAX = 20_000  # of one proof of a changed layout
LOOKED_AT = 6  # of the cures of a start: do they help at every start?
WORK_MAX = 400_000  # states of all of them together
# What is tried first; the next kinds only when none of these sets it right.
ROUNDS = ((ASK, OTHER_SENSOR, SWAP, START, DO), (OTHER, TURN, NOT_DO), (MOVE,), (NOT_ASK, TAKE_OUT))


@dataclass
class Cure:
    """A change with which the start is proved, however the board reacts."""

    edit: Edit
    states: int  # the more, the less the change holds trains back
    every_start: bool | None = None  # every start of the file is proved with it; None: not looked at


@dataclass
class Tried:
    """What came of trying: cures, the likeliest first."""

    cures: list[Cure] = field(default_factory=list)
    count: int = 0  # changes that were tried
    is_all: bool = True  # False: given up before all were tried


def try_changes(scene: Scene, verdict: Verdict, moments: list[Moment], blame: Blame, limits: Limits) -> Tried:
    """Cures of a refuted start. The rules that are to blame are looked at first, the likeliest first.

    It ends with the first of these rules in which a change helps at every start of the file.
    """
    tried = Tried()
    blamed = blame.rules
    acted = {id(acted.rule) for moment in moments for acted in moment.acted}
    path = Path(scene, verdict)
    work = 0
    edits = list(_edits(scene, acted, blamed))
    written = Edits(scene.compiled).written()
    one_sided, forgotten = _one_sided(written), forgotten_throws(scene, written)
    suspects = [e for e in edits if _is_suspect(e, blame, one_sided) or is_forgotten(e, forgotten)]
    others = [e for e in edits if e not in suspects]
    for part in [suspects, *([e for e in others if e.kind in kinds] for kinds in ROUNDS)]:
        ranked = sorted(part, key=lambda e: _rank(e, blamed))
        for _, group in groupby(ranked, key=lambda e: _rank(e, blamed)):
            for edit in group:
                if work > WORK_MAX:
                    tried.is_all = False
                    break
                tried.count += 1
                plan = plan_with(scene.compiled, edit, scene.start_number)
                other = scene.with_plan(plan) if plan is not None else None
                if other is None or path.leads_there(other.machine, _first(edit, moments)):
                    continue
                states, proved = _is_proved(other, verdict.lagging, limits)
                work += states
                if proved:
                    tried.cures.append(Cure(edit, states))
            _look_at_every_start(scene, tried.cures, blamed, limits)
            if any(cure.every_start for cure in tried.cures):
                tried.cures.sort(key=lambda cure: not cure.every_start)
                return tried
    return tried


def _is_suspect(edit: Edit, blame: Blame, one_sided: int) -> bool:
    """Does it change the very act that the story shows to be wrong? That is tried first."""
    if edit.act is None:
        return False
    if edit.kind == TURN and edit.act.op in THROWS:
        return edit.old is blame.odd or bool(edit.act.mask & one_sided)
    if edit.kind not in (NOT_DO, OTHER, MOVE) or blame.early is None:
        return False
    rule, word, mask = blame.early
    return edit.old is rule and edit.act.word == word and bool(edit.act.mask & mask)


def _one_sided(rules: list[CompiledRule]) -> int:
    """Turnouts (bits) that rules throw to one side only, and more than one rule: one may mean the other."""
    throws = [(act.op, act.mask) for rule in rules for act in rule.acts if act.op in THROWS]
    alone = [one for one in throws if throws.count(one) > 1 and (OPPOSITE[one[0]], one[1]) not in throws]
    return sum({mask for _, mask in alone})


def forgotten_throws(scene: Scene, rules: list[CompiledRule]) -> list[tuple[int, int, int]]:
    """Throws (op, turnout) out of a place that no rule ever does, with the block (bit) of that place."""
    track = scene.spots.track
    blocks = [block.name for block in track.layout.blocks]
    done = [(act.op, act.mask) for rule in rules for act in rule.acts if act.op in THROWS]
    found = []
    for i in range(len(track.sections)):
        target = track.to[i][0] if track.to[i] else -1
        if track.block(i) and target >= 0 and track.is_trailing(target):
            op = (w.OP_THROW_A, w.OP_THROW_B)[track.position_into(i, target)]
            bit = 1 << track.turnout(target)
            if not any(op == its and bit & mask for its, mask in done):
                found.append((op, bit, 1 << blocks.index(track.block(i))))
    return found


def is_forgotten(edit: Edit, forgotten: list[tuple[int, int, int]]) -> bool:
    """Does it add such a throw to a rule that lets a train out of that place?"""
    if edit.kind != DO or edit.new is None:
        return False
    act = edit.new.acts[-1]
    lets_go = [one.mask for one in edit.new.acts if one.op == w.OP_SET and one.word == w.W_GO]
    return any((act.op, act.mask) == (op, bit) and block in lets_go for op, bit, block in forgotten)


def _look_at_every_start(scene: Scene, cures: list[Cure], blamed: list[CompiledRule], limits: Limits) -> None:
    """Put the likeliest first, and see which of these help at every start of the file.

    Where an act can go, another act in its place is no better.
    """
    less = [cure.edit.old for cure in cures if cure.edit.kind == NOT_DO]
    cures[:] = [
        cure
        for cure in cures
        if cure.edit.kind not in (OTHER, TURN)
        or cure.edit.condition
        or not any(cure.edit.old is rule for rule in less)
    ]
    cures.sort(key=lambda cure: (_rank(cure.edit, blamed), -cure.states, _habit(cure.edit)))
    for cure in cures[:LOOKED_AT]:
        if cure.every_start is None:
            cure.every_start = every_start_proved(scene, cure.edit, limits)


def every_start_proved(scene: Scene, edit: Edit, limits: Limits) -> bool:
    """Is every start of the file proved with this change?"""
    plan = plan_with(scene.compiled, edit, scene.start_number)
    if plan is None:
        return False
    for number in range(len(scene.compiled.layout.starts)):
        for one in scenes(scene.compiled, number):
            other = one.with_plan(plan)
            if other is None or not all(is_sound(other, lagging, limits)[0] for lagging in (False, True)):
                return False
    return True


def _rank(edit: Edit, blamed: list[CompiledRule]) -> int:
    """Rules to blame first; the values of the start are as near as the first of them."""
    if edit.old is None:
        return 0
    return next((n for n, rule in enumerate(blamed) if rule is edit.old), len(blamed))


def _habit(edit: Edit) -> tuple[int, int, int]:
    """Of changes that cure alike the one that reads best: first conditions that the rule itself ends."""
    if edit.condition is None or edit.new is None:
        return edit.kind, 0, 0
    word, mask, value = edit.condition.bits[0]
    ends = [(act.op, act.word, act.mask) for act in edit.new.acts]
    wanted = (w.OP_CLEAR if value else w.OP_SET, word, mask)
    return edit.kind, ends.index(wanted) if wanted in ends else len(ends), 1 if value else 0


def _edits(scene: Scene, acted: set[int], blamed: list[CompiledRule]) -> Iterator[Edit]:
    edits = Edits(scene.compiled)
    for rule in edits.written():
        if all(act.word in MESSAGES for act in rule.acts):
            continue  # it only tells somebody
        for edit in edits.of(rule):
            if id(rule) in acted or not restricts(edit):
                yield edit
    yield from edits.swaps()
    yield from edits.of_start(scene.start_number)
    guilty = {id(rule): rule for rule in blamed}
    guilty.update((id(rule), rule) for rule in edits.written() if id(rule) in acted)
    yield from islice(edits.moves(guilty.values()), MOVES_MAX)


def _first(edit: Edit, moments: list[Moment]) -> int:
    """The first step at which the change can matter; 0: the start."""
    if not restricts(edit):
        return 0
    return next(
        n for n, moment in enumerate(moments) if any(acted.rule is edit.old for acted in moment.acted)
    )


def _is_proved(scene: Scene, lagging: bool, limits: Limits) -> tuple[int, bool]:
    """States that it took, and whether the start is proved with either reaction of the board."""
    within = Limits(min(STATES_MAX, limits.states_max), limits.memory_mb_max)
    sound, states = is_sound(scene, lagging, within)
    if sound:
        sound, more = is_sound(scene, not lagging, within)
        states += more
    return states, sound
