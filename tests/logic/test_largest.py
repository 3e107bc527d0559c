"""The largest plans that `check` lets through: as DESIGN says, and compiled to instructions the same."""

from pathlib import Path

import pytest

from logic import largest, on_micropython
from logic.drive import Player, play
from logic.runs import difference
from logic.test_oracle import Beside
from reedlogic import words as w
from reedway.boardfile.clash import EVENTS_MAX


def test_they_are_as_large_as_can_be() -> None:
    plan, _session = largest.largest_case(0, contacts=False)
    rules = [len(event) - 1 for event in plan[w.PLAN_AT]]
    assert (len(rules), max(rules), len(plan[w.PLAN_STANDING])) == (EVENTS_MAX, 30, 100)
    assert sum(rules) + len(plan[w.PLAN_STANDING]) == 900


@pytest.mark.parametrize("seed", range(3))
def test_they_do_what_the_text_says(seed: int) -> None:
    plan, session = largest.largest_case(seed, contacts=False)
    player, beside = Player(plan, session), Beside(plan, session)
    for step in player.steps:
        player.step(step)
        beside.step(step)
        c = player.controller
        assert (c.logic.feeds, c.logic.lamps, c.keeper.supply_out) == beside.outputs(), step[0]
    assert not difference(player.out, beside.oracle.records)
    assert len(player.out) > 300


def test_compiled_to_instructions_they_make_the_same_records(tmp_path: Path) -> None:
    made = [largest.largest_case(seed, contacts=True) for seed in range(10, 14)]
    path = tmp_path / "cases.txt"
    path.write_text("".join(f"{one!r}\n" for one in made))
    here = "".join(
        "case\n" + "".join("%d %d %d %d\n" % record for record in play(plan, session))
        for plan, session in made
    )
    script = on_micropython.HERE / "play_file.py"
    firmware = on_micropython.compiled(tmp_path, script, on_micropython.NATIVE_HERE)
    assert on_micropython.run("play_file", str(path), firmware=firmware) == here
    assert here.count("\n") > 1200
