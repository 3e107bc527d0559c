"""The real logic as a table: what each event makes of each state, worked out by the controller's own code.

An event's effect is kept under those bits of the state that the rules let it depend on (support.py); a state
that has the same ones is changed alike, without asking the controller again.
"""

from __future__ import annotations

from reedlogic import words as w
from reedway.proof import packing as p
from reedway.proof.explored import Explored
from reedway.proof.packing import Packing
from reedway.proof.support import ALL, Bits, Support

Call = tuple[str, int] | tuple[str, int, int]  # a method of Explored and its arguments
Event = tuple[Call, ...]
EVENTS_MAX = 1000  # a waiting event has ten bits
Effects = dict[int, int]  # bits that matter -> bits that change


class Machine:
    """The events of one plan by number. A state is a packed number."""

    def __init__(self, plan: tuple) -> None:
        self.plan = plan
        self.packing = Packing(plan)
        self.all = (1 << self.packing.bits) - 1
        self.settled = self.packing.mask(p.CAUSE) | self.packing.mask(p.MODE)
        self.explored = Explored(plan)
        self._support_of_plan: Support | None = None
        self.events: list[Event] = []
        self.event_numbers: dict[Event, int] = {}
        self.supports: list[int] = []  # of each event: the bits that matter
        self.effects: list[Effects] = []  # of each event
        self.asked = 0  # how often the controller was asked
        self.has_opening = {
            event[0] & 63 for event in plan[w.PLAN_AT] if event[0] >> w.EVENT_SHIFT == w.E_OPENING
        }

    def event(self, *calls: Call) -> int:
        """Number of an event that is these calls one after the other."""
        number = self.event_numbers.get(calls)
        if number is None:
            number = self.event_numbers[calls] = len(self.events)
            assert number < EVENTS_MAX
            self.events.append(calls)
            self.supports.append(self._support(calls))
            self.effects.append({})
        return number

    def step(self, state: int, event: int) -> int:
        """The state after an event."""
        change = self.effects[event].get(state & self.supports[event])
        return state ^ (self.work_out(state, event) if change is None else change)

    def work_out(self, state: int, event: int) -> int:
        """Ask the controller what an event changes, and keep it where it holds for others too."""
        state &= self.all
        change = state ^ self.ask(state, event)
        if change & self.settled and self.supports[event] != self.all:
            return change  # a fault changes more than the rules say
        self.effects[event][state & self.supports[event]] = change
        return change

    def ask(self, state: int, event: int) -> int:
        """The state after an event, by the controller."""
        self.asked += 1
        self.explored.restore(self.packing.unpack(state))
        return self.run(self.events[event])

    def run(self, calls: Event) -> int:
        """The state after these calls, from the one in which the controller is."""
        for name, *values in calls:
            if name == "pass":
                self._pass(values[0])
            elif name == "shut":  # it closes and stays so; nobody looks at its level
                self.explored.hit(values[0])
                self.explored.set_level(values[0], 0)
            elif name == "reset":
                self._reset()
            else:
                getattr(self.explored, name)(*values)
        return self.state()

    def state(self) -> int:
        """The state in which the controller is."""
        return self.packing.pack(self.explored.save(), self.explored.throws_possible())

    def _pass(self, sensor: int) -> None:
        """A magnet passes: the sensor closes and opens again before anything else happens."""
        self.explored.hit(sensor)
        if sensor in self.has_opening:
            self.explored.opening(sensor)
        else:
            self.explored.set_level(sensor, 0)

    def _reset(self) -> None:
        """Before start, with the levels that the inputs have."""
        fresh = Explored(self.plan)
        for word in (w.W_LEVEL, w.W_PANEL):
            fresh.words[word] = self.explored.words[word]
        fresh.logic.gate(0)
        self.explored = fresh

    def _support(self, calls: Event) -> int:
        numbers: list[int] = []
        changed: Bits = {}
        for name, *values in calls:
            index = values[0]
            level = (w.W_LEVEL, 1 << index) if index < 30 else (w.W_PANEL, 1 << index - 30)
            if name in ("pass", "shut"):
                numbers.append(w.E_HIT << w.EVENT_SHIFT | index)
                numbers.append(w.E_OPENING << w.EVENT_SHIFT | index)
                changed[level[0]] = changed.get(level[0], 0) | level[1]
            elif name == "change":
                numbers += [kind << w.EVENT_SHIFT | index for kind in (w.E_ON, w.E_OFF)]
                changed[level[0]] = changed.get(level[0], 0) | level[1]
            elif name == "timer_end":
                numbers.append(w.E_TIMER << w.EVENT_SHIFT | index)
                changed[w.W_TIMER] = 1 << index
            elif name == "in_position":
                numbers.append(w.E_POSITION << w.EVENT_SHIFT | index)
                for word in (w.W_POSITION, w.W_KNOWN, p.PHYSICAL):
                    changed[word] = ALL
            else:
                return self.all
        if self._support_of_plan is None:
            self._support_of_plan = Support(self.plan, self.packing)
        found = self._support_of_plan.of(numbers, changed)
        return self.all if found is None else found
