"""Watches the records of a run for what the coil keeper and the feed gate must never do, or never omit."""

from reedlogic import words as w


class KeeperWatch:
    """Fed with every record in order, and told when an instant is over; keeps its own books."""

    def __init__(self, plan: tuple) -> None:
        self.limits, self.turnouts, self.supplies = plan[0], plan[7], plan[8]
        self.of_coil = {coil: i for i, x in enumerate(self.turnouts) for coil in x[:2]}
        self.running: tuple[int, int] | None = None  # coil, end
        self.free = 0  # the pause is over
        self.charged = dict.fromkeys(range(len(self.supplies)), 0)
        self.closed: dict[int, int] = {}  # supply output -> since
        self.pulses: dict[int, list[int]] = {coil: [] for coil in self.of_coil}
        self.waits: dict[int, int] = {}  # turnout -> its contact may still come
        self.doubtful: set[tuple[int, int]] = set()  # (turnout, kind of caution)
        self.put_off: dict[int, int] = {}  # deferred turnout -> since
        self.mode = w.M_BEFORE
        self.now = 0
        self.refused: tuple[int, int] | None = None  # time, turnout: the board could not hand a pulse over

    def record(self, t: int, kind: int, which: int, value: int) -> None:
        if t > self.now and self.mode not in (w.M_RUNNING, w.M_MAINTENANCE):
            self.put_off.clear()  # limits start afresh after a stop that outlasts its instant
        self.now = t
        if kind == w.R_PULSE:
            self.pulse(t, which, value)
        elif kind == w.R_PULSE_END:
            turnout = self.of_coil[which]
            is_refused = self.refused == (t, turnout) and self.running and self.running[0] == which
            assert is_refused or self.running == (which, t), (
                f"pulse of coil {which} ends at {t}: {self.running}"
            )
            self.running = None
            supply = self.turnouts[turnout][3]
            self.free = t + max(self.limits[1], self.supplies[supply][2])
            self.charged[supply] = t + self.supplies[supply][0]
            if is_refused:
                return
            if self.turnouts[turnout][8] != w.NONE or self.turnouts[turnout][9] != w.NONE:
                self.waits[turnout] = t + self.turnouts[turnout][10]
        elif kind == w.R_SUPPLY and value:
            assert self.running is None and which not in self.closed
            self.closed[which] = t
        elif kind == w.R_SUPPLY:
            assert not (self.running and self.turnouts[self.of_coil[self.running[0]]][3] == which)
            del self.closed[which]
        elif kind in (w.R_CAUTION, w.R_CLEAR) and value in (w.C_STRAYED, w.C_UNMOVED):
            (self.doubtful.add if kind == w.R_CAUTION else self.doubtful.discard)((which, value))
        elif kind == w.R_DEFERRED:
            assert self.heat(t, self.turnouts[which][value]) >= self.turnouts[which][6], (
                f"{which} deferred, cool"
            )
            self.put_off[which] = t
        elif kind == w.R_THROW:
            self.put_off.pop(which, None)
        elif kind == w.R_ORDER and which == w.O_BOARD_FAULT and value >> 6 == w.F_OUT_OF_STEP:
            self.refused = (t, value & 63)
        elif kind == w.R_MODE:
            self.mode = value
        elif kind == w.R_FAULT and value == w.F_DEFERRED:
            assert self.put_off.pop(which) + self.limits[2] == t, f"fault of turnout {which} at {t}"

    def pulse(self, t: int, coil: int, length: int) -> None:
        turnout = self.of_coil[coil]
        _, _, pulse_ms, supply, _, _, pulses, cool, *_ = self.turnouts[turnout]
        assert length == pulse_ms, f"coil {coil} pulsed {length} ms"
        assert self.running is None, f"coil {coil} pulsed at {t} beside {self.running}"
        assert t >= self.free, f"coil {coil} pulsed at {t}, pause until {self.free}"
        assert t >= self.charged[supply], f"coil {coil} pulsed at {t}, supply {supply} is not charged"
        if self.supplies[supply][3]:
            assert t >= self.closed[supply] + self.supplies[supply][1], f"coil {coil}: lead too short"
        assert turnout not in {doubtful for doubtful, _ in self.doubtful}, f"coil {coil}: not acknowledged"
        times = [*self.pulses[coil], t]
        for i, first in enumerate(times):
            allowed = pulses + (t - first) // cool
            assert len(times) - i <= allowed, f"coil {coil}: {len(times) - i} pulses within {t - first} ms"
        self.pulses[coil].append(t)
        self.running = (coil, t + length)
        self.put_off.pop(turnout, None)

    def heat(self, t: int, coil: int) -> int:
        """Heat of a coil worked out from its pulses: 1 more at each, 1 less every `cool` while above 0."""
        cool, heat, due = self.turnouts[self.of_coil[coil]][7], 0, 0
        for start in [*self.pulses[coil], t]:
            while heat and due <= start:
                heat, due = heat - 1, due + cool
            if start == t and self.pulses[coil][-1:] != [t]:
                break
            due = due if heat else start + cool
            heat += 1
        return heat

    def instant_over(self, t: int, controller) -> None:  # type: ignore[no-untyped-def]
        """No throw is forgotten: one without an obstacle has begun, one that is too hot is deferred."""
        logic = controller.logic
        outstanding = logic.outstanding()
        assert logic.mode in (w.M_RUNNING, w.M_MAINTENANCE) or not self.running or t > self.started()
        self.put_off = {turnout: t for turnout, t in self.put_off.items() if outstanding >> turnout & 1}
        if logic.mode not in (w.M_RUNNING, w.M_MAINTENANCE):
            self.put_off.clear()
            return
        for turnout, since in self.put_off.items():
            in_time = t < since + self.limits[2] or self.closed  # with its supply closed it is being served
            assert in_time, f"turnout {turnout} put off past the limit"
        if self.running:
            coil = self.running[0]
            after = self.turnouts[self.of_coil[coil]][4]
            assert t > self.started() or not after & outstanding, f"coil {coil} before its gang order"
            return
        if t < self.free or self.closed:
            return
        for turnout, x in enumerate(self.turnouts):
            if not outstanding >> turnout & 1 or x[4] & outstanding or t < self.charged[x[3]]:
                continue
            if (
                t <= self.waits.get(turnout, -1)
                or {(turnout, k) for k in (w.C_STRAYED, w.C_UNMOVED)} & self.doubtful
            ):
                continue
            side = controller.words[w.W_WANTED] >> turnout & 1
            assert self.heat(t, x[side]) >= x[6], (
                f"turnout {turnout} is outstanding at {t}, and nothing is done"
            )
            assert turnout in self.put_off, (
                f"turnout {turnout} waits for its coil to cool at {t}, not deferred"
            )

    def started(self) -> int:
        assert self.running
        return self.pulses[self.running[0]][-1]


class GateWatch:
    """Put around the gate of one controller: looks at the feeds before and after each time it decides."""

    def __init__(self, controller, plan: tuple) -> None:  # type: ignore[no-untyped-def]
        self.logic = controller.logic
        self.words = controller.words
        self.all_turnouts = (1 << len(plan[7])) - 1
        self.track = plan[5][1] << plan[5][0]
        self.gate = self.logic.gate
        self.newly = 0  # how many feeds newly closed
        self.waited = 0  # ... and how many had to wait at some time
        self.logic.gate = self.decide

    def decide(self, now: int) -> None:
        before = self.logic.feeds
        self.gate(now)
        new = self.logic.feeds & ~before
        self.newly += new != 0
        if new and self.logic.mode != w.M_MAINTENANCE:
            assert self.words[w.W_KNOWN] == self.all_turnouts, f"feeds {new:b} close with a throw outstanding"
        self.look()

    def look(self) -> None:
        """What holds after every event and at the end of every instant."""
        mode, feeds = self.logic.mode, self.logic.feeds
        wanted = (self.words[w.W_GO] & ~self.words[w.W_HELD]) | (self.track if mode == w.M_RUNNING else 0)
        if mode not in (w.M_RUNNING, w.M_MAINTENANCE):
            wanted = 0
        assert not feeds & ~wanted, f"feeds {feeds:b}, wanted only {wanted:b} in mode {mode}"
        if self.words[w.W_KNOWN] == self.all_turnouts:
            assert feeds == wanted, f"feeds {feeds:b} forget {wanted & ~feeds:b}"
        elif feeds != wanted:
            self.waited += 1
