"""A walk of random events through the ring's own rules, in search of one after which they do not settle."""

from __future__ import annotations

import random
import time
from typing import Any

from reedlogic import words as w
from reedlogic.rules import Rules
from reedway.boardfile.numbering import PANEL_BASE
from reedway.boardfile.settling.bitrules import PHYSICAL, Bit

SEED = 1  # the same file gives the same answer
STEPS = 400  # events until the walk begins anew
LOOK_AT_CLOCK = 50


class _NoJournal:
    """The walk keeps no records."""

    def put(self, now: int, kind: int, which: int, value: int) -> None:
        """Nothing."""


class Walk:
    """Words as an event leaves them, before the standing rules act."""

    def __init__(self, plan: tuple[Any, ...], chance: random.Random) -> None:
        self.plan = plan
        self.chance = chance
        self.rules = Rules(plan, _NoJournal())
        self.before: list[int] = []
        self.physical = 0

    def begin(self) -> None:
        """As a start leaves it, with inputs as they happen to be."""
        words, chance = self.rules.words, self.chance
        for word in range(w.WORDS):
            words[word] = 0
        words[w.W_LEVEL], words[w.W_PANEL] = chance.getrandbits(w.WORD_BITS), chance.getrandbits(w.WORD_BITS)
        if self.plan[w.PLAN_STARTS]:
            conditions, relays, words[w.W_WANTED], words[w.W_GO], _ = chance.choice(self.plan[w.PLAN_STARTS])
            words[0:4] = relays
            for j in range(0, len(conditions), 3):
                word, mask, value = conditions[j : j + 3]
                words[word] = words[word] & ~mask | value
        self.rules.physical = 0

    def event(self) -> None:
        """Something that can happen: an input, a timer's end, a turnout in position, an order."""
        words, chance, plan = self.rules.words, self.chance, self.plan
        what = chance.randrange(6)
        if what <= 2:
            self._input()
        elif what == 3 and plan[w.PLAN_TIMERS]:
            timer = chance.randrange(len(plan[w.PLAN_TIMERS]))
            words[w.W_TIMER] &= ~(1 << timer)
            self._at(w.E_TIMER, timer)
        elif what == 4 and plan[w.PLAN_TURNOUTS]:
            turnout = chance.randrange(len(plan[w.PLAN_TURNOUTS]))
            bit = 1 << turnout
            words[w.W_POSITION] = words[w.W_POSITION] & ~bit | words[w.W_WANTED] & bit
            self.rules.physical |= bit
            self.rules.know()
            self._at(w.E_POSITION, turnout)
        elif what == 5 and plan[w.PLAN_PLACES]:
            words[w.W_HELD] ^= chance.choice(plan[w.PLAN_PLACES])

    def _input(self) -> None:
        inputs = [
            *range(len(self.plan[w.PLAN_GPIO])),
            *(PANEL_BASE + i for i in range(len(self.plan[w.PLAN_PANEL]))),
        ]
        if not inputs:
            return
        index = self.chance.choice(inputs)
        bit, words = 1 << index % PANEL_BASE, self.rules.words
        word = w.W_PANEL if index >= PANEL_BASE else w.W_LEVEL
        words[word] ^= bit
        if self.chance.randrange(8) == 0 and word == w.W_LEVEL:
            words[w.W_RESTING] ^= bit
        on = bool(words[word] & bit)
        is_level = (
            self.plan[w.PLAN_PANEL if word == w.W_PANEL else w.PLAN_GPIO][index % PANEL_BASE][0] == w.IN_LEVEL
        )
        kind = (w.E_ON if on else w.E_OFF) if is_level else (w.E_HIT if on else w.E_OPENING)
        self._at(kind, index)

    def _at(self, kind: int, index: int) -> None:
        number = kind << w.EVENT_SHIFT | index
        if self.rules.at_index[number]:
            self.rules.run_at(0, number)

    def settles(self) -> bool:
        """Let the standing rules act; False when they do not come to rest."""
        self.before, self.physical = list(self.rules.words), self.rules.physical
        self.rules.settle()
        settled = self.rules.unsettled_by < 0
        self.rules.unsettled_by = -1
        return settled


def walk(plan: tuple[Any, ...], variables: list[Bit], deadline: float) -> dict[Bit, bool] | None:
    """The words from which the rules do not settle, as bits; None when none was met in time."""
    here = Walk(plan, random.Random(SEED))
    steps = 0
    while True:
        if steps % STEPS == 0:
            here.begin()
        else:
            here.event()
        if not here.settles():
            break
        steps += 1
        if steps % LOOK_AT_CLOCK == 0 and time.monotonic() > deadline:
            return None
    words = [*here.before, here.physical]
    assert len(words) == PHYSICAL + 1
    return {bit: bool(words[bit[0]] >> bit[1] & 1) for bit in variables}
