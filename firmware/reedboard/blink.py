"""What the board's own lamp says: a steady state, or two numbers in flashes for what is wrong where.

First the kind (1 magnet at rest, 2 turnout moved by itself, 3 turnout did not move, 4 caution of a rule,
5 fault), then the number of the sensor, turnout or caution, counted from 1 in the order of the file; for
a fault its cause, counted from 1.
"""

from reedlogic.ring import INDEX
from reedlogic.words import M_FAULT, M_MAINTENANCE, M_RUNNING, M_STOPPED, W_CAUTION

SLOT_MS = 200  # a flash is one slot lit and one dark
GAP = 5  # dark slots between the two numbers
REST = 10  # dark slots after them

REST_KIND, STRAYED_KIND, UNMOVED_KIND, RULE_KIND, FAULT_KIND = 1, 2, 3, 4, 5


class Blink:
    """is_lit(now) for the state that the logic is in."""

    def __init__(self, logic) -> None:  # type: ignore[no-untyped-def]
        self.logic = logic

    def is_lit(self, now: int) -> bool:
        """True when the lamp is lit at this millisecond."""
        logic = self.logic
        slot = now // SLOT_MS
        if logic.mode == M_FAULT:
            return _flash(slot, FAULT_KIND, (logic.fault >> 7) + 1)
        if logic.resting:
            return _flash(slot, REST_KIND, _first(logic.resting))
        if logic.strayed:
            return _flash(slot, STRAYED_KIND, _first(logic.strayed))
        if logic.unmoved:
            return _flash(slot, UNMOVED_KIND, _first(logic.unmoved))
        if logic.words[W_CAUTION]:
            return _flash(slot, RULE_KIND, _first(logic.words[W_CAUTION]))
        if logic.mode == M_RUNNING:
            return True
        if logic.mode == M_STOPPED:
            return slot % 10 < 5  # slow: stopped
        if logic.mode == M_MAINTENANCE:
            return slot % 2 == 0  # flicker
        return slot % 20 == 0  # a short flash now and then: before start


def _first(bits: int) -> int:
    return INDEX[(bits & -bits) % 37] + 1


def _flash(slot: int, first: int, second: int) -> bool:
    at = slot % (2 * first + GAP + 2 * second + REST)
    if at < 2 * first:
        return at % 2 == 0
    at -= 2 * first + GAP
    return 0 <= at < 2 * second and at % 2 == 0
