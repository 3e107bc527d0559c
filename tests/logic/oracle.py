"""A second, slow and obvious model of the logic: one millisecond after another, sets and dicts.

Written from the text of DESIGN section 4 alone; it shares no code with the ring but the numbers in words.
It leaves out position contacts and supplies with lead or trail.
"""

from logic.oracle_inputs import Inputs
from logic.oracle_keeper import Keeper
from logic.oracle_rules import Rules
from reedlogic import words as w


class Oracle:
    """Call begin once, then instant for every millisecond, or late where a scan came late."""

    def __init__(self, plan: tuple) -> None:
        self.plan = plan
        self.records: list[tuple[int, int, int, int]] = []
        self.started = self.stopped = self.faulty = False
        self.told = w.M_BEFORE
        self.inputs = Inputs(self, plan)
        self.rules = Rules(self, plan)
        self.keeper = Keeper(self, plan)

    def record(self, t: int, kind: int, which: int, value: int = 0) -> None:
        self.records.append((t, kind, which, value))

    def begin(self, raw: int) -> None:
        self.inputs.begin(raw)
        self.rules.lamps_now()

    def instant(self, t: int, raw: int, orders: tuple = (), in_gap: bool = False) -> None:
        """Everything due at t, in the order of the text."""
        self.keeper.dues(t)
        self.inputs.dues(t)
        self.rules.timer_dues(t)
        if in_gap:
            return
        self.after_dues(t, raw, orders)

    def after_dues(self, t: int, raw: int, orders: tuple) -> None:
        self.inputs.sample(t, raw)
        for which, value in orders:
            self.order(t, which, value)
        self.keeper.serve(t)

    def late(self, t: int, gap: int, raw: int, orders: tuple) -> None:
        """A scan at t that came gap ms after the last one, which was at t - gap."""
        self.inputs.restart(t)
        for ms in range(t - gap + 1, t + 1):
            self.instant(ms, 0, in_gap=True)
        self.record(t, w.R_LATE, 0, gap)
        self.after_dues(t, raw, orders)

    # ---- orders

    def order(self, t: int, which: int, value: int, button: bool = False) -> None:
        self.record(t, w.R_ORDER, which + (w.O_FROM_BUTTON if button else 0), value)
        refusal = self.refusal(which, value)
        if refusal is not None:
            self.record(t, w.R_REFUSED, which, refusal)
            return
        rules = self.rules
        if which == w.O_START:
            number = self.chosen() if value == w.NONE else value
            assert number is not None
            self.record(t, w.R_START, number)
            self.started = True
            rules.event(t, w.E_START << w.EVENT_SHIFT, start=self.plan[16][number])
        elif which in (w.O_STOP, w.O_GO_ON):
            self.stopped = which == w.O_STOP
            rules.event(t, (w.E_STOP if self.stopped else w.E_GO_ON) << w.EVENT_SHIFT)
        elif which == w.O_ACKNOWLEDGE:
            rules.acknowledge(t)
        elif which == w.O_BOARD_FAULT:
            cause, index = value // 64, value % 64
            if cause == w.F_OUT_OF_STEP:
                self.keeper.sure.discard(index)
            rules.fault(t, index, cause)
            rules.event(t, None)
            running = self.keeper.running
            if cause == w.F_OUT_OF_STEP and running and running[0] == index:
                self.keeper.pulse_end(t, is_refused=True)
        elif which == w.O_THROW:
            rules.event(t, None, throw=(value // 2, value % 2))
        else:
            events = {w.O_GO: w.E_GO, w.O_HOLD: w.E_HOLD, w.O_SET_ON: w.E_SET_ON, w.O_LIFT_OFF: w.E_LIFT_OFF}
            rules.event(t, events[which] << w.EVENT_SHIFT | value, place=(which, value))

    def refusal(self, which: int, value: int) -> int | None:
        """The reason why this order is refused now, or None."""
        places = self.plan[6]
        if which == w.O_START:
            return self.start_refusal(value)
        if which in (w.O_ACKNOWLEDGE, w.O_BOARD_FAULT):
            return None
        if not self.started:
            return w.N_NOT_STARTED
        if which in (w.O_GO, w.O_HOLD) and (value >= len(places) or not places[value]):
            return w.N_UNKNOWN
        if which in (w.O_SET_ON, w.O_LIFT_OFF) and value >= len(places):
            return w.N_UNKNOWN
        if which == w.O_THROW and value // 2 >= len(self.plan[7]):
            return w.N_UNKNOWN
        return None

    def start_refusal(self, value: int) -> int | None:
        if self.mode != w.M_BEFORE:
            return w.N_NOT_BEFORE
        if value != w.NONE and value >= len(self.plan[16]):
            return w.N_UNKNOWN
        starts = self.plan[16] if value == w.NONE else self.plan[16][value : value + 1]
        wrong = [self.rules.wrong_bits(start[0]) for start in starts]
        if not all(wrong):
            return None
        return w.N_SWITCH + wrong[0][0]

    def chosen(self) -> int | None:
        """The first start whose switches stand as it wants them."""
        for number, start in enumerate(self.plan[16]):
            if not self.rules.wrong_bits(start[0]):
                return number
        return None

    # ---- modes

    @property
    def mode(self) -> int:
        if self.faulty:
            return w.M_FAULT
        if not self.started:
            return w.M_BEFORE
        return w.M_STOPPED if self.stopped else w.M_RUNNING

    def tell_mode(self, t: int) -> None:
        if self.mode != self.told:
            self.told = self.mode
            self.record(t, w.R_MODE, 0, self.mode)
