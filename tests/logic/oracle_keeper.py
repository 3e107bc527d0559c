"""Oracle, coil keeper: one pulse at a time, pause, heat, recharge, deferral, refresh."""

from reedlogic import words as w


class Keeper:
    def __init__(self, whole, plan: tuple) -> None:  # type: ignore[no-untyped-def]
        self.whole = whole
        self.plan = plan
        self.turnouts = plan[7]
        count = range(len(self.turnouts))
        self.wanted = dict.fromkeys(count, 0)
        self.position = dict.fromkeys(count, 0)
        self.sure: set[int] = set()  # physically known
        self.running: tuple[int, int, bool, int] | None = None  # turnout, side, refresh, end
        self.pause_end: int | None = None
        self.lead: tuple[int, int, bool, int] | None = None  # turnout, side, refresh, end
        self.trail: tuple[int, int] | None = None  # supply, end
        self.closed: set[int] = set()  # supplies
        self.heat: dict[int, int] = {}  # coil -> pulses not yet cooled
        self.cool: dict[int, int] = {}  # coil -> when the next one goes
        self.recharge: dict[int, int] = {}  # supply -> free again
        self.deferred: dict[int, int] = {}  # turnout -> limit
        self.requests: set[int] = set()
        self.quiet: dict[int, int] = {}  # turnout -> no refresh request counts until then

    def known(self, turnout: int) -> bool:
        return turnout in self.sure and self.wanted[turnout] == self.position[turnout]

    def outstanding(self) -> list[int]:
        if not self.whole.started:
            return []
        return [i for i in range(len(self.turnouts)) if not self.known(i)]

    def dues(self, t: int) -> None:
        if self.running and self.running[3] == t:
            self.pulse_end(t)
        self.trail_end(t)
        if self.pause_end == t:
            self.pause_end = None
        for coil in sorted(self.cool):
            if self.cool[coil] == t:
                self.heat[coil] -= 1
                self.cool[coil] += self.turnout_of(coil)[7]
                if not self.heat[coil]:
                    del self.cool[coil]
        self.quiet = {turnout: until for turnout, until in self.quiet.items() if until > t}
        for turnout in sorted(self.deferred):
            if self.deferred.get(turnout) == t:
                del self.deferred[turnout]
                self.whole.rules.fault(t, turnout, w.F_DEFERRED)
                self.whole.rules.outputs(t)

    def turnout_of(self, coil: int) -> tuple:
        return next(x for x in self.turnouts if coil in x[:2])

    def pulse_end(self, t: int, is_refused: bool = False) -> None:
        assert self.running
        turnout, side, refresh, _ = self.running
        x = self.turnouts[turnout]
        self.running = None
        self.pause_end = t + self.plan[0][1]
        self.recharge[x[3]] = t + self.plan[8][x[3]][0]
        self.whole.record(t, w.R_PULSE_END, x[side])
        if x[3] in self.closed:
            self.trail = (x[3], t + self.plan[8][x[3]][2])
            self.trail_end(t)
        if refresh or is_refused:
            return
        changed = self.position[turnout] != side
        was_known = self.known(turnout)
        self.position[turnout] = side
        self.sure.add(turnout)
        if changed or self.known(turnout) and not was_known:
            self.whole.record(t, w.R_POSITION, turnout, side)
            self.whole.rules.event(t, w.E_POSITION << w.EVENT_SHIFT | turnout)

    def trail_end(self, t: int) -> None:
        if self.trail and self.trail[1] == t:
            self.closed.discard(self.trail[0])
            self.whole.record(t, w.R_SUPPLY, self.trail[0], 0)
            self.trail = None

    def asked(self, t: int, turnout: int) -> None:
        """An event rule threw the turnout to where it lies and is wanted."""
        if turnout in self.quiet or turnout in self.requests:
            return
        self.whole.record(t, w.R_REFRESH, turnout, 0)
        self.requests.add(turnout)

    def serve(self, t: int) -> None:
        """Last at an instant: a pulse may start."""
        waiting = self.outstanding()
        self.deferred = {turnout: limit for turnout, limit in self.deferred.items() if turnout in waiting}
        self.requests = {turnout for turnout in self.requests if turnout in self.sure}
        if self.lead and self.lead[3] <= t:
            turnout, side, refresh, _ = self.lead
            self.lead = None
            if self.still_due(turnout, side, refresh):
                self.pulse(t, turnout, side, refresh)
                return
            if refresh and turnout in self.requests:
                self.requests.discard(turnout)
                self.whole.record(t, w.R_REFRESH, turnout, 1)
            self.closed.discard(self.turnouts[turnout][3])
            self.whole.record(t, w.R_SUPPLY, self.turnouts[turnout][3], 0)
        if self.whole.mode != w.M_RUNNING:
            self.deferred = {}  # limits start afresh
            for turnout in sorted(self.requests):
                self.whole.record(t, w.R_REFRESH, turnout, 1)
            self.requests = set()
            return
        if self.running or self.pause_end is not None or self.lead or self.trail:
            return
        for turnout in waiting:
            if any(self.turnouts[turnout][4] >> other & 1 for other in waiting):
                continue
            side = self.wanted[turnout]
            if self.recharge.get(self.turnouts[turnout][3], t) > t:
                continue
            if self.too_hot(turnout, side):
                if turnout not in self.deferred:
                    self.whole.record(t, w.R_DEFERRED, turnout, side)
                    self.deferred[turnout] = t + self.plan[0][2]
                continue
            self.begin(t, turnout, side, refresh=False)
            return
        self.refresh(t, waiting)

    def too_hot(self, turnout: int, side: int) -> bool:
        return self.heat.get(self.turnouts[turnout][side], 0) >= self.turnouts[turnout][6]

    def refresh(self, t: int, waiting: list[int]) -> None:
        for turnout in sorted(self.requests):
            if turnout in waiting or any(self.turnouts[turnout][4] >> other & 1 for other in waiting):
                continue
            if self.recharge.get(self.turnouts[turnout][3], t) > t:
                continue
            if self.too_hot(turnout, self.wanted[turnout]):
                self.requests.discard(turnout)
                self.whole.record(t, w.R_REFRESH, turnout, 1)
                continue
            self.begin(t, turnout, self.wanted[turnout], refresh=True)
            return

    def still_due(self, turnout: int, side: int, refresh: bool) -> bool:
        """After a lead: is the pulse for which the supply was closed still wanted?"""
        waiting = self.outstanding()
        if self.whole.mode != w.M_RUNNING or any(self.turnouts[turnout][4] >> i & 1 for i in waiting):
            return False
        if refresh:
            return self.known(turnout) and turnout in self.requests
        return turnout in waiting and self.wanted[turnout] == side

    def begin(self, t: int, turnout: int, side: int, refresh: bool) -> None:
        """Close the supply; the pulse comes at once or after the lead."""
        self.deferred.pop(turnout, None)
        supply = self.turnouts[turnout][3]
        _, lead, _, output = self.plan[8][supply]
        if output:
            self.closed.add(supply)
            self.whole.record(t, w.R_SUPPLY, supply, 1)
        if lead:
            self.lead = (turnout, side, refresh, t + lead)
        else:
            self.pulse(t, turnout, side, refresh)

    def pulse(self, t: int, turnout: int, side: int, refresh: bool) -> None:
        if refresh:
            self.quiet[turnout] = t + self.turnouts[turnout][5]
            self.requests.discard(turnout)
        else:
            self.sure.discard(turnout)
        x = self.turnouts[turnout]
        coil = x[side]
        self.whole.record(t, w.R_PULSE, coil, x[2])
        self.running = (turnout, side, refresh, t + x[2])
        if not self.heat.get(coil):
            self.cool[coil] = t + x[7]
        self.heat[coil] = self.heat.get(coil, 0) + 1
