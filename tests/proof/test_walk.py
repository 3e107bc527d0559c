"""The whole controller, clock, keeper and all, does on a long walk what the explorer says the logic does."""

from __future__ import annotations

import random

import pytest

from proof.test_naive import shipped
from reedlogic import words as w
from reedway.proof.prooflog import Drive
from reedway.proof.scene import set_scene
from reedway.proof.told import Told

STEPS = 300


@pytest.mark.parametrize("name", ["three-trains-pairs", "three-trains-interlocked", "two-trains"])
@pytest.mark.parametrize("seed", [1, 2])
def test_a_walk_with_the_clock_is_a_walk_of_the_explorer(name: str, seed: int) -> None:
    """Throws first, as they take less time than a train; then any train that can go on takes its step."""
    made = shipped(name)
    scene = set_scene(made, 0)
    world, state = scene.world(lagging=False)
    drive = Drive(made, 0, scene)
    drive.begin()
    dice = random.Random(seed)
    moved = dict.fromkeys(scene.trains, 0)
    for n in range(STEPS):
        told: list[Told] = []
        after = world.expand(state, told)
        assert not world.bad
        throws = [i for i, one in enumerate(told) if one.kind == "throw"]
        steps = throws[:1] or [i for i, one in enumerate(told) if one.kind != "timer"]
        chosen = dice.choice(steps)
        drive.step(told[chosen], state)
        state = after[chosen]
        if told[chosen].who:
            moved[told[chosen].who] += 1
        logic = drive.controller.logic
        saved = world.packing.unpack(state & world.machine.all)
        assert logic.feeds == state & (1 << world.packing.first_at) - 1, f"seed {seed}, step {n}"
        assert [logic.words[k] for k in range(4)] == list(saved[:4]), f"seed {seed}, step {n}"
        assert logic.words[w.W_POSITION] == saved[w.W_POSITION]
    assert min(moved.values()) > STEPS / 12  # all of them come round
