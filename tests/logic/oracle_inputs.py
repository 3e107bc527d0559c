"""Oracle, inputs: confirm, opening, rearm, chatter, magnet at rest, track power."""

from reedlogic import words as w


class Inputs:
    def __init__(self, whole, plan: tuple) -> None:  # type: ignore[no-untyped-def]
        self.whole = whole
        self.times = dict(enumerate(plan[1])) | {w.WORD_BITS + i: x for i, x in enumerate(plan[2])}
        self.buttons = {plan[3][i]: (plan[3][i + 1], plan[3][i + 2]) for i in range(0, len(plan[3]), 3)}
        self.power = plan[13]
        self.raw = dict.fromkeys(self.times, 0)
        self.level = dict.fromkeys(self.times, 0)
        self.pending: dict[int, int] = {}  # input -> when its raw level is confirmed
        self.spent: set[int] = set()  # sensors that have hit and are not rearmed
        self.rearm: dict[int, int] = {}
        self.rest: dict[int, int] = {}  # when a magnet counts as at rest
        self.rest_left: dict[int, int] = {}  # remaining, while the track power is absent
        self.chatter: dict[int, int] = {}
        self.resting: set[int] = set()
        self.warned: set[int] = set()  # whose caution stands

    def begin(self, raw: int) -> None:
        for number in self.times:
            self.raw[number] = self.level[number] = raw >> number & 1
            if self.times[number][0] == w.IN_SENSOR and self.raw[number]:
                self.spent.add(number)  # a magnet that lies there at the reset has made its hit

    def power_absent(self) -> bool:
        return self.power != w.NONE and not self.level[self.power]

    def restart(self, t: int) -> None:
        for number in self.pending:
            self.pending[number] = t + self.times[number][1 if self.raw[number] else 2]
        for number in self.rearm:
            self.rearm[number] = t + self.times[number][3]

    def sample(self, t: int, raw: int) -> None:
        for number in sorted(self.times):
            bit = raw >> number & 1
            if bit == self.raw[number]:
                continue
            self.raw[number] = bit
            self.whole.record(t, w.R_EDGE, number, bit)
            self.pending.pop(number, None)
            if bit != self.level[number]:
                self.pending[number] = t + self.times[number][1 if bit else 2]

    def dues(self, t: int) -> None:
        if not (self.rearm or self.pending or self.rest):
            return
        for number in sorted(self.times):
            if self.rearm.get(number) == t:
                self.rearmed(t, number)
        for level in (0, 1):
            for number in sorted(self.times):
                if self.pending.get(number) == t and self.raw[number] == level:
                    del self.pending[number]
                    self.level[number] = level
                    self.confirmed(t, number, level)
        for number in sorted(self.times):
            if self.rest.get(number) == t:
                del self.rest[number]
                self.resting.add(number)
                self.warned.add(number)
                self.whole.record(t, w.R_REST, number)
                self.whole.record(t, w.R_CAUTION, number, w.C_REST)
                self.whole.rules.event(t, w.E_REST << w.EVENT_SHIFT | number)

    def confirmed(self, t: int, number: int, level: int) -> None:
        kind = self.times[number][0]
        rules = self.whole.rules
        if kind == w.IN_LEVEL:
            self.whole.record(t, w.R_CHANGE, number, level)
            if number == self.power:
                self.power_changed(t, level)
            rules.event(t, (w.E_ON if level else w.E_OFF) << w.EVENT_SHIFT | number)
        elif not level:
            self.whole.record(t, w.R_OPENING, number)
            if number in self.spent:
                self.rearm[number] = t + self.times[number][3]
            rules.event(t, w.E_OPENING << w.EVENT_SHIFT | number)
            if self.rearm.get(number) == t:
                self.rearmed(t, number)
        elif number in self.spent:
            self.rearm.pop(number, None)
            self.chatter[number] = self.chatter.get(number, 0) + 1
            rules.event(t, w.E_SUPPRESSED << w.EVENT_SHIFT | number)
        else:
            self.whole.record(t, w.R_HIT, number)
            if kind == w.IN_SENSOR:
                self.spent.add(number)
                if self.times[number][4]:
                    self.start_rest(t, number)
            rules.event(t, w.E_HIT << w.EVENT_SHIFT | number)
            if number in self.buttons:
                self.whole.order(t, *self.buttons[number], button=True)

    def start_rest(self, t: int, number: int) -> None:
        if self.power_absent():
            self.rest_left[number] = self.times[number][4]
        else:
            self.rest[number] = t + self.times[number][4]

    def rearmed(self, t: int, number: int) -> None:
        del self.rearm[number]
        self.spent.discard(number)
        self.rest.pop(number, None)
        self.rest_left.pop(number, None)
        if number in self.chatter:
            self.whole.record(t, w.R_CHATTER, number, self.chatter.pop(number))
        self.resting.discard(number)
        if number in self.warned:
            self.warned.discard(number)
            self.whole.record(t, w.R_CLEAR, number, w.C_REST)
        self.whole.rules.event(t, w.E_REARM << w.EVENT_SHIFT | number)

    def power_changed(self, t: int, level: int) -> None:
        self.whole.record(t, w.R_POWER, 0, level)
        self.whole.rules.power_changed(t, level)
        if level:
            self.rest |= {number: t + left for number, left in self.rest_left.items()}
            self.rest_left = {}
        else:
            self.rest_left = {number: due - t for number, due in self.rest.items()}
            self.rest = {}
