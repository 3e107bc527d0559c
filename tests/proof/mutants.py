"""Each condition and act of the derived four-place rules dropped or turned round: is it missed?

python tests/proof/mutants.py          all of them, with the shares; a few minutes
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

if __name__ == "__main__":
    ROOT = Path(__file__).parents[2]
    sys.path[:0] = [str(ROOT / folder) for folder in ("host", "firmware", "tests")]

from reedlogic import words as w  # noqa: E402
from reedway.boardfile.compile import Compiled  # noqa: E402
from reedway.proof.faults import LiftedOff, LostHit, NoFault, Phantom  # noqa: E402
from reedway.proof.judge import FAILS, GOES_ON, PROVED, Limits, judge, judge_fault  # noqa: E402
from reedway.proof.scene import scenes  # noqa: E402
from reedway.proof.search import search  # noqa: E402
from reedway.proof.told import Told  # noqa: E402
from reedway.proof.world import World  # noqa: E402
from track.lines import Line, compiled  # noqa: E402

FLIPPED = {
    w.OP_SET: w.OP_CLEAR,
    w.OP_CLEAR: w.OP_SET,
    w.OP_THROW_A: w.OP_THROW_B,
    w.OP_THROW_B: w.OP_THROW_A,
}
LIMITS = Limits(400_000, 2_000)


class LiftedRightly(LiftedOff):
    """Lifted off only where the rules take it: where the order changes something."""

    def more(
        self, state: int, f: int, view: int, taken: int, out: list[int], told: list[Told] | None
    ) -> None:
        before = len(out)
        super().more(state, f, view, taken, out, told)
        if f == 0:
            logic = self.world.machine.all
            out[before:] = [after for after in out[before:] if (after ^ state) & logic]


FAULTS: tuple[type[NoFault], ...] = (Phantom, LostHit, LiftedRightly)
MUST_GO_ON = (Phantom, LiftedRightly)
REFUTED, BY_A_FAULT, REDUNDANT, ALIKE, ORDER = (
    "refuted",
    "refuted with a single fault, or with a train lifted off and set on",
    "redundant: the same reachable graph",
    "redundant: the same graph but for what relays keep in mind (bisimilar)",
    "changes order or throughput only",
)
Flat = tuple[int, ...]


@dataclass(frozen=True)
class Mutant:
    what: str
    plan: tuple


def lines() -> list[Compiled]:
    """The four-place track with one, two and three trains."""
    return [compiled(Line(trains=trains)) for trains in (1, 2, 3)]


def bits(word: int) -> Iterator[int]:
    while word:
        yield word & -word
        word &= word - 1


def without(flat: Flat, j: int, bit: int, value_too: bool) -> Flat:
    """A condition (or act) less: its bit is not looked at any more."""
    out = list(flat)
    if value_too:
        out[j + 1] &= ~bit
        out[j + 2] &= ~bit
    else:
        out[j + 2] &= ~bit
    mask = out[j + 1] if value_too else out[j + 2]
    return tuple(out if mask else out[:j] + out[j + 3 :])


def name_of(made: Compiled, word: int, bit: int) -> str:
    """The thing whose bit it is."""
    i = bit.bit_length() - 1
    if word < 4:
        return made.names.relays[w.WORD_BITS * word + i]
    if word == w.W_GO:
        return made.names.blocks[i]
    return str(made.names.turnouts[i][0])


def of_rule(made: Compiled, rule: tuple[Flat, Flat]) -> Iterator[tuple[str, tuple[Flat, Flat]]]:
    conditions, acts = rule
    for j in range(0, len(conditions), 3):
        for bit in bits(conditions[j + 1]):
            name = name_of(made, conditions[j], bit)
            yield f"condition on {name} dropped", (without(conditions, j, bit, True), acts)
            turned = (*conditions[: j + 2], conditions[j + 2] ^ bit, *conditions[j + 3 :])
            yield f"condition on {name} turned", (turned, acts)
    for j in range(0, len(acts), 3):
        for bit in bits(acts[j + 2]):
            op = acts[j]
            word = acts[j + 1] if op in (w.OP_SET, w.OP_CLEAR) else w.W_POSITION
            what = f"act {'on' if op in (w.OP_SET, w.OP_THROW_B) else 'off'} {name_of(made, word, bit)}"
            less = without(acts, j, bit, False)
            yield f"{what} dropped", (conditions, less)
            yield f"{what} turned", (conditions, (*less, FLIPPED[op], acts[j + 1], bit))


def mutants(made: Compiled) -> list[Mutant]:
    """Every mutant of the plan, with the sentence of its rule."""
    found = []
    plan = made.plan
    for e, event in enumerate(plan[14]):
        rules = [rule for rule in made.at_rules if rule.event is not None and rule.event.number == event[0]]
        for r, rule in enumerate(event[1:], 1):
            for what, changed in of_rule(made, rule):
                new = (*event[:r], changed, *event[r + 1 :])
                at = (*plan[14][:e], new, *plan[14][e + 1 :])
                found.append(Mutant(f"{short(rules[r - 1].text)}: {what}", (*plan[:14], at, *plan[15:])))
    for r, rule in enumerate(plan[15]):
        for what, changed in of_rule(made, rule):
            standing = (*plan[15][:r], changed, *plan[15][r + 1 :])
            text = short(made.standing[r].text)
            found.append(Mutant(f"{text}: {what}", (*plan[:15], standing, *plan[16:])))
    return found


def short(text: str) -> str:
    """The conditions of a rule, which tell it apart."""
    return text.split(": ")[0]


def worlds(made: Compiled) -> Iterator[tuple[World, int]]:
    """All that is explored: no fault in both reactions, and each fault."""
    scene = scenes(made, 0)[0]
    for lagging, fault in ((False, None), (True, None), *((False, kind()) for kind in FAULTS)):
        yield scene.world(lagging, fault)


Graph = dict[int, list[int]]


def graph(world: World, start: int) -> Graph:
    """Every state with those after it; the start comes first."""
    found = {state: world.expand(state) for state in search(world, start, past_bad=True).came_from}
    world.bad = ""
    return found


def seen_of(world: World, state: int) -> int:
    """What can be seen of a state: feeds, points, trains, fault, hits that wait; not the relays."""
    packing = world.packing
    return state & (1 << packing.timer_at) - 1 | state >> packing.bits << packing.bits


def alike(one: Graph, other: Graph, world: World) -> bool:
    """Strong bisimulation from start to start: refine by what is seen next until nothing splits any more."""
    both = [(g, state) for g, states in enumerate((one, other)) for state in states]
    colour: dict[tuple[int, int], int] = {}
    numbers: dict[object, int] = {}
    for key in both:
        colour[key] = numbers.setdefault(seen_of(world, key[1]), len(numbers))
    count = len(numbers)
    while True:
        numbers = {}
        finer = {}
        for g, state in both:
            after = frozenset(colour[g, next_one] for next_one in (one, other)[g][state])
            finer[g, state] = numbers.setdefault((colour[g, state], after), len(numbers))
        colour = finer
        if len(numbers) == count:
            return colour[0, next(iter(one))] == colour[1, next(iter(other))]
        count = len(numbers)


def verdict(originals: list[Compiled], plan: tuple) -> str:
    """What becomes of a mutant: its rules in place of those of one, two and three trains."""
    made = [replace(one, plan=(*plan[:16], *one.plan[16:])) for one in originals]
    for one in made[::-1]:
        scene = scenes(one, 0)[0]
        for lagging in (False, True):
            if judge(scene, lagging, LIMITS).result != PROVED:
                return REFUTED
    for one in made[::-1]:
        scene = scenes(one, 0)[0]
        for kind in FAULTS:
            found = judge_fault(scene, False, kind, LIMITS)
            assert found is not None
            if found.result == FAILS or (kind in MUST_GO_ON and found.result != GOES_ON):
                return BY_A_FAULT
    is_same = True
    for one, other in zip(originals, made, strict=True):
        for (world, start), (changed, begin) in zip(worlds(one), worlds(other), strict=True):
            before, after = graph(world, start), graph(changed, begin)
            if before == after:
                continue
            is_same = False
            if not alike(before, after, world):
                return ORDER
    return REDUNDANT if is_same else ALIKE


def main() -> None:
    originals = lines()
    shares: Counter[str] = Counter()
    named = []
    for mutant in mutants(originals[-1]):
        result = verdict(originals, mutant.plan)
        shares[result] += 1
        if result in (REDUNDANT, ALIKE, ORDER):
            named.append(f"{result}: {mutant.what}")
    total = sum(shares.values())
    print("\n".join(named))
    for result, count in shares.most_common():
        print(f"{count:4} of {total} ({100 * count / total:.0f} %) {result}")


if __name__ == "__main__":
    main()
