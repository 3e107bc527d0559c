"""Sets the scene of a proof: a layout's compiled rules, its track, and trains at the places of a start."""

from __future__ import annotations

from dataclasses import dataclass

from reedlogic import words as w
from reedway.boardfile.compile import Compiled
from reedway.problems import ReedwayError
from reedway.proof.faults import NoFault
from reedway.proof.machine import Machine
from reedway.proof.spots import Spots
from reedway.proof.world import World
from reedway.track.railway import Track

TRAIN_NAMES = ("the railcar", "the goods train", "the milk train")


@dataclass
class Scene:
    """One start of a layout, ready to be explored in several worlds."""

    start: str
    machine: Machine
    spots: Spots
    logic: int  # state of the logic right after the start
    trains: list[str]
    places: list[int]

    def world(self, lagging: bool, fault: NoFault | None = None) -> tuple[World, int]:
        """A world and its first state."""
        world = World(self.machine, self.spots, self.trains, lagging, fault)
        spots = [self.spots.at_place[place] for place in self.places]
        return world, world.state(self.logic, spots)


def train_names(count: int) -> list[str]:
    """The railcar, the goods train, the milk train, train 4 ..."""
    return [TRAIN_NAMES[i] if i < len(TRAIN_NAMES) else f"train {i + 1}" for i in range(count)]


def set_scene(compiled: Compiled, start: int) -> Scene:
    """The scene of one start; ReedwayError where the layout cannot be proved."""
    layout = compiled.layout
    if not layout.track:
        raise ReedwayError(
            f"{layout.path}: nothing to prove without a track; describe it under track: (check --schema)"
        )
    machine = Machine(compiled.plan)
    conditions, _relays, _positions, _go, places = compiled.plan[16][start]
    explored = machine.explored
    for j in range(0, len(conditions), 3):
        explored.words[conditions[j]] |= conditions[j + 2]
    explored.logic.gate(0)
    explored.order(w.O_START, start)
    if not explored.logic.started:
        raise ReedwayError(f"{layout.path}: start {layout.starts[start].name} is refused by the logic")
    spots = Spots(Track(layout), compiled.numbering, machine.packing)
    at = [place for place in range(len(layout.places)) if places >> place & 1]
    return Scene(layout.starts[start].name, machine, spots, machine.state(), train_names(len(at)), at)
