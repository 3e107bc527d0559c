"""The whole logic behind one door: what falls due is served one thing at a time, in one fixed order."""

from .edges import A_HIT, A_KEEP_ALIVE, A_OPENING, A_REARM, A_REST, A_TIMER, PANEL, Edges
from .journal import VALUE_MAX, Journal
from .keeper import Keeper
from .logic import Logic
from .orders import give
from .ring import INDEX, KEEP_ALIVE_MS, MASK, const
from .words import F_OUT_OF_STEP, O_BOARD_FAULT, R_LATE, W_LEVEL, W_PANEL, W_TIMER

_MASK = const(0x1FFFFFFF)  # ring.MASK and HALF; x & _HALF is not 0 where x is before 0
_HALF = const(0x10000000)


class Controller(Edges):
    """Give it the time and the inputs; it decides, keeps the journal and says what the outputs are.

    One scan is: advance(now, raw, panel) until it returns False, then order(...) for each order, then
    settle(now). `now` is milliseconds on the ring of 2**29, raw and panel are words of closed contacts.
    The outputs are logic.feeds (blocks, then the track feed), logic.lamps and keeper.supply_out.
    Nothing is allocated after construction.
    """

    def __init__(self, plan: tuple, journal_records: int = 2000) -> None:
        journal = Journal(journal_records)
        logic = Logic(plan, journal)
        super().__init__(plan, logic, Keeper(plan, logic), journal)
        self.at = 0  # the instant that is being served, or the last one
        self.owed = False  # the keeper's turn at the end of instant `at`
        self.gap = 0  # a late scan is being made up
        self.exact = 0  # the next deadline; `due` is earlier while the keeper's turn or a gap is owed
        self.keep_alive = 0
        self.code = A_KEEP_ALIVE  # what is due then

    def begin(self, now: int, raw: int, panel: int) -> None:
        """First sample after a reset: everything at stop, no turnout known, levels without events."""
        self.at = now
        self.keep_alive = (now + KEEP_ALIVE_MS) & MASK
        self.begin_levels(now, raw, panel)
        self.logic.gate(now)
        self.find_next()

    def scan(self, now: int, raw: int, panel: int) -> None:
        """One whole scan without orders."""
        if not (now - self.due) & _HALF:
            if self.stale:
                self.find_next()
            if not (now - self.due) & _HALF or self.gap:
                while self._serve(now, self.raw, self.panel):
                    if self.stale:
                        self.find_next()
                if raw != self.raw:
                    self.begin_bounce(now, raw)
                if panel != self.panel:
                    self.take_panel(now, panel)
                if self.owed:
                    self.settle(now)
                return
        changed = raw ^ self.raw
        if changed:
            if changed == self.bouncing:  # it bounces: no more than its record and its time, without a call
                self.raw = raw
                self.stale = True
                self.edge_at = now
                self.edge_record = record = self.edge_record ^ 1
                journal = self.journal
                n = journal.next
                journal.times[n] = now
                journal.data[n] = record
                n += 1
                journal.next = n if n != journal.stop else journal.turned(n)
            else:
                self.begin_bounce(now, raw)
        if panel != self.panel:
            self.take_panel(now, panel)

    def advance(self, now: int, raw: int, panel: int) -> bool:
        """Serve one thing that is due up to now, then the raw word; True while there may be more."""
        # 0x10000000 is ring.HALF: that bit of the difference is set while `now` comes before `due`
        if raw == self.raw and panel == self.panel and (now - self.due) & 0x10000000:
            return False
        if self.stale:
            self.find_next()
        return self._serve(now, raw, panel)

    def order(self, now: int, which: int, value: int) -> None:
        """One order of the operator, after advance has returned False."""
        self.at = now
        self.owed = True
        self.logic.moved = True
        give(self.logic, now, which & 63, min(value, VALUE_MAX), 0)
        if which == O_BOARD_FAULT and value >> 6 == F_OUT_OF_STEP:
            self.keeper.refused(now, value & 63)
        self.find_next()
        self.due = now

    def settle(self, now: int) -> None:
        """Last at an instant: the keeper may begin a pulse, stamped now."""
        self.turn(now)
        self.look()

    def turn(self, now: int) -> None:
        """The keeper's turn alone; look() is to follow, once a pulse that begins is handed over."""
        self.at = now
        self.owed = False
        if self.keeper.start(now):
            self.stale = True

    def look(self) -> None:
        """After turn(): what falls due next."""
        if self.stale:
            self.find_next()
        else:
            self.due = self.exact

    def late(self, now: int, gap: int) -> None:
        """The last scan was `gap` ms ago, too long: confirmations begin again; go on with advance(now, ...).

        What was due up to then is served first; what else fell due in the gap is served by the coming
        advance at its own time, but no pulse starts before now.
        """
        gap = min(gap, VALUE_MAX)
        before = (now - gap) & MASK
        while self.advance(before, self.raw, self.panel):
            pass
        if self.owed:
            self.settle(before)
        self.restart_confirmations(now)
        self.gap = gap
        self.logic.moved = True
        self.due = before  # so that the coming advance looks

    # -- serving --------------------------------------------------------------------------------------

    def _serve(self, now: int, raw: int, panel: int) -> bool:
        """As advance; `exact` is right here."""
        due = self.exact
        if not (now - due) & _HALF:
            if self.doubt and due == self.slow_due:
                self.logic.moved = True  # perhaps it is not due at all, or another comes first
                self.find_next()
                if self.owed or self.gap:
                    self.due = due  # the keeper's turn, or the gap, is still to come
                return True
            if self.owed and due != self.at and not self.gap:
                self.settle(self.at)  # the keeper's turn at the instant before
                return True
            self.at = due
            code = self.code
            if code < A_REST and code >= A_OPENING:
                self.confirm(due, code & 63, code >= A_HIT)
            else:
                self._serve_slow(due, code)
            self.owed = self.keeper.wants_turn()
            self.due = due
            self.stale = True  # what falls due next is looked for when the outputs of this are out
            return True
        if self.gap:
            self.journal.put(now, R_LATE, 0, self.gap)
            self.gap = 0
            self.at = self.due = now
            self.owed = True
            return True
        if self.owed and self.at != now:
            self.settle(self.at)
            return True
        if raw != self.raw:
            self.take_raw(now, raw)
        if panel != self.panel:
            self.take_panel(now, panel)
        return False

    def _serve_slow(self, due: int, code: int) -> None:
        self.logic.moved = True
        if code < A_REARM:
            self.keeper.serve(due)
        elif code < A_OPENING:
            self.rearm_end(due, code & 63)
        elif code < A_TIMER:
            self.rest_end(due, code & 63)
        elif code < A_KEEP_ALIVE:
            self.logic.timer_end(due, code & 63)
        else:
            self.keep_alive = (due + KEEP_ALIVE_MS) & MASK

    def find_next(self) -> None:
        """Find the earliest deadline; on a tie the lowest code: DESIGN's order, then file order."""
        if self.logic.moved:
            self._find_slow()
        best = self.slow_due
        code = self.slow_code
        raw = self.raw
        words = self.words
        self.stale = False
        if self.bouncing:
            self.date_edge()
        bits = raw ^ words[W_LEVEL]
        while bits:
            low = bits & -bits
            bits ^= low
            i = INDEX[low % 37]
            due = self.edge_due[i]
            if not (best - due) & _HALF:
                edge = A_HIT | i if raw & low else A_OPENING | i
                if due != best or edge < code:
                    best = due
                    code = edge
        panel = self.panel
        bits = panel ^ words[W_PANEL]
        while bits:
            low = bits & -bits
            bits ^= low
            i = INDEX[low % 37] + PANEL
            due = self.edge_due[i]
            if not (best - due) & _HALF:
                edge = A_HIT | i if panel & low else A_OPENING | i
                if due != best or edge < code:
                    best = due
                    code = edge
        self.code = code
        self.due = self.exact = best

    def _find_slow(self) -> None:
        """The earliest deadline of keeper, rearm, time at rest, timers and keep-alive."""
        self.doubt = False
        keeper = self.keeper
        logic = self.logic
        logic.moved = False
        if keeper.changed:
            keeper.plan_next(self.at)
        best = self.keep_alive + 1  # the last on a tie
        code = A_KEEP_ALIVE
        if keeper.busy and (keeper.due - best) & _HALF:
            best = keeper.due
            code = 0
        bits = self.rearming
        while bits:
            low = bits & -bits
            bits ^= low
            due = self.rearm_due[INDEX[low % 37]]
            if (due - best) & _HALF:
                best = due
                code = A_REARM | INDEX[low % 37]
        if not logic.frozen:
            bits = self.timing_rest
            while bits:
                low = bits & -bits
                bits ^= low
                due = self.rest_due[INDEX[low % 37]]
                if (due - best) & _HALF:
                    best = due
                    code = A_REST | INDEX[low % 37]
            bits = self.words[W_TIMER]
            while bits:
                low = bits & -bits
                bits ^= low
                due = logic.timer_due[INDEX[low % 37]]
                if (due - best) & _HALF:
                    best = due
                    code = A_TIMER | INDEX[low % 37]
        self.slow_code = code
        self.slow_due = best if code < A_KEEP_ALIVE else self.keep_alive
