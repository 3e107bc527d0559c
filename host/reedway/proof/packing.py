"""A state of the logic as one number, with what the track can see of it in the lowest bits.

Lowest come the feeds, then for each turnout whether it may lie in its first position, in its second, whether
it is known to lie right, whether its pulse may come now, then the timers that run; above that everything
else that the logic remembers. Lamps and refreshes asked for are left out: nothing in the logic reads them.
What no exploration does is left out too: magnets at rest, orders that hold, turnouts that stray, maintenance.
"""

from __future__ import annotations

from reedlogic import words as w
from reedlogic.snapshot import WORDS_KEPT

# Where a saved state has what follows the words (snapshot.save_logic).
LAMP, FAULT, WANTED, PHYSICAL, FEEDS, LAMPS, HELD_BY_ORDER, FLAGS, CAUSE, MODE, STRAYED, UNMOVED = range(
    WORDS_KEPT, WORDS_KEPT + 12
)
RESTING, REFRESH, REFRESH_HELD, ASKED_FOR, TIMERS, FREE, DUES = range(WORDS_KEPT + 12, WORDS_KEPT + 19)
FLAG_BITS, CAUSE_BITS, MODE_BITS = 5, 12, 3
NOT_READ = (LAMP, LAMPS, REFRESH, REFRESH_HELD, TIMERS)


class Packing:
    """Packs and unpacks the states of one plan."""

    def __init__(self, plan: tuple) -> None:
        self.timer_ms = plan[w.PLAN_TIMERS]
        self.turnouts = turnouts = len(plan[w.PLAN_TURNOUTS])
        self.all_turnouts = (1 << turnouts) - 1
        blocks, track_feed = plan[w.PLAN_FEEDS]
        self.feed_at = 0
        self.first_at = blocks + track_feed
        self.second_at = self.first_at + turnouts
        self.known_at = self.second_at + turnouts
        self.throw_at = self.known_at + turnouts
        self.timer_at = self.throw_at + turnouts
        at = self.timer_at + len(self.timer_ms)
        self.fields: list[tuple[int, int, int]] = [
            (FEEDS, 0, (1 << self.first_at) - 1),
            (w.W_KNOWN, self.known_at, self.all_turnouts),
            (w.W_TIMER, self.timer_at, (1 << len(self.timer_ms)) - 1),
        ]
        for index, width in self._widths(plan, blocks):
            if width:
                self.fields.append((index, at, (1 << width) - 1))
                at += width
        self.bits = at  # how many a packed state has
        kept = {index for index, _, _ in self.fields}
        self.left_out = [i for i in range(DUES) if i not in kept and i not in NOT_READ]

    @staticmethod
    def _widths(plan: tuple, blocks: int) -> list[tuple[int, int]]:
        relays, turnouts, inputs = plan[w.PLAN_RELAYS][0], len(plan[w.PLAN_TURNOUTS]), len(plan[w.PLAN_GPIO])
        found = [(k, max(0, min(w.WORD_BITS, relays - w.WORD_BITS * k))) for k in range(4)]
        only_sensors = all(
            item[0] == w.IN_SENSOR for item in plan[w.PLAN_GPIO]
        )  # which are open between events
        found += [(w.W_LEVEL, 0 if only_sensors else inputs), (w.W_PANEL, len(plan[w.PLAN_PANEL]))]
        found += [(index, turnouts) for index in (w.W_POSITION, WANTED, PHYSICAL)]
        found += [(w.W_GO, blocks), (w.W_HELD, blocks if any(plan[w.PLAN_CAUTIONS]) else 0)]
        found += [(w.W_CAUTION, len(plan[w.PLAN_CAUTIONS])), (FAULT, plan[w.PLAN_MESSAGES][1])]
        return found + [(FLAGS, FLAG_BITS), (CAUSE, CAUSE_BITS), (MODE, MODE_BITS)]

    def pack(self, saved: tuple[int, ...], throws: list[int]) -> int:
        """The number of a saved state; `throws` are the turnouts whose pulse may come now."""
        packed = 0
        assert not any(saved[i] for i in self.left_out), "a state has something that exploring never does"
        for index, at, mask in self.fields:
            assert saved[index] & ~mask == 0, f"number {index} of a state does not fit"
            packed |= saved[index] << at
        position, unknown = saved[w.W_POSITION], self.all_turnouts & ~saved[PHYSICAL]
        packed |= (~position & self.all_turnouts | unknown) << self.first_at
        packed |= (position | unknown) << self.second_at
        for turnout in throws:
            packed |= 1 << self.throw_at + turnout
        return packed

    def unpack(self, packed: int) -> tuple[int, ...]:
        """The saved state of a number; a timer that runs has its whole time before it."""
        saved = [0] * (DUES + len(self.timer_ms))
        for index, at, mask in self.fields:
            saved[index] = packed >> at & mask
        saved[TIMERS] = len(self.timer_ms)
        for k, time_ms in enumerate(self.timer_ms):
            if saved[w.W_TIMER] >> k & 1:
                saved[DUES + k] = time_ms
        return tuple(saved)

    def mask(self, index: int, bits: int = -1) -> int:
        """These bits of number `index` in a packed state."""
        return sum((bits & mask) << at for i, at, mask in self.fields if i == index)
