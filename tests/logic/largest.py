"""Plans as large as `check --limits` lets them be, and busy sessions in them."""

from __future__ import annotations

from random import Random

from logic import maker, plans
from logic.sessions import Session, random_session
from reedlogic import words as w

# As `check --limits` prints them; the sensors leave room for the contacts of turnouts.
SENSORS, PANEL, RELAYS, BLOCKS, PLACES, TURNOUTS, TIMERS, MESSAGES, LAMPS = 26, 24, 120, 29, 30, 7, 30, 30, 30
EVENTS, RULES, RULES_OF_EVENT, STANDING = 255, 900, 30, 100


class LargestMaker(maker.Maker):
    """Draws from all that there may be."""

    def __init__(self, rng: Random, contacts: bool = True, power: bool = True, settled: bool = False) -> None:
        super().__init__(rng, contacts, power, settled)
        self.relays, self.blocks, self.places, self.turnouts = RELAYS, BLOCKS, PLACES, TURNOUTS
        self.timers, self.cautions, self.notes, self.faults = TIMERS, MESSAGES, MESSAGES, MESSAGES
        self.lamps = tuple(rng.choice((w.L_RULES, rng.randint(1, w.L_RUNNING))) for _ in range(LAMPS))
        self.free_lamps = [i for i, source in enumerate(self.lamps) if source == w.L_RULES]
        for _ in range(SENSORS - 8):
            self.input("sensor")
        for _ in range(PANEL):
            self.panel.append((w.IN_LEVEL, 1, 1, 0, 0))
            self.kinds[w.WORD_BITS + len(self.panel) - 1] = "detector"

    def bits(self, word: int) -> list[int]:
        return list(range(w.WORD_BITS)) if word < w.W_LEVEL else super().bits(word)

    def at_rules(self) -> tuple[tuple, ...]:
        """Rules of as many events as there may be, of one as many as there may be."""
        first = w.E_HIT << w.EVENT_SHIFT
        events = [e << w.EVENT_SHIFT | n for e in range(w.E_HIT, w.E_REST + 1) for n in range(SENSORS)]
        events += [w.E_TIMER << w.EVENT_SHIFT | t for t in range(TIMERS)]
        events += [e << w.EVENT_SHIFT | w.WORD_BITS + n for e in (w.E_ON, w.E_OFF) for n in range(PANEL)]
        events += [e << w.EVENT_SHIFT | p for e in range(w.E_GO, w.E_LIFT_OFF + 1) for p in range(PLACES)]
        events += [w.E_POSITION << w.EVENT_SHIFT | t for t in range(TURNOUTS)]
        self.rng.shuffle(events)
        events = sorted([first, *(e for e in events if e != first)][:EVENTS])
        rules: dict[int, list[tuple]] = {event: [] for event in events}
        left = RULES - STANDING
        for event in [*events, *[first] * (RULES_OF_EVENT - 1), *self.rng.choices(events, k=RULES)]:
            if left and len(rules[event]) < RULES_OF_EVENT:
                acts: tuple[int, ...] = ()
                while not acts:
                    acts = self.acts(standing=False)
                rules[event].append((self.conditions(2), acts))
                left -= 1
        return tuple((event, *rules[event]) for event in events)

    def standing(self) -> tuple[tuple, ...]:
        rules = list(super().standing())
        while len(rules) < STANDING:
            acts = self.acts(standing=True, most=2)
            if acts:
                rules.append((self.conditions(4) or (w.W_RELAY + 3, 1 << 29, 1 << 29), acts))
        return tuple(rules)


def largest_case(seed: int, contacts: bool) -> tuple[tuple, Session]:
    """(plan, session) of this seed."""
    kept = plans.Maker
    plans.Maker = LargestMaker  # type: ignore[misc]
    try:
        plan = plans.random_plan(seed, contacts=contacts, power=False, settled=True)
    finally:
        plans.Maker = kept  # type: ignore[misc]
    return plan, random_session(seed, plan, 500, 0, upkeep=contacts)
