"""Inputs from raw word to events: confirming, opening, rearm, chatter, magnet at rest."""

from .journal import VALUE_MAX, Journal
from .keeper import Keeper
from .logic import Logic
from .orders import give
from .ring import INDEX, MASK, const
from .words import (
    C_REST,
    E_HIT,
    E_OFF,
    E_ON,
    E_OPENING,
    E_POSITION,
    E_REARM,
    E_REST,
    E_SUPPRESSED,
    EVENT_SHIFT,
    IN_BUTTON,
    IN_SENSOR,
    NONE,
    O_FROM_BUTTON,
    PLAN_BUTTONS,
    PLAN_GPIO,
    PLAN_PANEL,
    PLAN_POWER,
    R_CAUTION,
    R_CHANGE,
    R_CHATTER,
    R_EDGE,
    R_HIT,
    R_OPENING,
    R_POSITION,
    R_POWER,
    R_REST,
    W_LEVEL,
    W_PANEL,
    W_RESTING,
)

PANEL = const(30)  # first input of the panel word
_MASK = const(0x1FFFFFFF)  # ring.MASK and HALF; x & _HALF is not 0 where x is before 0
_HALF = const(0x10000000)
# What is due at one instant, in the order in which it is served: kind | index, the lowest first.
A_KEEPER = const(0)
A_REARM = const(64)
A_OPENING = const(128)
A_HIT = const(192)
A_REST = const(256)
A_TIMER = const(320)
A_KEEP_ALIVE = const(384)


class Edges:
    """The edge layer. Deadlines only: a pending confirmation is a raw bit that differs from the level bit."""

    def __init__(self, plan: tuple, logic: Logic, keeper: Keeper, journal: Journal) -> None:
        self.logic = logic
        self.words = logic.words
        self.keeper = keeper
        self.journal = journal
        gpio = plan[PLAN_GPIO]
        panel = plan[PLAN_PANEL]
        self.gpio = gpio
        # When each input is confirmed; between GPIO and panel there may be numbers of no input.
        self.edge_due = [0] * (PANEL + len(panel) if panel else len(gpio))
        self.rearm_due = [0] * len(gpio)
        self.rest_due = [0] * len(gpio)  # while frozen: what remains
        self.chatter = [0] * len(gpio)
        self.raw = 0
        self.panel = 0
        self.armed = 0  # sensors whose next closing is a hit
        self.rearming = 0
        self.timing_rest = 0
        self.due = 0  # next deadline of everything; may be early, never late
        self.stale = True  # an edge came since `due` was worked out: it may be early
        # The GPIO contact (a bit) of which `scan` takes more edges as mere records: `due` is early enough for
        # them. When the last was, which date_edge makes a deadline when somebody looks; and its record.
        self.bouncing = 0
        self.edge_at = 0
        self.edge_record = 0
        # The earliest deadline of all but the inputs: what it is of, and whether one was added or served
        # since (it may be late: look at once) or dropped (it may be early: look when it comes).
        self.slow_due = 0
        self.slow_code = A_KEEP_ALIVE
        self.logic.moved = True
        self.doubt = False

    def begin_levels(self, now: int, raw: int, panel: int) -> None:
        """First sample after a reset: levels without events; a magnet that lies there makes no hit."""
        self.raw = self.words[W_LEVEL] = raw
        self.panel = self.words[W_PANEL] = panel
        for i in range(len(self.gpio)):
            if self.gpio[i][0] == IN_SENSOR and not raw >> i & 1:
                self.armed |= 1 << i
        power = self.logic.plan[PLAN_POWER]
        if power != NONE:
            self._freeze(now, not self.logic.is_closed(power))

    # -- raw word -------------------------------------------------------------------------------------

    def take_raw(self, now: int, raw: int) -> int:
        """GPIO inputs have changed: record each edge, set or drop its confirmation. Gives the last record."""
        if self.bouncing:
            self.date_edge()
            self.bouncing = 0
        self.stale = True
        changed = raw ^ self.raw
        self.raw = raw
        pending = raw ^ self.words[W_LEVEL]
        # Journal.put in place: most records are edges, and a call costs as much. R_EDGE is 0
        journal = self.journal
        while True:
            low = changed & -changed
            i = INDEX[low % 37]
            record = i << 18 | 1 if raw & low else i << 18
            n = journal.next
            journal.times[n] = now
            journal.data[n] = record
            n += 1
            journal.next = n if n != journal.stop else journal.turned(n)
            if pending & low:
                due = (now + self.gpio[i][1 if raw & low else 2]) & _MASK
                self.edge_due[i] = due
                if (due - self.due) & _HALF:
                    self.due = due
            if changed == low:
                break
            changed ^= low
        return record

    def begin_bounce(self, now: int, raw: int) -> None:
        """As take_raw; the contact may bounce."""
        self.edge_record = self.take_raw(now, raw)
        self.bouncing = 1 << (self.edge_record >> 18)
        self.edge_at = now

    def date_edge(self) -> None:
        """Work out when the contact that bounces is confirmed; its next edge may need an earlier `due`."""
        low = self.bouncing
        i = self.edge_record >> 18
        self.edge_due[i] = (self.edge_at + self.gpio[i][1 if self.raw & low else 2]) & _MASK
        if not (self.raw ^ self.words[W_LEVEL]) & low:
            self.bouncing = 0

    def take_panel(self, now: int, panel: int) -> None:
        """The panel inputs as sampled now."""
        self.stale = True
        changed = panel ^ self.panel
        self.panel = panel
        while changed:
            low = changed & -changed
            changed ^= low
            i = INDEX[low % 37] + PANEL
            closed = 1 if panel & low else 0
            self.journal.put(now, R_EDGE, i, closed)
            due = (now + self.wait_ms(i, closed)) & MASK
            self.edge_due[i] = due
            if (due - self.due) & _HALF:
                self.due = due

    def wait_ms(self, i: int, closed: int) -> int:
        """How long input i must stay closed, or open, to be confirmed."""
        row = self.gpio[i] if i < PANEL else self.logic.plan[PLAN_PANEL][i - PANEL]
        return row[1] if closed else row[2]

    def restart_confirmations(self, now: int) -> None:
        """A gap in the scans: what was being confirmed or rearmed begins again."""
        self.bouncing = 0
        self.stale = True
        for i in range(len(self.gpio)):
            self.edge_due[i] = (now + self.wait_ms(i, self.raw >> i & 1)) & MASK
            self.rearm_due[i] = (now + self.gpio[i][3]) & MASK
        for i in range(PANEL, len(self.edge_due)):
            self.edge_due[i] = (now + self.wait_ms(i, self.panel >> (i - PANEL) & 1)) & MASK

    def _add(self, due: int, code: int) -> None:
        """One deadline more."""
        if (due - self.slow_due) & _HALF:
            self.slow_due = due
            self.slow_code = code
        elif due == self.slow_due:
            self.doubt = True  # which of the two comes first is looked up then

    # -- what falls due -------------------------------------------------------------------------------

    def rearm_end(self, now: int, i: int) -> None:
        """Open long enough: the sensor can make a hit again, and what it chattered is told."""
        bit = 1 << i
        self.rearming &= ~bit
        self.timing_rest &= ~bit
        self.doubt = True
        self.armed |= bit
        if self.chatter[i]:
            self.journal.put(now, R_CHATTER, i, self.chatter[i])
            self.chatter[i] = 0
        self.logic.clear_resting(now, i)
        self.logic.event(now, E_REARM << EVENT_SHIFT | i)

    def rest_end(self, now: int, i: int) -> None:
        """Closed longer than a passing train could hold it: a caution that names the sensor."""
        bit = 1 << i
        self.timing_rest &= ~bit
        self.words[W_RESTING] |= bit
        self.logic.resting |= bit
        self.journal.put(now, R_REST, i, 0)
        self.journal.put(now, R_CAUTION, i, C_REST)
        self.logic.event(now, E_REST << EVENT_SHIFT | i)

    def confirm(self, now: int, i: int, closed: int) -> None:
        """The contact has been closed (or open) long enough: its level changes and its event is served."""
        self.bouncing = 0  # edge_due of whatever bounces is right when something is served
        if i < PANEL:
            bit = 1 << i
            self.words[W_LEVEL] ^= bit
            row = self.gpio[i]
        else:
            bit = 1 << (i - PANEL)
            self.words[W_PANEL] ^= bit
            row = self.logic.plan[PLAN_PANEL][i - PANEL]
        kind = row[0]
        if kind == IN_SENSOR:
            if closed:
                self._sensor_closes(now, i, bit, row[4])
            else:
                self._sensor_opens(now, i, bit, row[3])
        elif kind == IN_BUTTON:
            self.journal.put(now, R_HIT if closed else R_OPENING, i, 0)
            self.logic.contact(now, (E_HIT if closed else E_OPENING) << EVENT_SHIFT | i)
            if closed:
                self._button(now, i)
        else:
            self._level(now, i, closed)

    def _sensor_closes(self, now: int, i: int, bit: int, rest_ms: int) -> None:
        if not self.armed & bit:
            self.rearming &= ~bit
            self.doubt = True
            if self.chatter[i] < VALUE_MAX:
                self.chatter[i] += 1
            self.logic.contact(now, E_SUPPRESSED << EVENT_SHIFT)
            return
        self.armed &= ~bit
        if rest_ms:
            self.timing_rest |= bit
            if self.logic.frozen:
                self.rest_due[i] = rest_ms
            else:
                due = (now + rest_ms) & _MASK
                self.rest_due[i] = due
                self._add(due, A_REST | i)
        self.journal.put(now, R_HIT, i, 0)
        self.logic.contact(now, E_HIT << EVENT_SHIFT | i)

    def _sensor_opens(self, now: int, i: int, bit: int, rearm_ms: int) -> None:
        self.journal.put(now, R_OPENING, i, 0)
        if rearm_ms:
            if not self.armed & bit:
                self.rearming |= bit
                due = (now + rearm_ms) & _MASK
                self.rearm_due[i] = due
                self._add(due, A_REARM | i)
            self.logic.contact(now, E_OPENING << EVENT_SHIFT | i)
        else:
            self.logic.contact(now, E_OPENING << EVENT_SHIFT | i)
            self.rearm_end(now, i)

    def _level(self, now: int, i: int, closed: int) -> None:
        self.journal.put(now, R_CHANGE, i, closed)
        if i == self.logic.plan[PLAN_POWER]:
            self._freeze(now, not closed)
            self.journal.put(now, R_POWER, 0, closed)
        turnout = self.keeper.contact_changed(now, i)  # -1 for an input that is no contact, too
        if turnout >= 0:
            position = self.logic.reported(turnout)
            self.logic.lay(turnout, position)
            self.journal.put(now, R_POSITION, turnout, position)
        self.logic.event(now, (E_ON if closed else E_OFF) << EVENT_SHIFT | i)
        if turnout >= 0:
            self.logic.event(now, E_POSITION << EVENT_SHIFT | turnout)

    def _button(self, now: int, i: int) -> None:
        orders = self.logic.plan[PLAN_BUTTONS]
        for j in range(0, len(orders), 3):
            if orders[j] == i:
                give(self.logic, now, orders[j + 1], orders[j + 2], O_FROM_BUTTON)

    def _freeze(self, now: int, absent: bool) -> None:
        """Track power went or came: rule timers and times at rest are held."""
        if absent == self.logic.frozen:
            return
        self.logic.moved = True
        self.logic.freeze(now, absent)
        for i in range(len(self.rest_due)):
            due = self.rest_due[i]
            self.rest_due[i] = (due - now if absent else due + now) & MASK
