"""A ring of blocks has exactly the states and transitions that combinatorics says.

N * C(K, N) states and N * K * C(K - 2, N - 1) transitions: trains that keep their cyclic order on a ring, one
step being a train before an empty block (the exclusion process on a ring, counted by hand).
"""

from __future__ import annotations

import json
import random
import subprocess
import sys
from pathlib import Path

import pytest

from proof.agree import disagreements
from proof.ring import ring, states_of, transitions_of
from reedway.proof.scene import set_scene
from reedway.proof.search import search

SPEED = Path(__file__).parents[1] / "speed" / "prove.py"
SIZES = [(blocks, trains) for blocks in range(2, 13) for trains in range(1, blocks)]


@pytest.mark.parametrize(("blocks", "trains"), SIZES)
def test_states_and_transitions_are_those_of_the_formula(blocks: int, trains: int) -> None:
    world, start = set_scene(ring(blocks, trains), 0).world(lagging=False)
    found = search(world, start)
    assert (found.bad, found.cut_off, found.dead) == ("", "", 0)
    assert found.states == states_of(blocks, trains)
    assert found.transitions == transitions_of(blocks, trains)


@pytest.mark.parametrize("blocks", [2, 3, 7, 12])
def test_a_full_ring_is_one_dead_state(blocks: int) -> None:
    world, start = set_scene(ring(blocks, blocks), 0).world(lagging=False)
    found = search(world, start)
    assert (found.states, found.transitions, found.dead) == (1, 0, 1)


@pytest.mark.parametrize("blocks", range(2, 11))
def test_the_table_agrees_with_the_controller_on_every_transition(blocks: int) -> None:
    for trains in range(1, blocks):
        world, start = set_scene(ring(blocks, trains), 0).world(lagging=False)
        found = search(world, start)
        compared, wrong = disagreements(world, found.came_from)
        assert compared == transitions_of(blocks, trains)
        assert not wrong


@pytest.mark.parametrize(("blocks", "trains"), [(12, 6), (15, 5)])
def test_the_table_agrees_with_the_controller_on_a_sample(blocks: int, trains: int) -> None:
    world, start = set_scene(ring(blocks, trains), 0).world(lagging=False)
    found = search(world, start)
    sample = random.Random(3).sample(list(found.came_from), 400)
    compared, wrong = disagreements(world, sample)
    assert compared > 400
    assert not wrong


def test_a_limit_of_states_ends_the_search() -> None:
    world, start = set_scene(ring(12, 6), 0).world(lagging=False)
    found = search(world, start, states_max=1000)
    assert found.cut_off == "states"
    assert 1000 < found.states <= 5544


def test_the_command_prints_json() -> None:
    run = subprocess.run(
        [sys.executable, SPEED, "--blocks", "6", "--trains", "3"], capture_output=True, text=True, check=True
    )
    out = json.loads(run.stdout)
    assert (out["states"], out["transitions"]) == (60, 108)
    assert out["seconds"] > 0 and out["peak_mb"] > 0
