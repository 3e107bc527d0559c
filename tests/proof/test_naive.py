"""The explorer of `prove` and a naive one agree on states, steps, dead states and verdicts."""

from __future__ import annotations

from pathlib import Path

import pytest

from proof.naive import Naive
from proof.ring import ring
from reedway.boardfile.compile import Compiled
from reedway.proof.faults import LostHit, NoFault, Phantom
from reedway.proof.scene import set_scene
from reedway.proof.search import search
from track.lines import Line, compile_unwired, compiled, load_unwired

CONFIG = Path(__file__).parents[2] / "config"


def shipped(name: str) -> Compiled:
    return compiled((CONFIG / f"{name}.yaml").read_text(encoding="utf-8"))


def broken(line: Line, rule: int) -> Compiled:
    """A derived line with one rule taken out."""
    layout = load_unwired(line.text())
    del layout.rules[rule]
    return compile_unwired(layout)


def hasty(line: Line, n: int) -> Compiled:
    """A derived line in which the n-th rule that sends a train does not look whether the way is free."""
    layout = load_unwired(line.text())
    rule = [rule for rule in layout.rules if rule.at is None][n]
    rule.conditions[:] = [text for text in rule.conditions if not text.text.endswith("kept out")]
    return compile_unwired(layout)


TWO = Line(trains=3, pairs=False)
CASES = {
    "one track, one hold": lambda: compiled(Line(1, 1, False, "go when free", trains=1)),
    "one track, two holds": lambda: compiled(Line(1, 2, True, "go when free", trains=2)),
    "two tracks, one hold": lambda: compiled(Line(2, 1, False, trains=2)),
    "pairs": lambda: compiled(Line(trains=3)),
    "go when free": lambda: compiled(Line(leaves="go when free", pairs=False, trains=3)),
    "wait for a partner": lambda: compiled(Line(leaves="wait for a partner", trains=3)),
    "three tracks": lambda: compiled(Line(3, 1, False, trains=3)),
    "three tracks, starving": lambda: compiled(Line(3, 1, False, "go when free", trains=3)),
    "power-routing": lambda: compiled(Line(trains=2, power_routing=True)),
    "contacts": lambda: compiled(Line(trains=2, contacts=True)),
    "detectors": lambda: compiled(Line(trains=2, detectors=True, pairs=False)),
    "as many trains as places": lambda: compiled(Line(2, 2, False, trains=4)),
    "ring": lambda: ring(6, 3),
    "full ring": lambda: ring(5, 5),
    "two-trains": lambda: shipped("two-trains"),
    "two-trains, points not in time": lambda: compiled(
        (CONFIG / "two-trains.yaml").read_text(encoding="utf-8").replace(", in_time: true", "")
    ),
    "go sensor": lambda: shipped("three-trains-go-sensor"),
    "interlocked": lambda: shipped("three-trains-interlocked"),
    "derived": lambda: shipped("three-trains-pairs"),
    **{f"without rule {n}": lambda n=n: broken(TWO, n) for n in range(0, 17, 3)},
    **{f"hasty {n}": lambda n=n: hasty(TWO, n) for n in range(5)},
}


@pytest.mark.parametrize("lagging", [False, True], ids=["at once", "lagging"])
@pytest.mark.parametrize("case", CASES)
def test_both_explorers_agree(case: str, lagging: bool) -> None:
    made = CASES[case]()
    naive = Naive(made, 0, lagging).explore()
    world, start = set_scene(made, 0).world(lagging)
    found = search(world, start, past_bad=True)
    assert (found.states, found.transitions, found.dead) == (naive.states, naive.transitions, naive.dead)
    assert bool(search(world, start).bad) == bool(naive.bad)


WITH_FAULTS = (
    "one track, two holds",
    "detectors",
    "ring",
    "two-trains",
    "go sensor",
    "without rule 3",
    "derived",
)


@pytest.mark.parametrize("lagging", [False, True], ids=["at once", "lagging"])
@pytest.mark.parametrize("kind", [LostHit, Phantom])
@pytest.mark.parametrize("case", WITH_FAULTS)
def test_both_agree_on_a_hit_too_few_and_one_too_many(case: str, kind: type[NoFault], lagging: bool) -> None:
    if lagging and case in ("detectors", "derived", "ring"):
        case = "two tracks, one hold"  # the naive one takes too long
    made = CASES[case]()
    naive = Naive(made, 0, lagging, kind.name).explore()
    world, start = set_scene(made, 0).world(lagging, kind())
    found = search(world, start, past_bad=True)
    assert (found.states, found.transitions, found.dead) == (naive.states, naive.transitions, naive.dead)


def test_there_are_sound_and_broken_ones_among_them() -> None:
    bad = 0
    for make in CASES.values():
        world, start = set_scene(make(), 0).world(lagging=False)
        bad += bool(search(world, start).bad)
    assert len(CASES) >= 20
    assert bad >= 5
    assert len(CASES) - bad >= 10
