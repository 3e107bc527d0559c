"""`simulate` against a SimPy model of the same layout that knows nothing of it but the controller."""

from __future__ import annotations

from pathlib import Path

from reedlogic import words as w
from reedway.boardfile.compile import Compiled, compile_layout
from reedway.layout.load import load
from reedway.trains.commands import worked_out
from reedway.trains.running.figures import Figures
from reedway.trains.running.ground import Ground
from reedway.trains.running.setup import HOUR_US, START_US, Stage, Wish, prepare
from trains.simpy_model import Show

LAYOUT = Path(__file__).parents[2] / "config" / "three-trains-interlocked.yaml"
Hits = list[tuple[int, str]]


class Hook(Figures):
    """Keeps every hit."""

    kept: Hits

    def __init__(self, compiled: Compiled, ground: Ground) -> None:
        super().__init__(compiled, ground)
        self.kept = []

    def record(self, record) -> None:  # type: ignore[no-untyped-def]
        super().record(record)
        if record[1] == w.R_HIT:
            self.kept.append((record[0], self.compiled.names.inputs[record[2]]))


def both(hours: float) -> tuple[Hits, Hits]:
    """The hits of `simulate` and of the model."""
    layout = load(str(LAYOUT))
    prepared = prepare(compile_layout(layout), worked_out(layout))
    hooks = Hook(prepared.compiled, prepared.ground)
    stage = Stage(prepared, Wish(hours=hours), hooks)
    places = [prepared.ground.sections[train.section].name for train in stage.world.trains]
    trains = [(t.name, place, t.s0) for t, place in zip(stage.world.trains, places, strict=True)]
    model = Show(LAYOUT, prepared.compiled.plan, trains)
    stage.world.run(START_US + round(hours * HOUR_US))
    return hooks.kept, model.run(hours)


def test_one_hour_has_the_same_hits_to_the_millisecond() -> None:
    """Ten hours by `tests/speed/simulate.py --hours 10 --compare`."""
    ours, theirs = both(1.0)
    assert len(ours) > 700
    assert ours == theirs
