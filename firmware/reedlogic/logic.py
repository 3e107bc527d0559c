"""One event from beginning to end: its rules, the standing rules, what is carried out, the gate."""

from .ring import INDEX, MASK
from .rules import DIFF_WORDS, Rules
from .words import (
    C_REST,
    C_RULE,
    C_STRAYED,
    C_UNMOVED,
    E_POSITION,
    E_TIMER,
    EVENT_SHIFT,
    F_RULE,
    F_UNSETTLED,
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
    M_STOPPED,
    NONE,
    R_CAUTION,
    R_CLEAR,
    R_FAULT,
    R_FEED,
    R_GO,
    R_LAMP,
    R_MODE,
    R_NOTE,
    R_POSITION,
    R_REFRESH,
    R_RELAY,
    R_THROW,
    R_TIMER,
    W_ASKED,
    W_CAUTION,
    W_FAULT,
    W_GO,
    W_HELD,
    W_KNOWN,
    W_LAMP,
    W_LEVEL,
    W_NOTE,
    W_PANEL,
    W_POSITION,
    W_RESTART,
    W_RESTING,
    W_TIMER,
    W_WANTED,
    WORDS,
)

NO_FAULT = -1
SNAPSHOT_FIELDS = 15


class Logic(Rules):
    """The logic layer: all words, feeds, mode and timers; asks nobody for the time."""

    def __init__(self, plan: tuple, journal) -> None:  # type: ignore[no-untyped-def]
        super().__init__(plan, journal)
        self.old = [0] * WORDS  # the words before the event
        self.turnouts = len(plan[7])
        self.all_turnouts = (1 << self.turnouts) - 1
        self.all_feeds = (1 << (plan[5][0] + plan[5][1])) - 1
        self.track_feed = plan[5][1] << plan[5][0]
        self.timer_ms = plan[9]
        self.timer_due = [0] * len(plan[9])  # while frozen: what remains
        self.frozen = False  # track power absent
        self.places = plan[6]
        self.lamp_sources = plan[12]
        self.derived_lamps = 0
        for i in range(len(plan[12])):
            if plan[12][i][0] != L_RULES:
                self.derived_lamps |= 1 << i
        self.lamps = 0  # what the lamp outputs show
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

    # -- what the keeper and the orders ask -------------------------------------------------------

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
        self.physical &= ~(1 << turnout)
        self.know()

    def stray(self, now: int, turnout: int) -> None:
        """A turnout left its position without a pulse: a train may be on it, so it is not pulsed."""
        self.unknow(turnout)
        if not self.strayed >> turnout & 1:
            self.strayed |= 1 << turnout
            self.journal.put(now, R_CAUTION, turnout, C_STRAYED)

    def has_contact(self, turnout: int) -> bool:
        return self.plan[7][turnout][8] != NONE or self.plan[7][turnout][9] != NONE

    def is_closed(self, contact: int) -> bool:
        """Confirmed level of any input."""
        if contact < 30:
            return self.words[W_LEVEL] >> contact & 1 == 1
        return self.words[W_PANEL] >> (contact - 30) & 1 == 1

    def reported(self, turnout: int) -> int:
        """Position that the contacts show: 0, 1, or -1 where both or neither of two do."""
        first = self.plan[7][turnout][8]
        second = self.plan[7][turnout][9]
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
        self.know()

    def in_position(self, now: int, turnout: int, position: int) -> None:
        """Event: the turnout has come to lie in this position."""
        self.lay(turnout, position)
        self.journal.put(now, R_POSITION, turnout, position)
        self.event(now, E_POSITION << EVENT_SHIFT | turnout)

    def timer_end(self, now: int, timer: int) -> None:
        """Event: the timer has run out."""
        self.words[W_TIMER] &= ~(1 << timer)
        self.journal.put(now, R_TIMER, timer, 2)
        self.event(now, E_TIMER << EVENT_SHIFT | timer)

    # -- one event ----------------------------------------------------------------------------------

    def event(self, now: int, number: int) -> None:
        """One event, complete: its rules, the standing rules, what changed carried out, the gate."""
        if self.started:
            self.note_old()
            if self.at_index[number]:
                self.run_at(now, number)
            self.finish(now)
        else:
            self.gate(now)

    def note_old(self) -> None:
        """Keep the words against which the difference of this event is taken."""
        old = self.old
        words = self.words
        for k in DIFF_WORDS:
            old[k] = words[k]

    def finish(self, now: int) -> None:
        """The standing rules, the difference against the words before, and the gate."""
        self.settle()
        words = self.words
        old = self.old
        if self.unsettled_by >= 0:
            self.raise_fault(now, F_UNSETTLED, self.unsettled_by)
            self.unsettled_by = -1
        if words[W_ASKED] | (words[W_WANTED] ^ old[W_WANTED]):
            self._carry_throws(now)
        if words[W_RESTART] | (words[W_TIMER] ^ old[W_TIMER]):
            self._carry_timers(now)
        for k in range(4):
            if words[k] != old[k]:
                self._record(now, R_RELAY, words[k] ^ old[k], words[k], 30 * k)
        if words[W_GO] != old[W_GO]:
            self._record(now, R_GO, words[W_GO] ^ old[W_GO], words[W_GO], 0)
        if words[W_LAMP] != old[W_LAMP]:
            self._record(now, R_LAMP, words[W_LAMP] ^ old[W_LAMP], words[W_LAMP], 0)
        if words[W_NOTE] | words[W_FAULT] | (words[W_CAUTION] & ~old[W_CAUTION]):
            self._carry_messages(now)
        self.gate(now)

    def _record(self, now: int, kind: int, changed: int, word: int, base: int) -> None:
        while changed:
            low = changed & -changed
            changed ^= low
            self.journal.put(now, kind, base + INDEX[low % 37], 1 if word & low else 0)

    def _carry_throws(self, now: int) -> None:
        words = self.words
        changed = words[W_WANTED] ^ self.old[W_WANTED]
        self.refresh &= ~changed  # another throw drops the request
        self.unmoved &= ~(changed & words[W_KNOWN])  # asked back to where it lies
        again = words[W_ASKED] & ~changed & words[W_KNOWN] & ~self.refresh & ~self.refresh_held
        words[W_ASKED] = 0
        self._record(now, R_THROW, changed, words[W_WANTED], 0)
        self.refresh |= again
        self._record(now, R_REFRESH, again, 0, 0)

    def _carry_timers(self, now: int) -> None:
        words = self.words
        running = words[W_TIMER]
        changed = (running ^ self.old[W_TIMER]) | (words[W_RESTART] & running)
        words[W_RESTART] = 0
        self._record(now, R_TIMER, changed, running, 0)
        changed &= running
        while changed:
            low = changed & -changed
            changed ^= low
            k = INDEX[low % 37]
            self.timer_due[k] = self.timer_ms[k] if self.frozen else (now + self.timer_ms[k]) & MASK

    def _carry_messages(self, now: int) -> None:
        words = self.words
        self._record(now, R_NOTE, words[W_NOTE], 0, 0)
        words[W_NOTE] = 0
        # value of a caution is its kind, and C_RULE is 0
        self._record(now, R_CAUTION, words[W_CAUTION] & ~self.old[W_CAUTION], C_RULE, 0)
        if words[W_FAULT]:
            self.raise_fault(now, F_RULE, INDEX[(words[W_FAULT] & -words[W_FAULT]) % 37])

    def gate(self, now: int) -> None:
        """Mode, feeds and lamps: no block newly goes while a throw is outstanding; stop acts at once."""
        if self.fault != NO_FAULT:
            mode = M_FAULT
        elif self.maintenance:
            mode = M_MAINTENANCE
        elif not self.started:
            mode = M_BEFORE
        else:
            mode = M_STOPPED if self.stopped else M_RUNNING
        if mode != self.mode:
            self.mode = mode
            self.journal.put(now, R_MODE, 0, mode)
        feeds = 0
        words = self.words
        if mode == M_RUNNING:
            feeds = (words[W_GO] & ~words[W_HELD]) | self.track_feed
            if words[W_KNOWN] != self.all_turnouts:
                feeds &= self.feeds
        elif mode == M_MAINTENANCE:
            feeds = words[W_GO] & ~words[W_HELD]
        if feeds != self.feeds:
            changed = feeds ^ self.feeds
            self.feeds = feeds
            self._record(now, R_FEED, changed, feeds, 0)
        self.lamps = self._derived(words) if self.derived_lamps else words[W_LAMP]

    # -- lamps, cautions, timers --------------------------------------------------------------------

    def standing_cautions(self) -> int:
        """Not 0 while any caution stands."""
        return self.words[W_CAUTION] | self.resting | self.strayed | self.unmoved

    def _derived(self, words: list) -> int:
        lamps = words[W_LAMP] & ~self.derived_lamps
        for i in range(len(self.lamp_sources)):
            source, index = self.lamp_sources[i]
            if source == L_RULES:
                continue
            if source == L_BELONGS:
                lit = self.mode == M_BEFORE and self.belongs() >> index & 1
            elif source == L_HELD:
                lit = words[W_HELD] >> index & 1
            elif source == L_FED:
                lit = self.feeds >> index & 1
            elif source == L_CAUTION:
                lit = self.standing_cautions()
            elif source == L_FAULT:
                lit = self.mode == M_FAULT
            else:
                lit = self.mode == M_RUNNING
            if lit:
                lamps |= 1 << i
        return lamps

    def chosen_start(self) -> int:
        """The first start whose switches stand as it wants them; -1: none."""
        starts = self.plan[16]
        for i in range(len(starts)):
            if self.holds(starts[i][0]):
                return i
        return -1

    def belongs(self) -> int:
        """Places where a train belongs before the start that the switches choose."""
        i = self.chosen_start()
        return self.plan[16][i][4] if i >= 0 else 0

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
        for turnout in range(self.turnouts):
            if doubtful >> turnout & 1 and self.reported(turnout) >= 0:
                self.lay(turnout, self.reported(turnout))
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
