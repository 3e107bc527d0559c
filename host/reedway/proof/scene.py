"""Sets the scene of a proof: a layout's compiled rules, its track, and trains at the places of a start."""

from __future__ import annotations

from dataclasses import dataclass, replace

from reedlogic import words as w
from reedway.boardfile.compile import Compiled
from reedway.boardfile.numbering import Input
from reedway.problems import ReedwayError
from reedway.proof.explored import Explored
from reedway.proof.fault import NoFault
from reedway.proof.machine import Machine
from reedway.proof.spots import Spots
from reedway.proof.world import World
from reedway.track.railway import Track

OPEN_SWITCHES_MAX = 4  # more are left off
TRAIN_NAMES = ("the railcar", "the goods train", "the milk train")


@dataclass
class Scene:
    """One start of a layout, ready to be explored in several worlds."""

    start: str  # its name, and how the switches stand that it leaves open
    machine: Machine
    spots: Spots
    logic: int  # state of the logic right after the start
    trains: list[str]
    places: list[int]
    compiled: Compiled
    start_number: int
    turned_on: tuple[int, ...] = ()  # switches that are on though the start does not ask for it

    def world(self, lagging: bool, fault: NoFault | None = None) -> tuple[World, int]:
        """A world and its first state."""
        world = World(self.machine, self.spots, self.trains, lagging, fault)
        spots = [self.spots.at_place[place] for place in self.places]
        return world, world.state(self.logic, spots)

    def with_plan(self, plan: tuple) -> Scene | None:
        """The same scene with other rules or start values; None when the start is refused."""
        machine = Machine(plan)
        begin(machine.explored, self.start_number, self.turned_on)
        if not machine.explored.logic.started:
            return None
        return replace(self, machine=machine, logic=machine.state())


def begin(explored: Explored, start: int, turned_on: tuple[int, ...]) -> None:
    """Switches as the start wants them and these on; then the order to start."""
    conditions = explored.plan[w.PLAN_STARTS][start][0]
    for j in range(0, len(conditions), 3):
        explored.words[conditions[j]] |= conditions[j + 2]
    for index in turned_on:
        explored.set_level(index, 1)
    explored.logic.gate(0)
    explored.order(w.O_START, start)


def train_names(count: int) -> list[str]:
    """The railcar, the goods train, the milk train, train 4 ..."""
    return [TRAIN_NAMES[i] if i < len(TRAIN_NAMES) else f"train {i + 1}" for i in range(count)]


def set_scene(compiled: Compiled, start: int, turned_on: tuple[int, ...] = ()) -> Scene:
    """The scene of one start, with these switches on that the start does not ask for.

    ReedwayError where the layout cannot be proved.
    """
    layout = compiled.layout
    if not layout.track:
        raise ReedwayError(
            f"{layout.path}: nothing to prove without a track; describe it under track: (check --schema)"
        )
    machine = Machine(compiled.plan)
    places = compiled.plan[w.PLAN_STARTS][start][4]
    begin(machine.explored, start, turned_on)
    if not machine.explored.logic.started:
        raise ReedwayError(f"{layout.path}: start {layout.starts[start].name} is refused by the logic")
    spots = Spots(Track(layout), compiled.numbering, machine.packing)
    at = [place for place in range(len(layout.places)) if places >> place & 1]
    name = layout.starts[start].name
    scene = Scene(name, machine, spots, machine.state(), train_names(len(at)), at, compiled, start)
    for item in open_switches(compiled, start):
        word = item.words[0] if item.index in turned_on else item.words[1]
        scene.start += f", {item.name} {word}"
    scene.turned_on = turned_on
    return scene


def open_switches(compiled: Compiled, start: int) -> list[Input]:
    """Switches that rules look at and the start does not ask for: they may stand either way."""
    conditions = compiled.plan[w.PLAN_STARTS][start][0]
    asked = dict(zip(conditions[::3], conditions[1::3], strict=True))
    read: dict[int, int] = {}
    rules = [rule for event in compiled.plan[w.PLAN_AT] for rule in event[1:]] + list(
        compiled.plan[w.PLAN_STANDING]
    )
    for rule_conditions, _acts in rules:
        for j in range(0, len(rule_conditions), 3):
            read[rule_conditions[j]] = read.get(rule_conditions[j], 0) | rule_conditions[j + 1]
    return [
        item
        for item in compiled.numbering.inputs
        if item.kind == "switch" and read.get(item.word, 0) & ~asked.get(item.word, 0) & item.bit
    ]


def scenes(compiled: Compiled, start: int) -> list[Scene]:
    """The scenes of a start: one for each way in which the switches that it leaves open may stand."""
    switches = open_switches(compiled, start)[:OPEN_SWITCHES_MAX]
    found = []
    for bits in range(1 << len(switches)):
        on = tuple(item.index for i, item in enumerate(switches) if bits >> i & 1)
        found.append(set_scene(compiled, start, on))
    return found
