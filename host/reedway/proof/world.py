"""Trains on the track together with the real logic: one state is one number, and every step from it.

From the lowest bit: the packed state of the logic, a field for the spot of each train, a field for the
fault, and the hits that wait for the controller.
"""

from __future__ import annotations

from collections.abc import Callable

from reedlogic import words as w
from reedway.durations import as_written
from reedway.proof.fault import NoFault
from reedway.proof.machine import Machine
from reedway.proof.quick import Quick
from reedway.proof.spots import Spots, Step
from reedway.proof.told import Told

FAULT_BITS = 48  # after a reset: 14 turnouts, and a bit for each of 30 trains
QUEUE_DIGIT = 10  # bits of one waiting event
QUEUE_MAX = 4
Expand = Callable[..., list[int]]
MEETS, AGAINST, UNDER = "meets", "against", "under"
# (kind, train, section, the train or turnout it meets or that is thrown under it); -1: none
Accident = tuple[str, int, int, int]
NO_ACCIDENT: Accident = ("", -1, -1, -1)


class World:
    """Expands states. `bad` is set when an expanded state or a step from it must not be."""

    def __init__(
        self, machine: Machine, spots: Spots, trains: list[str], lagging: bool, fault: NoFault | None = None
    ) -> None:
        self.machine = machine
        self.packing = machine.packing
        bits = machine.packing.bits
        self.spots = spots
        self.trains = trains
        self.lagging = lagging
        self.fault = fault or NoFault()
        self.bits = max(1, len(spots.spots).bit_length())  # one more than there are spots: not on the track
        self.gone = len(spots.spots)
        self.fields = [(bits + j * self.bits, (1 << self.bits) - 1) for j in range(len(trains))]
        self.fault_at = bits + len(trains) * self.bits
        self.queue_at = self.fault_at + FAULT_BITS
        self.covers = [spot.covers for spot in spots.spots] + [0]
        self.bad = ""
        self.was_full = False  # as many hits waited as may, and another came
        self.accident = NO_ACCIDENT  # what `bad` says, by numbers
        track = spots.track
        self.turnout_sections = {track.turnout(i): i for i in range(len(track.sections))}
        self.turnout_covers = [
            1 << self.turnout_sections[t] if t in self.turnout_sections else 0
            for t in range(len(track.layout.turnouts))
        ]
        self.throws = [machine.event(("in_position", t)) for t in range(len(self.turnout_covers))]
        self.timers = [machine.event(("timer_end", k)) for k in range(len(machine.plan[w.PLAN_TIMERS]))]
        timers = (1 << len(self.timers)) - 1
        self.pending = machine.packing.all_turnouts << self.packing.throw_at | timers << self.packing.timer_at
        events = [
            [machine.event(*step.calls) if step.calls else -1 for step in spot.steps] for spot in spots.spots
        ]
        self.tables = [self._table(j, events) for j in range(len(trains))]
        self.fault.prepare(self)
        self.expand: Expand = self.expand_any
        if not lagging and fault is None:
            self.expand = Quick(self).expand

    def _table(self, j: int, events: list[list[int]]) -> list[list[tuple]]:
        """For each spot the steps of train j: (mask, value, event, difference of the state, step)."""
        at = self.fields[j][0]
        table: list[list[tuple]] = []
        for number, spot in enumerate(self.spots.spots):
            steps = []
            for step, event in zip(spot.steps, events[number], strict=True):
                steps.append((step.mask, step.value, event, (step.to - number) << at, step))
            table.append(steps)
        table.append([])
        return table

    def state(self, logic: int, spots: list[int]) -> int:
        """The state with trains at these spots, no fault, nothing waiting."""
        return logic + sum(spot << at for spot, (at, _) in zip(spots, self.fields, strict=True))

    def spot_of(self, state: int, j: int) -> int:
        at, mask = self.fields[j]
        return state >> at & mask

    def turnout_at(self, section: int) -> int:
        """Number of the turnout that a section is, or -1."""
        return self.spots.track.turnout(section)

    def fire(self, state: int, event: int) -> int:
        """The state after an event; in a lagging world a hit waits for its turn. -1: no room."""
        if event < 0:
            return state
        if self.lagging:
            at = self.queue_at
            while state >> at:
                at += QUEUE_DIGIT
            if at >= self.queue_at + QUEUE_MAX * QUEUE_DIGIT:
                self.was_full = True
                return -1
            return state + (event + 1 << at)
        return self.machine.step(state, event)

    # -- expanding --------------------------------------------------------------------------------------

    def expand_any(self, state: int, told: list[Told] | None = None) -> list[int]:
        """Every state that one step leads to. `told` gets the steps in words, in the same order."""
        out: list[int] = []
        f = state >> self.fault_at & (1 << FAULT_BITS) - 1
        view = self.fault.view(state, f) if f else state
        taken = self.fault.covers(f) if f else 0
        for j, (at, mask) in enumerate(self.fields):
            covers = self.covers[state >> at & mask]
            if taken & covers:
                self.bad = self._meet(state, j, taken & covers)
                return out
            taken |= covers
        waiting = state >> self.queue_at
        if waiting:
            event = (waiting & (1 << QUEUE_DIGIT) - 1) - 1
            served = state - (waiting << self.queue_at) + (waiting >> QUEUE_DIGIT << self.queue_at)
            out.append(self.machine.step(served, event))
            if told is not None:
                told.append(Told("", self._seen(event), "serve", -1, event))
        self._move_trains(state, f, view, bool(waiting), out, told)
        if view & self.pending:
            self._serve_throws(state, f, view, taken, out, told)
        self.fault.more(state, f, view, taken, out, told)
        return out

    def _move_trains(
        self, state: int, f: int, view: int, waiting: bool, out: list[int], told: list[Told] | None
    ) -> None:
        for j, (at, mask) in enumerate(self.fields):
            for needed, value, event, moved, step in self.tables[j][state >> at & mask]:
                if view & needed != value or (waiting and step.waits):
                    continue
                coasts = self.fault.coasts(f, j, step) if f else 0
                if coasts < 0:
                    continue
                if step.bad:
                    if not self.bad:
                        self.accident = (AGAINST, j, step.into, self.turnout_at(step.into))
                    self.bad = self.bad or f"{self.trains[j]} goes {step.bad}"
                    continue
                hears = step.sensor < 0 or not f or self.fault.hears(f, j, step.sensor)
                moved += coasts
                after = self.fire(state + moved, event if hears else self._unheard(event))
                if after >= 0:
                    out.append(after)
                    if told is not None:
                        served = -1 if self.lagging or not hears else event
                        told.append(Told(self.trains[j], step.text, "hit", step.sensor, served))
                        told[-1].calls = step.calls
                        if not hears:
                            told[-1].kind = ""
                            told[-1].notes.append("but no hit is seen there")
                if step.sensor >= 0 and not f and self.fault.loses:
                    self._lose(state + moved, step, event, j, out, told)

    def _unheard(self, event: int) -> int:
        """The event without the hit of its sensor."""
        calls = tuple(call for call in self.machine.events[event] if call[0] != "pass")
        return self.machine.event(*calls) if calls else -1

    def _lose(
        self, state: int, step: Step, event: int, j: int, out: list[int], told: list[Told] | None
    ) -> None:
        after = self.fire(state, self._unheard(event))
        if after >= 0:
            out.append(after + self.fault.one(self.fault.lost_as(j, step.sensor)))
            if told is not None:
                lost = ["but its hit there is lost"]
                told.append(Told(self.trains[j], step.text, "", step.sensor, -1, lost, is_fault=True))

    def _serve_throws(
        self, state: int, f: int, view: int, taken: int, out: list[int], told: list[Told] | None
    ) -> None:
        possible = view >> self.packing.throw_at & self.packing.all_turnouts
        t = 0
        while possible:
            if possible & 1:
                after, moves = self.fault.thrown(state, f, view, t)
                if moves and taken & self.turnout_covers[t]:
                    self.bad = self.bad or self._under(state, t)
                    after = []
                for one in after:
                    out.append(one)
                    if told is not None:
                        told.append(self._tell_throw(t, after[0], one != after[0]))
            possible >>= 1
            t += 1
        running = view >> self.packing.timer_at & (1 << len(self.timers)) - 1
        k = 0
        while running:
            if running & 1:
                out.append(self.machine.step(state, self.timers[k]))
                if told is not None:
                    timer = self.spots.track.layout.timers[k]
                    text = f"the timer {timer.name} ({as_written(timer.time_ms)}) runs out"
                    told.append(Told("", text, "timer", k, self.timers[k]))
            running >>= 1
            k += 1

    def _seen(self, event: int) -> str:
        """What the controller sees when it serves what has waited."""
        names = {item.index: item.name for item in self.spots.numbering.inputs}
        calls = self.machine.events[event]
        told = [f"the hit at {names[call[1]]}" for call in calls if call[0] in ("pass", "shut")]
        told += [f"that {names[call[1]]} has changed" for call in calls if call[0] == "change"]
        return f"the controller sees {' and '.join(told)}"

    def _tell_throw(self, t: int, after: int, fails: bool) -> Told:
        turnout = self.spots.track.layout.turnouts[t]
        to = turnout.second if self.lies(after, t) else turnout.first
        text = f"{turnout.name} is thrown to {to}"
        if fails:
            text = f"{turnout.name} gets its pulse to {to}, but its points do not move"
        return Told("", text, "throw", t, self.throws[t], is_fault=fails)

    # -- what is wrong ----------------------------------------------------------------------------------

    def _meet(self, state: int, j: int, where: int) -> str:
        number = (where & -where).bit_length() - 1
        section = self.spots.track.name(number)
        self.accident = (MEETS, j, number, -1)
        for i in range(j):
            if self.covers[self.spot_of(state, i)] & where:
                self.accident = (MEETS, j, number, i)
                return f"{self.trains[i]} and {self.trains[j]} are both in {section}"
        return f"{self.trains[j]} runs into what stands in {section}"

    def _under(self, state: int, t: int) -> str:
        bit = self.turnout_covers[t]
        section = self.spots.track.name(self.turnout_sections[t])
        self.accident = (UNDER, -1, self.turnout_sections[t], t)
        for j, train in enumerate(self.trains):
            if self.covers[self.spot_of(state, j)] & bit:
                self.accident = (UNDER, j, self.turnout_sections[t], t)
                return f"{section} is thrown under {train}"
        return f"{section} is thrown under what stands on it"

    def lies(self, view: int, t: int) -> int:
        """How turnout t really lies: 0 first, 1 second, -1 not known to anybody."""
        first = view >> self.packing.first_at + t & 1
        second = view >> self.packing.second_at + t & 1
        return -1 if first and second else second
