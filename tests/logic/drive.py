"""Plays a session into a controller and gives its records; runs unchanged on CPython and MicroPython."""

from reedlogic.controller import Controller

MASK = (1 << 29) - 1  # the ring of times; compiled modules keep no names of constants


def drain(controller, t, base, out):
    """Moves the journal into `out` as (unwrapped ms, kind, which, value)."""
    journal = controller.journal
    if journal.lost:
        raise AssertionError("%d records lost" % journal.lost)
    for i in range(journal.held()):
        behind = (base + t - journal.time(i)) & MASK
        out.append((t - behind, journal.kind(i), journal.which(i), journal.value(i)))
    journal.clear()


class Player:
    """One controller and the session that it plays; `seen` is told of every scan that is over."""

    def __init__(self, plan, session, records=4000):
        self.base, self.raw, self.panel, self.steps = session
        self.controller = Controller(plan, records)
        self.out = []
        self.pulses = []  # what was handed over: (ms, coil, length)
        self.t = 0
        self.controller.begin(self.base & MASK, self.raw, self.panel)
        self.finish(0)

    def finish(self, t):
        """After a scan: take the pulse that is handed over and the records."""
        controller = self.controller
        if controller.keeper.pulse_coil >= 0:
            self.pulses.append((t, controller.keeper.pulse_coil, controller.keeper.pulse_ms))
            controller.keeper.pulse_coil = -1
        drain(controller, t, self.base, self.out)
        self.t = t

    def step(self, step, every_ms=False):
        """One step of the session; with every_ms each millisecond before it is scanned as well."""
        t, raw, panel, gap, orders = step
        controller = self.controller
        if every_ms:
            for ms in range(self.t + 1, t - gap + (1 if gap else 0)):
                controller.scan((self.base + ms) & MASK, self.raw, self.panel)
                self.finish(ms)
        now = (self.base + t) & MASK
        if gap:
            controller.late(now, gap)
        while controller.advance(now, raw, panel):
            pass
        for which, value in orders:
            controller.order(now, which, value)
        controller.settle(now)
        self.raw = raw
        self.panel = panel
        self.finish(t)


def play(plan, session, every_ms=False, records=4000):
    """All records of one session."""
    player = Player(plan, session, records)
    for step in player.steps:
        player.step(step, every_ms)
    return player.out
