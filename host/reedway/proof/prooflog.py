"""Writes a counterexample as a session log: the hits of the story, at invented times, through the controller.

The story knows no times. Here each step comes 3 s after the one before; while a throw is outstanding or a
timer soon runs out, only 20 ms after it. Where real pulse lengths do not allow the order of the
story, the log shows what the controller then does.
"""

from __future__ import annotations

import os

from reedlogic import words as w
from reedlogic.controller import Controller
from reedlogic.ring import MASK
from reedway import __version__
from reedway.boardfile.compile import Compiled
from reedway.problems import ReedwayError
from reedway.proof.judge import Verdict
from reedway.proof.scene import Scene
from reedway.proof.told import Told
from reedway.sessionlog.header import Header
from reedway.sessionlog.names import Codec
from reedway.sessionlog.writer import LogWriter

GAP_MS, SHORT_MS, WAIT_MS_MAX, LOOK_MS = 3000, 20, 600_000, 10
STARTED = "2026-01-01T12:00:00+00:00"  # invented, like all times of this log
FIRST_MS = 1000


def write_log(path: str, compiled: Compiled, start: int, scene: Scene, verdict: Verdict) -> None:
    """Write the log; a file that is there already is not touched."""
    if os.path.exists(path):
        raise ReedwayError(f"{path}: is there already; choose another name")
    drive = Drive(compiled, start, scene)
    drive.begin()
    for told, state in zip(verdict.steps, verdict.way, strict=False):
        drive.step(told, state)
    drive.to(drive.now + GAP_MS)
    layout = compiled.layout
    header = Header(layout.name, layout.sha256, __version__, STARTED)
    with LogWriter(path, header, Codec(compiled.names)) as log:
        log.records(drive.records)


class Drive:
    """A controller that the steps of a story are played to."""

    def __init__(self, compiled: Compiled, start: int, scene: Scene) -> None:
        self.scene = scene
        self.controller = Controller(compiled.plan)
        self.numbering = compiled.numbering
        self.start = start
        self.confirm = {
            item.index: (item.thing.confirm_ms, item.thing.opening_ms) for item in self.numbering.inputs
        }
        self.now = 0
        self.levels = [0, 0]  # raw, panel
        self.records: list[tuple[int, int, int, int]] = []
        self.jammed: set[int] = set()  # turnouts whose points do not move
        self.coils: dict[int, tuple[int, int]] = {}  # coil -> turnout, position
        for t, turnout in enumerate(compiled.plan[w.PLAN_TURNOUTS]):
            self.coils[turnout[0]], self.coils[turnout[1]] = (t, 0), (t, 1)

    def begin(self) -> None:
        """Switches as the start wants them, then the order."""
        self.now = FIRST_MS
        self.controller.begin(FIRST_MS, 0, 0)
        conditions = self.scene.machine.plan[w.PLAN_STARTS][self.start][0]
        for j in range(0, len(conditions), 3):
            self.levels[conditions[j] - w.W_LEVEL] |= conditions[j + 2]
        for index in self.scene.turned_on:
            self.raw(index, True)
        self.to(FIRST_MS)
        self.to(2 * FIRST_MS)
        self.order(w.O_START, self.start)

    def to(self, t: int) -> None:
        """Go on to time t."""
        self.now = t
        self.controller.scan(t & MASK, *self.levels)
        self._take()

    def _take(self) -> None:
        journal = self.controller.journal
        pulses: list[tuple[int, int]] = []
        for i in range(journal.held()):
            t = self.now - ((self.now - journal.time(i)) & MASK)
            self.records.append((t, journal.kind(i), journal.which(i), journal.value(i)))
            if journal.kind(i) == w.R_PULSE:
                pulses.append(self.coils[journal.which(i)])
        journal.clear()
        for t, position in pulses:
            self._points(t, position)

    def _points(self, t: int, position: int) -> None:
        """The points follow a pulse, and their contacts say so."""
        contacts = self.controller.logic.plan[w.PLAN_TURNOUTS][t][8:10]
        for side, contact in enumerate(contacts):
            if contact != w.NONE and t not in self.jammed:
                self.raw(contact, side == position)

    def raw(self, index: int, closed: bool) -> None:
        """A contact changes from the next scan on."""
        word, bit = (1, 1 << index - 30) if index >= 30 else (0, 1 << index)
        self.levels[word] = self.levels[word] | bit if closed else self.levels[word] & ~bit

    def order(self, which: int, value: int) -> None:
        self.to(self.now)
        self.controller.order(self.now & MASK, which, value)
        self.controller.settle(self.now & MASK)
        self._take()

    def level(self, index: int, closed: int) -> None:
        """One contact changes, and is confirmed."""
        self.raw(index, bool(closed))
        self.to(self.now)
        self.to(self.now + self.confirm[index][0 if closed else 1])

    def step(self, told: Told, state: int) -> None:
        """Play one step."""
        logic = self.controller.logic
        if told.kind == "throw":
            self._until(lambda: logic.words[w.W_KNOWN] >> told.number & 1 == 1)
            return
        if told.kind == "timer":
            self._until(lambda: not logic.words[w.W_TIMER] >> told.number & 1)
            return
        if told.kind == "jam":
            self.jammed.add(told.number)
        if told.kind in ("", "serve", "fault", "reset", "jam"):
            return
        is_throwing = logic.words[w.W_KNOWN] != logic.all_turnouts
        self.to(self.now + (SHORT_MS if is_throwing or self._timer_ms() < 2 * GAP_MS else GAP_MS))
        if told.kind in ("hit", "phantom") and told.number >= 0:
            self.level(told.number, 1)
            self.level(told.number, 0)
        elif told.kind == "shut":
            self.level(told.number, 1)
        elif told.kind == "switch":
            word, bit = (1, told.number - 30) if told.number >= 30 else (0, told.number)
            self.level(told.number, 0 if self.levels[word] >> bit & 1 else 1)
        elif told.kind in ("lift", "set on"):
            self.order(w.O_LIFT_OFF if told.kind == "lift" else w.O_SET_ON, told.number)
        self._detectors(told)

    def _timer_ms(self) -> int:
        """How long the first timer still runs."""
        logic = self.controller.logic
        running = [k for k in range(len(logic.timer_ms)) if logic.words[w.W_TIMER] >> k & 1]
        return min(((logic.timer_due[k] - self.now) & MASK for k in running), default=MASK)

    def _detectors(self, told: Told) -> None:
        for call in told.calls:
            if call[0] == "change":
                self.level(int(call[1]), int(call[2]))

    def _until(self, holds) -> None:  # type: ignore[no-untyped-def]
        end = self.now + WAIT_MS_MAX
        while not holds() and self.now < end:
            self.to(self.now + LOOK_MS)
