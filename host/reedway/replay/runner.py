"""Feeds recorded inputs into the logic and writes what it decides; one script for CPython and MicroPython.

Lines in: `t kind which value`, t in unwrapped milliseconds. Kinds are those of the records that a replay
feeds in (edge, order, late, state with its whole snapshot) and BEGIN and UNTIL. Lines out: the same form.
On MicroPython: `micropython runner.py BOARDFILE INPUTS`, with reedlogic on the path.
"""

import sys

from reedlogic.controller import Controller
from reedlogic.keeper import PULSE
from reedlogic.ring import JUMP_MS_MAX, MASK
from reedlogic.words import F_OUT_OF_STEP, O_BOARD_FAULT, R_EDGE, R_LATE, R_ORDER, R_STATE

BEGIN = 100  # a reset
UNTIL = 101  # go on to this time
PANEL = 30  # first input of the panel word
DRAIN_AT = 500  # records; one event never makes as many as the rest of the ring holds
WRITE_AT = 256  # lines at once


class Runner:
    """One controller driven from input to input; everything of one millisecond is one scan."""

    def __init__(self, plan, write) -> None:  # type: ignore[no-untyped-def]
        self.c = Controller(plan)
        self.write = write  # takes a text of whole lines
        self.out = []  # type: ignore[var-annotated]
        self.restored = False
        self.now = 0  # the last instant served, unwrapped
        self.t = -1  # the instant being gathered
        self.raw = self.panel = 0
        self.gap = 0
        self.orders = []  # type: ignore[var-annotated]

    def feed(self, line: str) -> None:
        """Take one input line."""
        fields = line.split()
        t = int(fields[0])
        kind = int(fields[1])
        if kind == R_STATE:
            self.restore(t, fields[2:])
            return
        which = int(fields[2])
        value = int(fields[3])
        if kind == BEGIN:  # `which` and `value`: contacts that are closed, on pins and on the panel
            self.raw = which
            self.panel = value
            self.c.begin(t & MASK, which, value)
            self.now = t
            return
        if t != self.t:
            self.serve()
            self.t = t
        if kind == R_EDGE:
            self.edge(which, value)
        elif kind == R_ORDER:
            self.orders.append((which, value))
        elif kind == R_LATE:
            self.gap = value

    def edge(self, which: int, level: int) -> None:
        """One contact as it is from this instant on."""
        if which < PANEL:
            bit = 1 << which
            self.raw = self.raw | bit if level else self.raw & ~bit
        else:
            bit = 1 << (which - PANEL)
            self.panel = self.panel | bit if level else self.panel & ~bit

    def restore(self, t: int, numbers) -> None:  # type: ignore[no-untyped-def]
        """Go on from a snapshot, whatever was before."""
        from reedlogic import snapshot

        self.serve()
        self.restored = True
        self.c.journal.clear()
        snapshot.restore(self.c, [int(number) for number in numbers], t & MASK)
        self.raw = self.c.raw
        self.panel = self.c.panel
        self.now = t
        self.say("%d %d %s" % (t, R_STATE, " ".join(numbers)))

    def serve(self) -> None:
        """Everything gathered for one instant, in the order of a scan."""
        if self.t < 0:
            return
        c = self.c
        t = self.t
        at = t & MASK
        if self.gap:
            self.idle(t - self.gap)
            self.rest(t - self.gap)  # what late would serve itself, but drained on the way
            c.late(at, self.gap)
        else:
            self.idle(t)
        self.now = t
        self.scan(t, self.raw, self.panel)
        for which, value in self.orders:
            if which == O_BOARD_FAULT and value >> 6 == F_OUT_OF_STEP and c.owed and c.keeper.phase != PULSE:
                c.settle(at)  # the board gives it after the keeper's turn: that pulse was not taken
            c.order(at, which, value)
            if c.journal.held() > DRAIN_AT:
                self.drain(t)
        if c.owed:
            c.settle(at)
        self.drain(t)
        self.t = -1
        self.gap = 0
        if self.orders:
            self.orders = []

    def idle(self, t: int) -> None:
        """Come near t in jumps that the ring allows."""
        while t - self.now > JUMP_MS_MAX:
            self.now += JUMP_MS_MAX
            self.rest(self.now)
            self.drain(self.now)  # while a ring time still tells which one it is

    def rest(self, t: int) -> None:
        """A scan in which no contact changes."""
        self.scan(t, self.c.raw, self.c.panel)
        if self.c.owed:
            self.c.settle(t & MASK)

    def scan(self, t: int, raw: int, panel: int) -> None:
        c = self.c
        journal = c.journal
        at = t & MASK
        while c.advance(at, raw, panel):
            if journal.held() > DRAIN_AT:
                self.drain(t)

    def drain(self, t: int) -> None:
        """Write what the journal holds; its times lie less than a ring before t."""
        journal = self.c.journal
        count = journal.held()
        if not count:
            return
        now = t & MASK
        for i in range(count):
            back = (now - journal.time(i)) & MASK
            self.say("%d %d %d %d" % (t - back, journal.kind(i), journal.which(i), journal.value(i)))
        journal.drop(count)

    def say(self, line: str) -> None:
        self.out.append(line)
        if len(self.out) >= WRITE_AT:
            self.flush()

    def flush(self) -> None:
        if self.out:
            self.out.append("")
            self.write("\n".join(self.out))
            self.out = []

    def end(self) -> None:
        """Serve the last instant and write the rest."""
        self.serve()
        self.flush()


def main(board_path: str, inputs_path: str) -> None:
    """The whole run, for the command line."""
    from reedlogic.boardfile import decode

    with open(board_path, "rb") as file:
        plan = decode(file.read())
    runner = Runner(plan, sys.stdout.write)
    with open(inputs_path) as inputs:
        for line in inputs:
            runner.feed(line)
    runner.end()


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2])
