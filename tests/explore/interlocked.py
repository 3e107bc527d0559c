"""How trains can move on three-trains-interlocked: ten head points, and the stretches a train lies on there.

 0 stopped in its siding track            5 into the block Bridge
 1 into the exit turnout and M1           6 at the block's sensor N3, fully in
 2 at the go sensor N1, tail clear        7 into M2
 3 on                                     8 at the entry sensor N4, tail clear of the block
 4 at Mill Halt (sensor N2)               9 into the entry turnout and the track it is set for

Any train may move at any time if its rails are live. The ends of the siding tracks, of Mill Halt and of
Bridge Halt can be dead, and everything is at stop; then a train on other rails may still coast.

The rails are modelled here by hand, apart from the track that `prove` reads; the search is that of `prove`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from reedlogic.words import O_GO, O_GO_ON, O_HOLD, O_START, O_STOP, W_HELD, W_KNOWN, W_POSITION
from reedway.boardfile.compile import Compiled, compile_layout
from reedway.layout.load import load_bytes
from reedway.proof.explored import Explored
from reedway.proof.liveness import Graph, stuck
from reedway.proof.search import STATES_MAX, search

FILE = Path(__file__).parents[2] / "config" / "three-trains-interlocked.yaml"
NAMES = ("railcar", "goods train", "milk train")

Train = tuple[int, str]  # head point, siding track ("" between 2 and 8)
World = tuple[Train, ...]
Call = tuple[str, int] | tuple[str, int, int]  # a method of Explored and its arguments
TRACKS = ("", "A", "B")
LOGIC_BITS, TRAIN_BITS = 24, 5  # of a state: number of the snapshot, then a field for each train
THROWS_MAX = 100  # that one event may lead to, one after the other

STRETCHES = (
    ("{track}",),
    ("{track}", "exit", "M1"),
    ("M1",),
    ("M1",),
    ("M1", "Mill Halt"),  # perhaps not yet with its last wheel
    ("Mill Halt", "Bridge Halt"),
    ("Bridge Halt",),
    ("Bridge Halt", "M2"),
    ("M2",),
    ("M2", "entry", "{track}"),
)
SENSOR_AT = {2: "N1", 4: "N2", 6: "N3", 8: "N4"}
SIDING_SENSOR = {"A": "N5", "B": "N6"}
PLACES = ("track A", "Mill Halt", "Bridge Halt")  # one for each block
STARTS: dict[str, World] = {
    "three trains": ((0, "A"), (0, "B"), (4, "")),
    "two trains": ((0, "A"), (0, "B")),
    "one train": ((0, "A"),),
}


@dataclass(frozen=True)
class Move:
    """One thing that can happen on the rails next."""

    text: str
    calls: tuple[Call, ...]  # events of the logic that it makes, in this order
    world: World  # as it is afterwards


@dataclass
class Findings:
    """What a search came to; clean when nothing is wrong, nobody stuck, and nothing was cut off."""

    states: int
    transitions: int
    wrong: str = ""  # the first thing that must not be
    stuck: str = ""  # who can never move again
    way: list[str] = field(default_factory=list)  # steps from the start to it
    cut_off: bool = False

    @property
    def clean(self) -> bool:
        return not (self.wrong or self.stuck or self.cut_off)


class Line:
    """The layout with the moves of its trains; if wished with an owner's orders, and with missed hits."""

    def __init__(self, source: str, orders: bool = False, missed_hits: bool = False) -> None:
        self.orders = orders
        self.missed_hits = missed_hits
        self.states_max = STATES_MAX
        self.compiled: Compiled = compile_layout(load_bytes(str(FILE), source.encode()))
        names = self.compiled.names
        self.inputs = {name: i for i, name in enumerate(names.inputs)}
        self.feeds = {name: i for i, name in enumerate(names.blocks)}
        self.exit, self.entry = (
            i for i, (name, _, _) in enumerate(names.turnouts) if name in ("exit", "entry")
        )

    def explore(self, start: str, throws_at_once: bool) -> Findings:
        """Everything that can happen after a start."""
        compiled = self.compiled
        machine = Explored(compiled.plan)
        world = STARTS[start]
        machine.set_level(self.inputs["second train"], int(len(world) >= 2))
        machine.set_level(self.inputs["third train"], int(len(world) >= 3))
        machine.order(O_START, compiled.names.starts.index(start))
        rails = Rails(self, machine, throws_at_once)
        found = search(rails, rails.begin(world), self.states_max)
        findings = Findings(found.states, found.transitions, found.bad, cut_off=bool(found.cut_off))
        if found.bad:
            findings.way = rails.told(found.way_to(found.bad_state))
        elif findings.clean:
            nowhere = stuck(Graph(rails, found))
            if nowhere:
                findings.stuck = ", ".join(NAMES[j] for _, j in nowhere)
                findings.way = rails.told(found.way_to(nowhere[0][0]))
        return findings

    # -- moves ----------------------------------------------------------------------------------------

    def is_fed(self, m: Explored, feed: str) -> bool:
        return m.feeds >> self.feeds[feed] & 1 == 1

    def lies(self, m: Explored, turnout: int) -> str:
        """Where the turnout physically lies; "" when that is not known."""
        if not m.logic.physical >> turnout & 1:
            return ""
        return "AB"[m.words[W_POSITION] >> turnout & 1]

    def may_go(self, m: Explored, train: Train) -> bool:
        """The rails under its engine are live, or it coasts."""
        point, track = train
        if point == 0:
            return self.is_fed(m, "Lindholt") and self.lies(m, self.exit) == track
        if point == 4:
            return self.is_fed(m, "Mill")
        return point != 6 or self.is_fed(m, "Bridge")

    def moves(self, world: World, m: Explored) -> Iterator[Move]:
        for i, train in enumerate(world):
            if self.may_go(m, train):
                yield from self.steps(world, i, m)
        if self.orders:
            yield from self.given(world, m)

    def steps(self, world: World, i: int, m: Explored) -> Iterator[Move]:
        """Train i goes to its next head point."""
        point, track = world[i]
        after = (point + 1) % 10
        if after == 9:
            track = self.lies(m, self.entry)
        leaves = SIDING_SENSOR[track] if point == 0 else SENSOR_AT.get(point)
        comes = SIDING_SENSOR.get(track) if after == 0 else SENSOR_AT.get(after)
        calls: tuple[Call, ...] = ()
        if leaves and m.level(self.inputs[leaves]):
            calls += (("opening", self.inputs[leaves]),)
        there = (after, "" if after == 2 else track)
        moved = (*world[:i], there, *world[i + 1 :])
        text = f"{NAMES[i]} to {after}{there[1]}"
        if comes and self.missed_hits:
            yield Move(f"{text}, {comes} misses it", calls, moved)
        if comes:
            calls += (("hit", self.inputs[comes]),)
        yield Move(text, calls, moved)

    def given(self, world: World, m: Explored) -> Iterator[Move]:
        """What an owner may order at any time: stop and go on, hold and let go of each block's place."""
        order = O_GO_ON if m.logic.stopped else O_STOP
        yield Move(f"order {order}", (("order", order, 0),), world)
        for place in PLACES:
            index = self.compiled.names.places.index(place)
            block = self.compiled.plan[6][index]
            order = O_GO if m.words[W_HELD] & block else O_HOLD
            yield Move(f"order {order} {place}", (("order", order, index),), world)

    # -- what must not be -------------------------------------------------------------------------------

    def wrong(self, world: World, m: Explored) -> str:
        """Two trains on one stretch, or a train on a turnout that may move or has not arrived."""
        taken: dict[str, str] = {}
        outstanding = ~m.words[W_KNOWN]
        for name, (point, track) in zip(NAMES, world, strict=False):
            if point == 9 and not track:
                return f"{name} runs into an entry that lies nowhere"
            for form in STRETCHES[point]:
                stretch = form.format(track=f"track {track}")
                if stretch in taken:
                    return f"{name} and {taken[stretch]} on {stretch}"
                taken[stretch] = name
            if point == 1 and outstanding >> self.exit & 1:
                return f"exit moves under {name}"
            if point == 9 and outstanding >> self.entry & 1:
                return f"entry moves under {name}"
        return ""


class Rails:
    """States of one search as numbers, and every step from each: what `search` and `Graph` ask for."""

    def __init__(self, line: Line, machine: Explored, throws_at_once: bool) -> None:
        self.line = line
        self.machine = machine
        self.throws_at_once = throws_at_once  # else each turnout in position is a step of its own
        self.bad = ""
        self.known: dict[int, list[int]] = {}
        self.snapshots: list[tuple[int, ...]] = []
        self.numbers: dict[tuple[int, ...], int] = {}
        self.fields: list[tuple[int, int]] = []
        self.gone = (1 << TRAIN_BITS) - 1

    def begin(self, world: World) -> int:
        """The state in which the machine is, with the trains where `world` says."""
        self.fields = [(LOGIC_BITS + j * TRAIN_BITS, self.gone) for j in range(len(world))]
        self._settle_throws()
        return self._state(world)

    def expand(self, state: int) -> list[int]:
        """States that one step leads to; worked out once, as the search and its graph both ask."""
        if state not in self.known:
            self.known[state] = [after for _, after in self.steps(state)]
        return self.known[state]

    def steps(self, state: int) -> Iterator[tuple[str, int]]:
        """(what happens, state after it); sets `bad` when the state itself must not be."""
        snapshot = self.snapshots[state & (1 << LOGIC_BITS) - 1]
        world = self._world(state)
        machine = self.machine
        machine.restore(snapshot)
        wrong = self.line.wrong(world, machine)
        if wrong:
            self.bad = wrong
            return
        moves = list(self.line.moves(world, machine))
        moves += [
            Move(f"turnout {turnout} in position", (("in_position", turnout),), world)
            for turnout in machine.throws_possible()
        ]
        running = machine.timers_running
        moves += [
            Move(f"timer {timer} runs out", (("timer_end", timer),), world)
            for timer in range(running.bit_length())
            if running >> timer & 1
        ]
        for move in moves:
            machine.restore(snapshot)
            for name, *values in move.calls:
                getattr(machine, name)(*values)
                self._settle_throws()
            yield move.text, self._state(move.world)

    def told(self, way: list[int]) -> list[str]:
        """The steps of a way in words."""
        texts = ["start"]
        for state, after in zip(way, way[1:], strict=False):
            texts.append(next(text for text, to in self.steps(state) if to == after))
        return texts

    def spot_of(self, state: int, j: int) -> int:
        return state >> self.fields[j][0] & self.gone

    def _world(self, state: int) -> World:
        spots = (divmod(self.spot_of(state, j), len(TRACKS)) for j in range(len(self.fields)))
        return tuple((point, TRACKS[track]) for point, track in spots)

    def _state(self, world: World) -> int:
        snapshot = self.machine.save()
        number = self.numbers.setdefault(snapshot, len(self.numbers))
        if number == len(self.snapshots):
            self.snapshots.append(snapshot)
        assert number < 1 << LOGIC_BITS
        for (at, _), (point, track) in zip(self.fields, world, strict=True):
            number |= point * len(TRACKS) + TRACKS.index(track) << at
        return number

    def _settle_throws(self) -> None:
        """With throws at once: every turnout that can come into position does so now."""
        if not self.throws_at_once:
            return
        for _ in range(THROWS_MAX):
            possible = self.machine.throws_possible()
            if not possible:
                return
            self.machine.in_position(possible[0])
        raise RuntimeError(f"{THROWS_MAX} throws and no end: rules throw a turnout to and fro")
