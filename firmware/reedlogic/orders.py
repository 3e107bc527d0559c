"""Orders from the operator, and the start: each is one event, recorded as an input."""

from .logic import Logic
from .ring import INDEX
from .state import NO_FAULT
from .words import (
    E_ACKNOWLEDGE,
    E_GO,
    E_GO_ON,
    E_HOLD,
    E_LIFT_OFF,
    E_SET_ON,
    E_START,
    E_STOP,
    E_SUPPRESSED,
    EVENT_SHIFT,
    F_OUT_OF_STEP,
    N_NO_MATCH,
    N_NOT_BEFORE,
    N_NOT_STARTED,
    N_SWITCH,
    N_UNKNOWN,
    NONE,
    O_ACKNOWLEDGE,
    O_BOARD_FAULT,
    O_FEED,
    O_GO,
    O_GO_ON,
    O_HOLD,
    O_LIFT_OFF,
    O_LIGHT,
    O_MAINTENANCE,
    O_SET_ON,
    O_START,
    O_STOP,
    O_THROW,
    O_UNWATCHED,
    PLAN_STARTS,
    R_ORDER,
    R_REFUSED,
    R_START,
    W_ASKED,
    W_CAUTION,
    W_GO,
    W_HELD,
    W_KNOWN,
    W_LAMP,
    W_LEVEL,
    W_PANEL,
    W_TIMER,
    W_WANTED,
)

EVENT_OF_ORDER = (E_START, E_STOP, E_GO_ON, E_ACKNOWLEDGE, E_GO, E_HOLD, E_SUPPRESSED, E_SET_ON, E_LIFT_OFF)
OK = -1


def give(logic: Logic, now: int, order: int, value: int, button: int) -> None:
    """Carry out one order; what cannot be done is refused with a reason and changes nothing."""
    logic.journal.put(now, R_ORDER, order | button, value)
    if order == O_START:
        reason = _start(logic, now, value)
    elif order == O_MAINTENANCE:
        reason = _maintenance(logic)
    elif order == O_FEED or order == O_LIGHT:
        reason = _try_output(logic, order, value)
    elif order == O_UNWATCHED:
        reason = _unwatched(logic)
    elif order == O_ACKNOWLEDGE:
        reason = OK
        logic.clear_cautions(now)
        logic.note_old()
    elif order == O_BOARD_FAULT:
        reason = OK
        _board_fault(logic, now, value)
    else:
        reason = _running(logic, now, order, value)
    if reason != OK:
        logic.journal.put(now, R_REFUSED, order, reason)
        return
    if order >= len(EVENT_OF_ORDER):
        logic.event(now, E_SUPPRESSED << EVENT_SHIFT)
        return
    index = value if order == O_GO or order == O_HOLD or order == O_SET_ON or order == O_LIFT_OFF else 0
    logic.serve(now, EVENT_OF_ORDER[order] << EVENT_SHIFT | index)


def _maintenance(logic: Logic) -> int:
    if logic.started or logic.maintenance:
        return N_NOT_BEFORE
    logic.maintenance = True
    return OK


def _unwatched(logic: Logic) -> int:
    """In maintenance, the computer gone: what was tried goes off, and a throw that waits does not come."""
    if not logic.maintenance:
        return N_NOT_BEFORE
    logic.words[W_GO] = logic.words[W_LAMP] = 0
    logic.asked_for = 0
    return OK


def _try_output(logic: Logic, order: int, value: int) -> int:
    """In maintenance: one feed, also the track feed, or one lamp."""
    if not logic.maintenance:
        return N_NOT_BEFORE
    if value >> 1 >= 30:
        return N_UNKNOWN
    bit = 1 << (value >> 1)
    word = W_LAMP
    if order == O_FEED:
        word = W_GO
        if not logic.all_feeds & bit:
            return N_UNKNOWN
    elif value >= len(logic.lamp_sources):
        return N_UNKNOWN
    logic.words[word] = logic.words[word] | bit if value & 1 else logic.words[word] & ~bit
    return OK


def _board_fault(logic: Logic, now: int, value: int) -> None:
    cause = value >> 6
    index = value & 63
    if cause == F_OUT_OF_STEP and index < logic.turnouts:
        logic.unknow(index)
    logic.note_old()
    logic.raise_fault(now, cause, index)


def _running(logic: Logic, now: int, order: int, value: int) -> int:
    """Orders that need a started show; throw, go and hold also work in maintenance."""
    logic.note_old()
    if order == O_THROW or order == O_GO or order == O_HOLD:
        if not logic.started and not logic.maintenance:
            return N_NOT_STARTED
        return _throw(logic, now, value) if order == O_THROW else _place(logic, order, value)
    if not logic.started:
        if order == O_STOP and logic.maintenance:
            logic.words[W_GO] = 0  # whatever was tried
            return OK
        return N_NOT_STARTED
    if order == O_STOP:
        logic.stopped = True
    elif order == O_GO_ON:
        logic.stopped = False
    elif order == O_SET_ON or order == O_LIFT_OFF:
        if value >= len(logic.places):
            return N_UNKNOWN
    else:
        return N_UNKNOWN
    return OK


def _place(logic: Logic, order: int, value: int) -> int:
    if value >= len(logic.places) or not logic.places[value]:
        return N_UNKNOWN
    block = logic.places[value]
    if order == O_HOLD:
        logic.held_by_order |= block
        logic.words[W_HELD] |= block
    else:
        logic.held_by_order &= ~block
        logic.words[W_HELD] &= ~block
    if logic.maintenance:  # no rules: the order itself feeds and unfeeds
        logic.words[W_GO] = (logic.words[W_GO] & ~block) | (block if order == O_GO else 0)
    return OK


def _throw(logic: Logic, now: int, value: int) -> int:
    turnout = value >> 1
    if turnout >= logic.turnouts:
        return N_UNKNOWN
    bit = 1 << turnout
    if logic.maintenance:
        logic.asked_for |= bit
        logic.unknow(turnout)
    if value & 1:
        logic.throw(now, 0, bit)
    else:
        logic.throw(now, bit, 0)
    return OK


def _mismatch(logic: Logic, start: int) -> int:
    """The switch that keeps this start from matching, or N_NO_MATCH."""
    conditions = logic.plan[PLAN_STARTS][start][0]
    for j in range(0, len(conditions), 3):
        word = conditions[j]
        wrong = logic.words[word] & conditions[j + 1] ^ conditions[j + 2]
        if wrong and (word == W_LEVEL or word == W_PANEL):
            return N_SWITCH + INDEX[(wrong & -wrong) % 37] + (30 if word == W_PANEL else 0)
    return N_NO_MATCH


def _start(logic: Logic, now: int, value: int) -> int:
    """Relays take the start's values, each turnout is pulsed once, blocks go when all are known."""
    if logic.started or logic.maintenance or logic.fault != NO_FAULT:
        return N_NOT_BEFORE
    starts = logic.plan[PLAN_STARTS]
    if value == NONE:
        chosen = logic.chosen_start()
        if chosen < 0:
            return _mismatch(logic, 0) if starts else N_NO_MATCH
    elif value >= len(starts):
        return N_UNKNOWN
    elif logic.holds(starts[value][0]):
        chosen = value
    else:
        return _mismatch(logic, value)
    words = logic.words
    logic.note_old()
    logic.journal.put(now, R_START, chosen, 0)
    logic.started = True
    logic.stopped = False
    for k in range(4):
        words[k] = starts[chosen][1][k]
    words[W_WANTED] = starts[chosen][2]
    words[W_GO] = starts[chosen][3]
    words[W_TIMER] = words[W_LAMP] = words[W_CAUTION] = 0
    logic.physical = 0
    words[W_KNOWN] = 0
    logic.old[W_WANTED] = words[W_WANTED]
    words[W_ASKED] = logic.asked_anew = logic.all_turnouts
    return OK
