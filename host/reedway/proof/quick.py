"""The same steps quicker, for a world without fault in which the controller reacts at once.

Trains are looked at three at a time: their spots together are one key to everything they could do, and the
bits of the state that this depends on are a second one to what they do. Whatever is out of the ordinary
(points to be thrown, timers, something bad) is left to the world itself.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from reedway.proof.told import Told

if TYPE_CHECKING:
    from reedway.proof.world import World

TRAINS_AT_A_TIME = 3
KNOWN_MAX = 256  # of one entry: where more bits matter than that, it would take more memory than the states

# One step: (mask, value, bits that matter, effects, what moves, event).
QuickStep = tuple[int, int, int, Callable[[int], int | None], int, int]
# Sections covered; steps (None: two trains meet, or a step is not plain); the bits that matter to any of
# them; and the differences that the steps make, by what those bits are.
Entry = tuple[int, list[QuickStep] | None, int, dict[int, list[int]]]


class Quick:
    """Expands the states of one world."""

    def __init__(self, world: World) -> None:
        self.world = world
        self.bits = world.packing.bits
        self.seen = (1 << world.packing.timer_at) - 1  # what steps look at
        size = world.bits
        self.groups: list[tuple[int, int, range, dict[int, Entry]]] = []
        for first in range(0, len(world.fields), TRAINS_AT_A_TIME):
            trains = range(first, min(first + TRAINS_AT_A_TIME, len(world.fields)))
            self.groups.append((first * size, (1 << len(trains) * size) - 1, trains, {}))

    def expand(self, state: int, told: list[Told] | None = None) -> list[int]:
        """Every state that one step leads to."""
        world = self.world
        if told is not None or state & world.pending:
            return world.expand_any(state, told)
        out: list[int] = []
        trains = state >> self.bits
        taken = 0
        for at, mask, members, entries in self.groups:
            key = trains >> at & mask
            entry = entries.get(key)
            if entry is None:
                entry = entries[key] = self._entry(members, key)
            covers, steps, matters, known = entry
            if taken & covers or steps is None:
                return world.expand_any(state)
            taken |= covers
            made = known.get(state & matters)
            if made is None:
                made = self._made(state, steps, matters, known)
            for difference in made:
                out.append(state + difference)
        return out

    def _made(
        self, state: int, steps: list[QuickStep], matters: int, known: dict[int, list[int]]
    ) -> list[int]:
        """The difference that each possible step makes; kept if it holds for all states with these bits."""
        made: list[int] = []
        is_lasting = len(known) < KNOWN_MAX
        for needed, value, support, effect, moved, event in steps:
            if state & needed == value:
                change = effect(state & support)
                if change is None:
                    change = self.world.machine.work_out(state, event)
                    is_lasting = is_lasting and effect(state & support) is not None
                is_lasting = is_lasting and not change & ~matters
                made.append((state ^ change) - state + moved)
        if is_lasting:
            known[state & matters] = made
        return made

    def _entry(self, members: range, key: int) -> Entry:
        world = self.world
        covers = matters = 0
        steps: list[QuickStep] = []
        for n, j in enumerate(members):
            spot = key >> n * world.bits & (1 << world.bits) - 1
            if covers & world.covers[spot]:
                return 0, None, 0, {}
            covers |= world.covers[spot]
            for mask, value, event, moved, step in world.tables[j][spot]:
                if step.bad or mask & ~self.seen:
                    return covers, None, 0, {}
                machine = world.machine
                support = machine.supports[event] if event >= 0 else 0
                effects = machine.effects[event] if event >= 0 else {0: 0}
                steps.append((mask, value, support, effects.get, moved, event))
                matters |= mask | support
        return covers, steps, matters, {}
