"""Compares what the table says an event does with what the controller itself does."""

from __future__ import annotations

from collections.abc import Iterable

from reedway.proof.world import World


def disagreements(world: World, states: Iterable[int]) -> tuple[int, list[tuple[int, int]]]:
    """How many transitions were compared, and the (state, event) whose table entry is wrong."""
    machine = world.machine
    compared = 0
    wrong = []
    for state in states:
        logic = state & machine.all
        events = set(world.throws if state & world.pending else ())
        for j in range(len(world.trains)):
            for mask, value, event, _, _ in world.tables[j][world.spot_of(state, j)]:
                if state & mask == value and event >= 0:
                    events.add(event)
        for event in events:
            compared += 1
            if machine.step(logic, event) != machine.ask(logic, event):
                wrong.append((logic, event))
    return compared, wrong
