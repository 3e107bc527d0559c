"""A second explorer, as plain as can be: names and tuples, no tables, no packing, one restore for every step.

Written apart from host/reedway/proof (only the door to single events of the controller is shared), to compare
states, dead states and verdicts with.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass

from reedlogic import words as w
from reedway.boardfile.compile import Compiled
from reedway.layout.model import Layout
from reedway.proof.explored import Explored

QUEUE_MAX = 4
UNREAD = (13, 18, 26, 27)  # lamps by rules, lamps shown, refreshes asked for and held, in a saved state

Train = tuple[tuple[str, ...], int]  # sections from the last car to the head, sensors passed in the last
Call = tuple[str, ...]
State = tuple[tuple[int, ...], tuple[Train, ...], tuple[tuple[Call, ...], ...], bool]  # last: the fault was


@dataclass
class Count:
    states: int = 0
    transitions: int = 0
    dead: int = 0
    bad: int = 0  # states or steps that must not be


class Naive:
    """One start of a layout, with the controller reacting at once or lagging."""

    def __init__(self, compiled: Compiled, start: int, lagging: bool, fault: str = "") -> None:
        self.fault = fault  # "a hit lost" or "a phantom hit"
        self.layout: Layout = compiled.layout
        self.plan = compiled.plan
        self.lagging = lagging
        self.c = Explored(compiled.plan)
        self.index = {item.name: item.index for item in compiled.numbering.inputs}
        self.track = {section.name: section for section in self.layout.track}
        self.turnouts = [turnout.name for turnout in self.layout.turnouts]
        self.blocks = [block.name for block in self.layout.blocks]
        self.place_block = {p.name: p.block.text if p.block else "" for p in self.layout.places}
        self.clear = {s.name: [str(t) for t in s.tail_clear_of] for s in self.layout.sensors}
        for word, mask in zip(
            compiled.plan[16][start][0][::3], compiled.plan[16][start][0][2::3], strict=True
        ):
            self.c.words[word] |= mask
        self.c.logic.gate(0)
        self.c.order(w.O_START, start)
        at = {text.text for text in self.layout.starts[start].trains_at}
        self.first_trains = tuple(
            ((place.name,), len(self.sensors(place.name))) for place in self.layout.places if place.name in at
        )

    def sensors(self, name: str) -> list[str]:
        section = self.track[name]
        return ([str(section.entrance)] if section.entrance else []) + [str(s) for s in section.sensors]

    def saved(self) -> tuple[int, ...]:
        return tuple(0 if i in UNREAD else value for i, value in enumerate(self.c.save()))

    def explore(self) -> Count:
        first: State = (self.saved(), self.first_trains, (), False)
        seen = {first}
        todo = deque([first])
        count = Count()
        while todo:
            state = todo.popleft()
            if self.meets(state[1]):
                count.bad += 1
                count.dead += 1
                continue
            after = list(self.after(state, count))
            count.transitions += len(after)
            count.dead += not after
            for one in after:
                if one not in seen:
                    seen.add(one)
                    todo.append(one)
        count.states = len(seen)
        return count

    @staticmethod
    def meets(trains: tuple[Train, ...]) -> bool:
        sections = [section for path, _ in trains for section in set(path)]
        return len(sections) != len(set(sections))

    def serve(self, logic: tuple[int, ...], calls: tuple[Call, ...]) -> tuple[int, ...]:
        self.c.restore(logic)
        for name, thing, *level in calls:
            if name == "hit":
                self.c.hit(self.index[thing])
                self.c.opening(self.index[thing])
            elif name == "detector":
                self.c.change(self.index[thing], int(level[0]))
            elif name == "throw":
                self.c.in_position(self.turnouts.index(thing))
            else:
                self.c.timer_end(int(thing))
        return self.saved()

    def after(self, state: State, count: Count) -> Iterator[State]:
        logic, trains, queue, was = state
        if queue:
            yield self.serve(logic, queue[0]), trains, queue[1:], was
        for j, train in enumerate(trains):
            for moved, calls, bad in self.moves(logic, train, bool(queue)):
                if bad:
                    count.bad += 1
                    continue
                others = (*trains[:j], moved, *trains[j + 1 :])
                yield from self.seen(logic, others, queue, calls, was)
                unheard = tuple(call for call in calls if call[0] != "hit")
                if self.fault == "a hit lost" and not was and unheard != calls:
                    yield from self.seen(logic, others, queue, unheard, True)
        if self.fault == "a phantom hit" and not was:
            for section in self.track:
                for sensor in self.sensors(section):
                    yield from self.seen(logic, trains, queue, (("hit", sensor),), True)
        self.c.restore(logic)
        timers = [str(k) for k in range(len(self.plan[9])) if self.c.timers_running >> k & 1]
        for t in self.c.throws_possible():
            if any(self.turnouts[t] in path for path, _ in trains):
                count.bad += 1
            else:
                yield self.serve(logic, (("throw", self.turnouts[t]),)), trains, queue, was
        for k in timers:
            yield self.serve(logic, (("timer", k),)), trains, queue, was

    def seen(
        self,
        logic: tuple[int, ...],
        trains: tuple[Train, ...],
        queue: tuple,
        calls: tuple[Call, ...],
        was: bool,
    ) -> Iterator[State]:
        """The controller gets to see this: now, or in its turn, if there is room."""
        if not calls:
            yield logic, trains, queue, was
        elif not self.lagging:
            yield self.serve(logic, calls), trains, queue, was
        elif len(queue) < QUEUE_MAX:
            yield logic, trains, (*queue, calls), was

    # -- one train ------------------------------------------------------------------------------------

    def moves(
        self, logic: tuple[int, ...], train: Train, hits_wait: bool
    ) -> Iterator[tuple[Train, tuple, bool]]:
        path, passed = train
        head = self.track[path[-1]]
        watched = [s for s in path[:-1] if self.track[s].detector]
        if watched:
            rest = path[path.index(watched[0]) + 1 :]
            yield (rest, passed), (("detector", str(self.track[watched[0]].detector), "0"),), False
        sensors = self.sensors(head.name)
        if passed < len(sensors):
            rest = self.rest(path, sensors[passed])
            if not any(self.track[s].detector for s in path[: len(path) - len(rest)]):
                yield (rest, passed + 1), (("hit", sensors[passed]),), False
            return
        if head.name in self.place_block and len(path) > 1 and not watched:
            yield ((head.name,), passed), (), False
        self.c.restore(logic)
        if not self.fed(head.name):
            return
        for n, target in enumerate(str(t) for t in head.to):
            if len(head.to) == 2 and n not in self.may_lie(head.name):
                continue
            yield from self.entered(path, target, self.goes_in(head.name, target, hits_wait))

    def rest(self, path: tuple[str, ...], sensor: str) -> tuple[str, ...]:
        left = [n for n, section in enumerate(path[:-1]) if section in self.clear[sensor]]
        return path[max(left) + 1 :] if left else path

    def fed(self, section: str) -> bool:
        if section not in self.place_block:
            return True
        block = self.place_block[section]
        if block:
            return bool(self.c.logic.feeds >> self.blocks.index(block) & 1)
        return self.layout.track_feed is None or bool(self.c.logic.feeds >> len(self.blocks) & 1)

    def may_lie(self, turnout: str) -> set[int]:
        t = self.turnouts.index(turnout)
        if not self.c.logic.physical >> t & 1:
            return {0, 1}
        return {self.c.words[w.W_POSITION] >> t & 1}

    def goes_in(self, before: str, target: str, hits_wait: bool) -> str:
        """ "yes", "no", "bad" or, for points that may lie both ways, "yes and bad"."""
        if target not in self.turnouts:
            return "yes"
        t = self.turnouts.index(target)
        known = bool(self.c.words[w.W_KNOWN] >> t & 1)
        section = self.track[target]
        ways_in = [str(text) for text in section.come_from]
        if section.in_time and (hits_wait or not known):
            return "no"
        if not ways_in:
            return "yes" if known else "bad"
        lies_right = ways_in.index(before) in self.may_lie(target)
        if known:
            dead = self.layout.turnouts[t].power_routing and before in self.place_block
            return "yes" if lies_right else "no" if dead else "bad"
        if self.layout.turnouts[t].power_routing and before in self.place_block:
            return "bad" if lies_right else "no"
        return "bad"

    def entered(self, path: tuple[str, ...], target: str, how: str) -> Iterator[tuple[Train, tuple, bool]]:
        if how == "no":
            return
        section = self.track[target]
        calls: tuple[Call, ...] = ()
        new = (*path, target)
        passed = 0
        if section.detector:
            calls = (("detector", str(section.detector), "1"),)
        if section.entrance:
            new = self.rest(new, str(section.entrance))
            calls = (*calls, ("hit", str(section.entrance)))
            passed = 1
        yield (new, passed), calls, how == "bad"
