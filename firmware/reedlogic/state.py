"""What the logic layer knows: turnouts, timers, mode, cautions and faults, lamps."""

from .bare import bare, ptr32
from .ring import INDEX, MASK
from .rules import Rules
from .tables import table
from .words import (
    C_REST,
    C_RULE,
    C_STRAYED,
    C_UNMOVED,
    L_BELONGS,
    L_CAUTION,
    L_FAULT,
    L_FED,
    L_HELD,
    L_RULES,
    M_BEFORE,
    M_FAULT,
    M_MAINTENANCE,
    M_RUNNING,
    NONE,
    PLAN_FEEDS,
    PLAN_LAMPS,
    PLAN_PLACES,
    PLAN_STARTS,
    PLAN_TIMERS,
    PLAN_TURNOUTS,
    R_CAUTION,
    R_CLEAR,
    R_FAULT,
    W_CAUTION,
    W_FAULT,
    W_HELD,
    W_KNOWN,
    W_LEVEL,
    W_PANEL,
    W_POSITION,
    W_RESTING,
    W_TIMER,
    WORDS,
)

NO_FAULT = -1


class State(Rules):
    """The state beside the words, and what is read from both."""

    # As of Rules: enough of them to leave 30.
    __slots__ = ("__dict__", "asked_anew", "came", "feeds", "mode", "old", "started")

    def __init__(self, plan: tuple, journal) -> None:  # type: ignore[no-untyped-def]
        super().__init__(plan, journal)
        self.old = table([0] * WORDS)  # the words before the event
        self.turnouts = len(plan[PLAN_TURNOUTS])
        self.all_turnouts = (1 << self.turnouts) - 1
        self.all_feeds = (1 << (plan[PLAN_FEEDS][0] + plan[PLAN_FEEDS][1])) - 1
        self.track_feed = plan[PLAN_FEEDS][1] << plan[PLAN_FEEDS][0]
        self.timer_ms = plan[PLAN_TIMERS]
        self.timer_due = [0] * len(plan[PLAN_TIMERS])  # while frozen: what remains
        self.frozen = False  # track power absent
        self.moved = True  # a deadline of a timer or of the keeper came or went
        self.places = plan[PLAN_PLACES]
        self.lamp_sources = table(())  # flat pairs: what it shows, index of that
        self.derived_lamps = 0
        for source, index in plan[PLAN_LAMPS]:
            if source != L_RULES:
                self.derived_lamps |= 1 << len(self.lamp_sources) // 2
            self.lamp_sources.append(source)
            self.lamp_sources.append(index)
        self.lamps = 0  # what the lamp outputs show
        self.shown = self.shown_feeds = self.shown_held = 0  # derived lamps, and what they were derived from
        self.shown_key = -1
        self.feeds = 0  # what the feed outputs are
        self.held_by_order = 0
        self.started = self.stopped = self.maintenance = False
        self.fault = NO_FAULT  # first cause * 128 + index, kept until acknowledged
        self.mode = M_BEFORE
        self.strayed = self.unmoved = 0  # turnouts that are not pulsed until acknowledged
        self.resting = 0  # cautions "magnet at rest" that stand
        self.refresh = 0  # turnouts asked for where they lie
        self.refresh_held = 0  # refreshed a short time ago
        self.asked_for = 0  # turnouts to throw in maintenance
        self.thrown = 0  # asked for another position since the keeper looked
        self.asked_anew = 0  # by a start: thrown wherever they lie
        self.came = 0  # turnouts that became known without a pulse: an event each is owed

    def may_pulse(self) -> bool:
        """True when the keeper may begin a throw."""
        return self.mode == M_RUNNING or self.mode == M_MAINTENANCE

    def outstanding(self) -> int:
        """Turnouts whose throw is asked for and not yet known to be there."""
        if self.started:
            return self.all_turnouts & ~self.words[W_KNOWN]
        return self.asked_for & ~self.words[W_KNOWN]

    def raise_fault(self, now: int, cause: int, index: int) -> None:
        """Keep the first cause; a later one adds nothing."""
        if self.fault == NO_FAULT:
            self.fault = cause << 7 | index
            self.journal.put(now, R_FAULT, index, cause)

    def unknow(self, turnout: int) -> None:
        """The turnout may lie anywhere; a refresh of it makes no sense any more."""
        bit = 1 << turnout
        self.physical &= ~bit
        self.refresh &= ~bit
        self.is_settled = False  # a pass may go another way though no word has changed
        self.words[W_KNOWN] &= ~bit  # as know() would find it

    def stray(self, now: int, turnout: int) -> None:
        """A turnout left its position without a pulse: a train may be on it, so it is not pulsed."""
        self.unknow(turnout)
        if not self.strayed >> turnout & 1:
            self.strayed |= 1 << turnout
            self.journal.put(now, R_CAUTION, turnout, C_STRAYED)

    def has_contact(self, turnout: int) -> bool:
        return self.plan[PLAN_TURNOUTS][turnout][8] != NONE or self.plan[PLAN_TURNOUTS][turnout][9] != NONE

    def is_closed(self, contact: int) -> bool:
        """Confirmed level of any input."""
        if contact < 30:
            return self.words[W_LEVEL] >> contact & 1 == 1
        return self.words[W_PANEL] >> (contact - 30) & 1 == 1

    def reported(self, turnout: int) -> int:
        """Position that the contacts show: 0, 1, or -1 where both or neither of two do."""
        first = self.plan[PLAN_TURNOUTS][turnout][8]
        second = self.plan[PLAN_TURNOUTS][turnout][9]
        if second == NONE:
            return 0 if self.is_closed(first) else 1
        if first == NONE:
            return 1 if self.is_closed(second) else 0
        if self.is_closed(first) == self.is_closed(second):
            return -1
        return 1 if self.is_closed(second) else 0

    def lay(self, turnout: int, position: int) -> None:
        """The turnout is now known to lie in this position."""
        bit = 1 << turnout
        if position:
            self.words[W_POSITION] |= bit
        else:
            self.words[W_POSITION] &= ~bit
        self.physical |= bit
        self.asked_for &= ~bit
        self.is_settled = False
        self.know()

    def derived(self, words: list) -> int:
        """Lamps that show the state; worked out anew only when what they show has changed."""
        cautions = 1 if words[W_CAUTION] | self.resting | self.strayed | self.unmoved else 0
        key = self.mode << 1 | cautions
        if (
            key == self.shown_key
            and self.feeds == self.shown_feeds
            and words[W_HELD] == self.shown_held
            and self.mode != M_BEFORE
        ):
            return self.shown
        self.shown_key = key
        self.shown_feeds = self.feeds
        self.shown_held = words[W_HELD]
        belongs = self.belongs() if self.mode == M_BEFORE else 0
        shown = shown_by(
            self.lamp_sources, len(self.lamp_sources), belongs, words[W_HELD], self.feeds, cautions, self.mode
        )
        self.shown = shown
        return shown

    def chosen_start(self) -> int:
        """The first start whose switches stand as it wants them; -1: none."""
        starts = self.plan[PLAN_STARTS]
        for i in range(len(starts)):
            if self.holds(starts[i][0]):
                return i
        return -1

    def belongs(self) -> int:
        """Places where a train belongs before the start that the switches choose."""
        i = self.chosen_start()
        return self.plan[PLAN_STARTS][i][4] if i >= 0 else 0

    def clear_resting(self, now: int, sensor: int) -> None:
        """The magnet has left: the caution clears itself."""
        bit = 1 << sensor
        self.words[W_RESTING] &= ~bit
        if self.resting & bit:
            self.resting &= ~bit
            self.journal.put(now, R_CLEAR, sensor, C_REST)

    def clear_cautions(self, now: int) -> None:
        """Acknowledged: every caution goes, and what it held is let go unless an order holds it."""
        words = self.words
        doubtful = self.strayed | self.unmoved
        known = words[W_KNOWN]
        for turnout in range(self.turnouts):
            if doubtful >> turnout & 1 and self.reported(turnout) >= 0:
                self.lay(turnout, self.reported(turnout))
        if self.started:
            self.came |= words[W_KNOWN] & ~known
        self._clear(now, words[W_CAUTION], C_RULE)
        self._clear(now, self.resting, C_REST)
        self._clear(now, self.strayed, C_STRAYED)
        self._clear(now, self.unmoved, C_UNMOVED)
        words[W_CAUTION] = 0
        words[W_FAULT] = 0
        words[W_HELD] = self.held_by_order
        self.resting = self.strayed = self.unmoved = 0
        self.fault = NO_FAULT

    def _clear(self, now: int, bits: int, kind: int) -> None:
        while bits:
            low = bits & -bits
            bits ^= low
            self.journal.put(now, R_CLEAR, INDEX[low % 37], kind)

    def freeze(self, now: int, absent: bool) -> None:
        """Track power went or came: timers keep what remains in place of their deadline."""
        if absent == self.frozen:
            return
        self.frozen = absent
        running = self.words[W_TIMER]
        while running:
            low = running & -running
            running ^= low
            k = INDEX[low % 37]
            due = self.timer_due[k]
            self.timer_due[k] = (due - now if absent else due + now) & MASK


@bare
def shown_by(sources: ptr32, end: int, belongs: int, held: int, feeds: int, cautions: int, mode: int) -> int:
    """The derived lamps that are lit."""
    lamps = 0
    i = 0
    while i < end:
        source = sources[i]
        lit = 0
        if source == L_BELONGS:
            lit = belongs >> sources[i + 1]
        elif source == L_HELD:
            lit = held >> sources[i + 1]
        elif source == L_FED:
            lit = feeds >> sources[i + 1]
        elif source == L_CAUTION:
            lit = cautions
        elif source == L_FAULT:
            if mode == M_FAULT:
                lit = 1
        elif source != L_RULES and mode == M_RUNNING:
            lit = 1
        if lit & 1:
            lamps |= 1 << (i >> 1)
        i += 2
    return lamps
