"""One event from beginning to end: its rules, the standing rules, what is carried out, the gate."""

from .ring import INDEX, MASK
from .rules import SETTLED, fired_of, is_as
from .state import NO_FAULT, State
from .tables import copy, new_words
from .words import (
    C_RULE,
    E_POSITION,
    E_TIMER,
    EVENT_SHIFT,
    F_RULE,
    F_UNSETTLED,
    M_BEFORE,
    M_FAULT,
    M_MAINTENANCE,
    M_RUNNING,
    M_STOPPED,
    R_CAUTION,
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
    W_NOTE,
    W_POSITION,
    W_RESTART,
    W_TIMER,
    W_WANTED,
    WORDS,
)

# Which words are new after an event, as bits: what to look at.
RELAYS = 15
THROWS = 1 << W_ASKED | 1 << W_WANTED
TIMERS = 1 << W_RESTART | 1 << W_TIMER
MESSAGES = 1 << W_NOTE | 1 << W_CAUTION
CAME_MAX = 8  # turnouts that become known without a pulse in a row, before it is called a fault
# Index of that fault: `in position` rules ask each other's turnouts back for ever.
COMING_AND_GOING = 127


class Logic(State):
    """The logic layer: serves events; asks nobody for the time."""

    def in_position(self, now: int, turnout: int, position: int) -> None:
        """The turnout has come to lie in this position: an event if it lay elsewhere or is wanted there."""
        bit = 1 << turnout
        before = self.words[W_POSITION]
        self.lay(turnout, position)
        if (before ^ self.words[W_POSITION] | self.words[W_KNOWN]) & bit:
            self.journal.put(now, R_POSITION, turnout, position)
            self.event(now, E_POSITION << EVENT_SHIFT | turnout)

    def timer_end(self, now: int, timer: int) -> None:
        """Event: the timer has run out."""
        self.words[W_TIMER] &= ~(1 << timer)
        self.journal.put(now, R_TIMER, timer, 2)
        self.event(now, E_TIMER << EVENT_SHIFT | timer)

    def event(self, now: int, number: int) -> None:
        """One event, complete: its rules, the standing rules, what changed carried out, the gate.

        A turnout asked back to where it lies becomes known without a pulse: that is an event of its own,
        served right after.
        """
        if not self._is_moved(now, number):
            self.gate(now)

    def contact(self, now: int, number: int) -> None:
        """As event, of a contact: where no rule acts, only its level is new, and the gate is as it was."""
        if not self._is_moved(now, number) and not self.started:
            self.gate(now)

    def _is_moved(self, now: int, number: int) -> bool:
        """Serve an event; False when no rule has anything to do."""
        if not self.started:
            return False
        words = self.words  # fired() and note_old() in place: a call costs the board as much as what they do
        place = self.at_index[number]
        fired = fired_of(words, self.at, place - 1) if place else 0
        if not fired and self.is_settled and is_as(words, self.settled, self.stirred):
            return False  # a pass of the standing rules would change nothing either
        copy(words, self.old, WORDS)
        if fired:
            self.act(now, number, fired)
        self.finish(now)
        if self.came:
            self._follow(now)
        return True

    def serve(self, now: int, number: int) -> None:
        """An event against the words that note_old kept, and those that follow from it."""
        if self.started:
            self.run_at(now, number)
            self.finish(now)
            self._follow(now)
        else:
            self.gate(now)

    def _follow(self, now: int) -> None:
        left = CAME_MAX
        while self.came:
            low = self.came & -self.came
            self.came ^= low
            left -= 1
            if not left:
                self.came = 0
                self.raise_fault(now, F_UNSETTLED, COMING_AND_GOING)
                self.gate(now)
                return
            turnout = INDEX[low % 37]
            self.journal.put(now, R_POSITION, turnout, 1 if self.words[W_POSITION] & low else 0)
            self.note_old()
            self.run_at(now, E_POSITION << EVENT_SHIFT | turnout)
            self.finish(now)

    def note_old(self) -> None:
        """Keep the words against which the difference of this event is taken."""
        copy(self.words, self.old, WORDS)

    def finish(self, now: int) -> None:
        """The standing rules, the difference against the words before, and the gate."""
        self.settle()
        words = self.words
        old = self.old
        if self.unsettled_by >= 0:
            self.raise_fault(now, F_UNSETTLED, self.unsettled_by)
            self.unsettled_by = SETTLED
        new = new_words(words, old, WORDS)
        if new & THROWS:
            self._carry_throws(now)
            self.came |= words[W_KNOWN] & ~old[W_KNOWN]
        if new & TIMERS:
            self._carry_timers(now)
        if new & RELAYS:
            for k in range(4):
                if new >> k & 1:
                    self.journal.put_bits(now, R_RELAY, 30 * k, words[k] ^ old[k], words[k])
        if new & 1 << W_GO:
            self.journal.put_bits(now, R_GO, 0, words[W_GO] ^ old[W_GO], words[W_GO])
        if new & 1 << W_LAMP:
            self.journal.put_bits(now, R_LAMP, 0, words[W_LAMP] ^ old[W_LAMP], words[W_LAMP])
        if new & MESSAGES or words[W_FAULT]:
            self._carry_messages(now)
        self.gate(now)

    def _carry_throws(self, now: int) -> None:
        words = self.words
        changed = words[W_WANTED] ^ self.old[W_WANTED] | self.asked_anew
        self.asked_anew = 0
        self.thrown |= changed
        self.refresh &= ~changed  # another throw drops the request
        self.journal.put_bits(now, R_THROW, 0, changed, words[W_WANTED])
        if words[W_ASKED]:
            again = words[W_ASKED] & ~changed & words[W_KNOWN] & ~self.refresh & ~self.refresh_held
            words[W_ASKED] = 0
            self.refresh |= again
            self.journal.put_bits(now, R_REFRESH, 0, again, 0)

    def _carry_timers(self, now: int) -> None:
        words = self.words
        self.moved = True
        running = words[W_TIMER]
        changed = (running ^ self.old[W_TIMER]) | (words[W_RESTART] & running)
        words[W_RESTART] = 0
        self.journal.put_bits(now, R_TIMER, 0, changed, running)
        changed &= running
        while changed:
            low = changed & -changed
            changed ^= low
            k = INDEX[low % 37]
            self.timer_due[k] = self.timer_ms[k] if self.frozen else (now + self.timer_ms[k]) & MASK

    def _carry_messages(self, now: int) -> None:
        words = self.words
        self.journal.put_bits(now, R_NOTE, 0, words[W_NOTE], 0)
        words[W_NOTE] = 0
        # value of a caution is its kind, and C_RULE is 0
        self.journal.put_bits(now, R_CAUTION, 0, words[W_CAUTION] & ~self.old[W_CAUTION], C_RULE)
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
            self.journal.put_bits(now, R_FEED, 0, changed, feeds)
        if self.derived_lamps and mode != M_MAINTENANCE:
            self.lamps = words[W_LAMP] & ~self.derived_lamps | self.derived(words)
        else:
            self.lamps = words[W_LAMP]
