"""The coil keeper: one pulse at a time; pause, recharge, heat budget, deferral, position contacts."""

from .logic import Logic
from .ring import HALF, INDEX, MASK
from .words import (
    C_UNMOVED,
    E_POSITION,
    EVENT_SHIFT,
    F_DEFERRED,
    M_MAINTENANCE,
    PLAN_LIMITS,
    PLAN_SUPPLIES,
    PLAN_TURNOUTS,
    R_CAUTION,
    R_DEFERRED,
    R_PULSE,
    R_PULSE_END,
    R_REFRESH,
    R_SUPPLY,
    W_KNOWN,
    W_POSITION,
    W_WANTED,
)

# READY: the lead is over; the pulse begins at the keeper's turn if the throw is still wanted.
IDLE, LEAD, READY, PULSE, TRAIL, PAUSE = 0, 1, 2, 3, 4, 5
# What falls due, in the order in which it is served at one instant.
D_PHASE, D_HEAT, D_RECHARGE, D_CONTACT, D_REFRESH, D_DEFERRAL = 0, 1, 2, 3, 4, 5
COILS_MAX = 16


class Keeper:
    """Serves throws. Rules never switch a coil; they only want, and the keeper does."""

    def __init__(self, plan: tuple, logic: Logic) -> None:
        self.logic = logic
        self.journal = logic.journal
        self.turnouts = plan[PLAN_TURNOUTS]
        self.supplies = plan[PLAN_SUPPLIES]
        self.pause_ms = plan[PLAN_LIMITS][1]
        self.defer_ms_max = plan[PLAN_LIMITS][2]
        self.phase = IDLE
        self.phase_due = 0
        self.pause_due = 0
        self.turnout = 0  # being thrown
        self.position = 0  # to where
        self.is_refresh = False
        self.heat = bytearray(COILS_MAX)
        self.hot = 0
        self.cool_due = [0] * COILS_MAX
        self.recharging = 0
        self.recharge_due = [0] * len(self.supplies)
        n = len(self.turnouts)
        self.waiting = 0  # for a contact to agree
        self.contact_due = [0] * n
        self.retried = 0
        self.sent = 0  # where the last pulse of each turnout sent it
        self.refresh_due = [0] * n
        self.deferred = 0
        self.deferral_due = [0] * n
        self.cool_ms = [1] * COILS_MAX
        for turnout in self.turnouts:
            self.cool_ms[turnout[0]] = self.cool_ms[turnout[1]] = turnout[7]
        self.supply_out = 0  # supply outputs that are closed
        self.pulse_coil = -1  # hand-over to the board: coil to pulse now; the taker sets -1
        self.pulse_ms = 0
        self.due = 0  # earliest of all; valid while `busy`
        self.busy = False
        self.changed = True  # since plan_next
        self._kind = D_PHASE
        self._index = 0

    # -- deadlines ------------------------------------------------------------------------------------

    def plan_next(self, base: int) -> None:
        """Find what falls due first after `base`; on a tie the order of the D_ constants, then file order."""
        self.changed = False
        best = HALF
        if self.phase != IDLE and self.phase != READY:
            best = (self.phase_due - base) & MASK
            self._kind = D_PHASE
        if self.hot:
            best = self._earlier(base, best, self.hot, self.cool_due, D_HEAT)
        if self.recharging:
            best = self._earlier(base, best, self.recharging, self.recharge_due, D_RECHARGE)
        if self.waiting:
            best = self._earlier(base, best, self.waiting, self.contact_due, D_CONTACT)
        if self.logic.refresh_held:
            best = self._earlier(base, best, self.logic.refresh_held, self.refresh_due, D_REFRESH)
        if self.deferred:
            best = self._earlier(base, best, self.deferred, self.deferral_due, D_DEFERRAL)
        self.busy = best != HALF
        self.due = (base + best) & MASK

    def _earlier(self, base: int, best: int, bits: int, due: list, kind: int) -> int:
        while bits:
            low = bits & -bits
            bits ^= low
            i = INDEX[low % 37]
            wait = (due[i] - base) & MASK
            if wait < best:
                best = wait
                self._kind = kind
                self._index = i
        return best

    def serve(self, now: int) -> None:
        """Serve the one thing that plan_next found."""
        self._changes()
        kind = self._kind
        i = self._index
        if kind == D_PHASE:
            self._phase_end(now)
        elif kind == D_HEAT:
            self.heat[i] -= 1
            self.cool_due[i] = (now + self.cool_ms[i]) & MASK
            if not self.heat[i]:
                self.hot &= ~(1 << i)
        elif kind == D_RECHARGE:
            self.recharging &= ~(1 << i)
        elif kind == D_CONTACT:
            self._contact_end(now, i)
        elif kind == D_REFRESH:
            self.logic.refresh_held &= ~(1 << i)
        else:
            self.deferred &= ~(1 << i)
            self.logic.raise_fault(now, F_DEFERRED, i)
            self.logic.gate(now)

    # -- one throw ------------------------------------------------------------------------------------

    def wants_turn(self) -> bool:
        """True when start() may find something to do."""
        phase = self.phase
        logic = self.logic
        if phase == IDLE:
            return (
                logic.words[W_KNOWN] != logic.all_turnouts
                or logic.refresh != 0
                or self.deferred != 0
                or logic.mode == M_MAINTENANCE
            )
        return phase == READY or self.deferred != 0 or logic.refresh != 0

    def start(self, now: int) -> bool:
        """Last at an instant: begin a throw or a refresh if there is one and nothing runs.

        True when a deadline may have changed.
        """
        logic = self.logic
        if self.deferred:
            self._changes()
            self.deferred &= logic.outstanding() & ~logic.thrown
        logic.thrown = 0
        if self.phase == READY:
            self._changes()
            if self._is_still_due():
                self._pulse(now)
                return True
            if self.is_refresh:
                self._skip(now, logic.refresh & 1 << self.turnout)
            self.pause_due = now
            self._open_supply(now, self.turnouts[self.turnout][3])
        if not logic.may_pulse():
            self.deferred = 0  # limits start afresh
            self._skip(now, logic.refresh)
        elif self.phase == IDLE:
            self._choose(now)
        return self.changed

    def _changes(self) -> None:
        """A deadline comes or goes: look anew before the next is served."""
        self.changed = self.logic.moved = True

    def _choose(self, now: int) -> None:
        """The first throw that may be; else the first refresh."""
        logic = self.logic
        outstanding = logic.outstanding()
        recharging = self.recharging
        todo = outstanding & ~(self.waiting | logic.strayed | logic.unmoved)
        while todo:
            low = todo & -todo
            todo ^= low
            i = INDEX[low % 37]
            turnout = self.turnouts[i]
            position = logic.words[W_WANTED] >> i & 1
            if turnout[4] & outstanding or recharging >> turnout[3] & 1:
                continue
            if self.heat[turnout[position]] < turnout[6]:
                self._begin(now, i, position, False)
                return
            if not self.deferred & low:
                self._changes()
                self.deferred |= low
                self.deferral_due[i] = (now + self.defer_ms_max) & MASK
                self.journal.put(now, R_DEFERRED, i, position)
        if logic.refresh:
            self._start_refresh(now)

    def _is_still_due(self) -> bool:
        """After the lead: stop, another order or a contact may have come between."""
        logic = self.logic
        bit = 1 << self.turnout
        if not logic.may_pulse() or self.turnouts[self.turnout][4] & logic.outstanding():
            return False
        if self.is_refresh:
            return logic.refresh & logic.words[W_KNOWN] & bit != 0
        if not logic.outstanding() & bit or (logic.strayed | logic.unmoved) & bit:
            return False
        return logic.words[W_WANTED] >> self.turnout & 1 == self.position

    def _start_refresh(self, now: int) -> None:
        logic = self.logic
        outstanding = logic.outstanding()
        todo = logic.refresh & logic.words[W_KNOWN]
        while todo:
            low = todo & -todo
            todo ^= low
            i = INDEX[low % 37]
            turnout = self.turnouts[i]
            position = logic.words[W_POSITION] >> i & 1
            if turnout[4] & outstanding or self.recharging >> turnout[3] & 1:
                continue
            if self.heat[turnout[position]] >= turnout[6]:
                self._skip(now, low)
                continue
            self._begin(now, i, position, True)
            return

    def _skip(self, now: int, requests: int) -> None:
        """Refreshes that may not be: dropped and recorded."""
        self.logic.refresh &= ~requests
        while requests:
            low = requests & -requests
            requests ^= low
            self.journal.put(now, R_REFRESH, INDEX[low % 37], 1)

    def _begin(self, now: int, i: int, position: int, is_refresh: bool) -> None:
        self.changed = self.logic.moved = True
        self.deferred &= ~(1 << i)
        self.turnout = i
        self.position = position
        self.is_refresh = is_refresh
        supply = self.turnouts[i][3]
        row = self.supplies[supply]
        if row[3]:
            self.supply_out |= 1 << supply
            self.journal.put(now, R_SUPPLY, supply, 1)
        if row[1]:
            self.phase = LEAD
            self.phase_due = (now + row[1]) & MASK
        else:
            self._pulse(now)

    def _pulse(self, now: int) -> None:
        i = self.turnout
        turnout = self.turnouts[i]
        position = self.position
        if self.is_refresh:
            self.logic.refresh &= ~(1 << i)
            self.logic.refresh_held |= 1 << i
            self.refresh_due[i] = (now + turnout[5]) & MASK
        else:
            self.logic.unknow(i)
            sent = self.sent
            if sent >> i & 1 != position:
                self.retried &= ~(1 << i)
                self.sent = sent ^ 1 << i
        coil = turnout[position]
        self.heat[coil] += 1
        hot = self.hot
        if not hot >> coil & 1:
            self.hot = hot | 1 << coil
            self.cool_due[coil] = (now + turnout[7]) & MASK
        pulse_ms = turnout[2]
        self.phase = PULSE
        self.phase_due = (now + pulse_ms) & MASK
        self.journal.put(now, R_PULSE, coil, pulse_ms)
        self.pulse_coil = coil
        self.pulse_ms = pulse_ms

    def _phase_end(self, now: int) -> None:
        if self.phase == LEAD:
            self.phase = READY
        elif self.phase == PULSE:
            self._pulse_end(now)
            self._arrive(now, self.turnout)
        elif self.phase == TRAIL:
            self._open_supply(now, self.turnouts[self.turnout][3])
        else:
            self.phase = IDLE

    def _pulse_end(self, now: int) -> None:
        turnout = self.turnouts[self.turnout]
        supply = turnout[3]
        self.journal.put(now, R_PULSE_END, turnout[self.position], 0)
        if self.supplies[supply][0]:
            self.recharging |= 1 << supply
            self.recharge_due[supply] = (now + self.supplies[supply][0]) & MASK
        self.pause_due = (now + self.pause_ms) & MASK
        if self.supplies[supply][2] and self.supplies[supply][3]:
            self.phase = TRAIL
            self.phase_due = (now + self.supplies[supply][2]) & MASK
        else:
            self._open_supply(now, supply)

    def refused(self, now: int, i: int) -> None:
        """The hardware did not take the pulse of turnout i: it ends, and nothing has moved."""
        if self.phase == PULSE and self.turnout == i:
            self._changes()
            self._pulse_end(now)

    def _open_supply(self, now: int, supply: int) -> None:
        if self.supply_out >> supply & 1:
            self.supply_out &= ~(1 << supply)
            self.journal.put(now, R_SUPPLY, supply, 0)
        if (self.pause_due - now) & MASK < HALF and self.pause_due != now:
            self.phase = PAUSE
            self.phase_due = self.pause_due
        else:
            self.phase = IDLE

    # -- position contacts ------------------------------------------------------------------------------

    def _arrive(self, now: int, i: int) -> None:
        """The pulse is over: without a contact the turnout lies there; with one it must say so in time."""
        logic = self.logic
        if not logic.has_contact(i):
            if not self.is_refresh:
                logic.in_position(now, i, self.position)
            return
        if logic.reported(i) == self.position:
            self.retried &= ~(1 << i)
            if not self.is_refresh:
                logic.in_position(now, i, self.position)
            return
        if self.is_refresh:
            logic.stray(now, i)
            logic.event(now, E_POSITION << EVENT_SHIFT | i)
            return
        self.waiting |= 1 << i
        self.contact_due[i] = (now + self.turnouts[i][10]) & MASK

    def contact_changed(self, now: int, contact: int) -> int:
        """A confirmed change of a contact; returns the turnout that has just come into position, or -1."""
        logic = self.logic
        for i in range(len(self.turnouts)):
            if self.turnouts[i][8] != contact and self.turnouts[i][9] != contact:
                continue
            if not logic.started and not logic.maintenance:
                continue
            if i == self.turnout and self.phase == PULSE:
                continue  # what it says at the end of the pulse counts
            position = logic.reported(i)
            bit = 1 << i
            if self.waiting & bit:
                if position == self.sent >> i & 1:
                    self._changes()
                    self.waiting &= ~bit
                    self.retried &= ~bit
                    return i
            elif logic.physical & bit and position != logic.words[W_POSITION] >> i & 1:
                logic.stray(now, i)
        return -1

    def _contact_end(self, now: int, i: int) -> None:
        """No agreement in time: one retry, then a caution, and no pulse until acknowledged."""
        bit = 1 << i
        self.waiting &= ~bit
        logic = self.logic
        position = logic.reported(i)
        if position >= 0 and position == logic.words[W_WANTED] >> i & 1:
            logic.in_position(now, i, position)  # asked back to where it still lies
        elif not self.retried & bit:
            self.retried |= bit
        elif not logic.unmoved & bit:
            self.retried &= ~bit
            logic.unmoved |= bit
            self.journal.put(now, R_CAUTION, i, C_UNMOVED)
            logic.gate(now)
