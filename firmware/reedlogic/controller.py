"""The whole logic behind one door: what falls due is served one thing at a time, in one fixed order."""

from .edges import Edges
from .journal import VALUE_MAX, Journal
from .keeper import READY, Keeper
from .logic import Logic
from .orders import give
from .ring import HALF, INDEX, KEEP_ALIVE_MS, MASK, const
from .words import M_MAINTENANCE, R_LATE, W_KNOWN, W_LEVEL, W_PANEL, W_TIMER

# What is due at one instant, in the order in which it is served.
_MASK = const(0x1FFFFFFF)  # ring.MASK and HALF: MicroPython puts only a module's own constants in place
_HALF = const(0x10000000)
A_KEEPER, A_REARM, A_OPENING, A_HIT, A_REST, A_TIMER, A_KEEP_ALIVE = 0, 1, 2, 3, 4, 5, 6


class Controller(Edges):
    """Give it the time and the inputs; it decides, keeps the journal and says what the outputs are.

    One scan is: advance(now, raw, panel) until it returns False, then order(...) for each order, then
    settle(now). `now` is milliseconds on the ring of 2**29, raw and panel are words of closed contacts.
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
        self._class = A_KEEP_ALIVE
        self._index = 0
        # The earliest deadline of all but the inputs; kept until something was served.
        self.changed = True
        self.slow_due = 0
        self.slow_class = A_KEEP_ALIVE
        self.slow_index = 0

    @property
    def feeds(self) -> int:
        """Word of the feed outputs: blocks, then the track feed."""
        return self.logic.feeds

    @property
    def lamps(self) -> int:
        """Word of the lamp outputs."""
        return self.logic.lamps

    @property
    def supplies(self) -> int:
        """Word of the supply outputs that are closed."""
        return self.keeper.supply_out

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
                while self._serve(now, raw, panel):
                    pass
                if self.owed:
                    self.settle(now)
                return
        if raw != self.raw:
            self.take_raw(now, raw)
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
        self.changed = True
        give(self.logic, now, which & 63, min(value, VALUE_MAX), 0)
        self.find_next()
        self.due = now

    def settle(self, now: int) -> None:
        """Last at an instant: the keeper may begin a pulse, stamped now."""
        self.at = now
        self.owed = False
        logic = self.logic
        if (
            (
                logic.words[W_KNOWN] != logic.all_turnouts
                or logic.refresh
                or self.keeper.deferred
                or self.keeper.phase == READY
                or logic.mode == M_MAINTENANCE
            )
            and self.keeper.start(now)
            or self.stale
        ):
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
        self.changed = self.stale = True
        self.due = before  # so that the coming advance looks

    # -- serving --------------------------------------------------------------------------------------

    def _serve(self, now: int, raw: int, panel: int) -> bool:
        """As advance; `exact` is not stale here."""
        due = self.exact
        if (now - due) & MASK < HALF:
            if self.owed and due != self.at and not self.gap:
                self.settle(self.at)  # the keeper's turn at the instant before
                return True
            self.at = due
            self.owed = True
            self._serve_due(due)
            self.find_next()
            self.due = due
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

    def _serve_due(self, due: int) -> None:
        self.changed = True
        kind = self._class
        i = self._index
        if kind == A_HIT or kind == A_OPENING:
            self.confirm(due, i, kind - A_OPENING)
        elif kind == A_REARM:
            self.rearm_end(due, i)
        elif kind == A_REST:
            self.rest_end(due, i)
        elif kind == A_TIMER:
            self.logic.timer_end(due, i)
        elif kind == A_KEEPER:
            self.keeper.serve(due)
        else:
            self.keep_alive = (due + KEEP_ALIVE_MS) & MASK

    def find_next(self) -> None:
        """Find the earliest deadline; on a tie the order of the A_ constants, then file order."""
        self.stale = False
        base = self.at
        if self.changed or self.keeper.changed:
            self._find_slow(base)
        best = (self.slow_due - base) & _MASK
        kind = self.slow_class
        index = self.slow_index
        raw = self.raw
        bits = raw ^ self.words[W_LEVEL]
        due = self.edge_due
        while bits:
            low = bits & -bits
            bits ^= low
            i = INDEX[low % 37]
            wait = (due[i] - base) & _MASK
            if wait <= best:
                edge = A_HIT if raw & low else A_OPENING
                if wait < best or edge < kind:
                    best = wait
                    kind = edge
                    index = i
        bits = self.panel ^ self.words[W_PANEL]
        while bits:
            low = bits & -bits
            bits ^= low
            i = INDEX[low % 37] + 30
            wait = (due[i] - base) & _MASK
            if wait <= best:
                edge = A_HIT if self.panel & low else A_OPENING
                if wait < best or edge < kind:
                    best = wait
                    kind = edge
                    index = i
        self._class = kind
        self._index = index
        self.due = self.exact = (base + best) & _MASK

    def _find_slow(self, base: int) -> None:
        """The earliest deadline of keeper, rearm, time at rest, timers and keep-alive."""
        self.changed = False
        keeper = self.keeper
        if keeper.changed:
            keeper.plan_next(base)
        best = HALF
        if keeper.busy:
            best = (keeper.due - base) & MASK
            self.slow_class = A_KEEPER
        if self.rearming:
            best = self._earlier(base, best, self.rearming, self.rearm_due, A_REARM)
        if not self.logic.frozen:
            if self.timing_rest:
                best = self._earlier(base, best, self.timing_rest, self.rest_due, A_REST)
            if self.words[W_TIMER]:
                best = self._earlier(base, best, self.words[W_TIMER], self.logic.timer_due, A_TIMER)
        wait = (self.keep_alive - base) & MASK
        if wait < best:
            best = wait
            self.slow_class = A_KEEP_ALIVE
        self.slow_due = (base + best) & MASK

    def _earlier(self, base: int, best: int, bits: int, due: list, kind: int) -> int:
        while bits:
            low = bits & -bits
            bits ^= low
            i = INDEX[low % 37]
            wait = (due[i] - base) & MASK
            if wait < best:
                best = wait
                self.slow_class = kind
                self.slow_index = i
        return best
