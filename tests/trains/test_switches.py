"""The four ways of running of `three-trains-go-sensor`, and turns between them in mid-run."""

from __future__ import annotations

from pathlib import Path

import pytest

from reedway.boardfile.compile import compile_layout
from reedway.layout.load import load
from reedway.trains.commands import worked_out
from reedway.trains.running.acts import plan_acts
from reedway.trains.running.setup import START_US, Prepared, Stage, Wish, prepare
from reedway.trains.running.traced import Traced
from reedway.trains.running.train import Running

GO_SENSOR = Path(__file__).parents[2] / "config" / "three-trains-go-sensor.yaml"
THREE = "three trains"
SIDING, HALT, ONE = "two trains by the siding", "two trains by Mill Halt", "one train"
SIDING_OUT, SIDING_IN = "turn siding out of service", "turn siding in service"
HOLDING_OUT, HOLDING_IN = "turn holding out of service", "turn holding in service"
OFF = (200, "press train off")
Starts = dict[str, list[float]]  # seconds after the start order


class Log(Traced):
    """Keeps when each train started."""

    def __init__(self, prepared: Prepared) -> None:
        super().__init__(prepared.compiled, prepared.ground, None)
        self.begun: Starts = {}
        self.passed: Starts = {}

    def starts(self, t: int, train: Running) -> None:
        super().starts(t, train)
        self.begun.setdefault(train.name, []).append((t - START_US) / 1e6)

    def entered(self, t: int, train: Running, old: int) -> None:
        super().entered(t, train, old)
        self.passed.setdefault(train.name, []).append((t - START_US) / 1e6)


@pytest.fixture(scope="module")
def ready() -> Prepared:
    layout = load(str(GO_SENSOR))
    return prepare(compile_layout(layout), worked_out(layout))


def run(ready: Prepared, start: str, seconds: int, *acts: tuple[float, str]) -> Log:
    timed = tuple((2000 + round(1000 * s), what) for s, what in acts)
    log = Log(ready)
    stage = Stage(ready, Wish(start=start, acts=timed), log)
    plan_acts(stage)
    stage.world.run(START_US + seconds * 1_000_000)
    stage.world.close()
    log.close(stage.world.now)
    return log


def moves_in(log: Log, train: str, begin: float, end: float) -> int:
    """How often its nose came into another section."""
    return sum(begin <= t < end for t in log.passed.get(train, []))


@pytest.mark.parametrize(("start", "trains"), [(THREE, 3), (SIDING, 2), (HALT, 2), (ONE, 1)])
def test_every_way_of_starting_runs(ready: Prepared, start: str, trains: int) -> None:
    log = run(ready, start, 600)
    assert len(log.trains) == trains and not log.told and not log.trouble()
    assert all(moves_in(log, train, t, t + 120) for train in log.trains for t in range(0, 480, 60))


TURNS = {
    "three, siding out": (THREE, SIDING_OUT),
    "siding, siding out": (SIDING, SIDING_OUT),
    "siding, holding in": (SIDING, HOLDING_IN),
    "halt, holding out": (HALT, HOLDING_OUT),
    "halt, siding in": (HALT, SIDING_IN),
    "one, holding in": (ONE, HOLDING_IN),
    "one, siding in": (ONE, SIDING_IN),
}
TIMES = (31, 47, 64, 90)


@pytest.mark.parametrize("name", [name for name in TURNS if name.endswith("siding out")])
@pytest.mark.parametrize("at", TIMES)
def test_of_the_siding_out_of_service_one_train_stays(ready: Prepared, name: str, at: float) -> None:
    """The others go on; in service again all do."""
    start, what = TURNS[name]
    log = run(ready, start, 420, (at, what))
    assert not log.trouble()
    still = [train for train in log.trains if not moves_in(log, train, at + 110, 420)]
    assert len(still) == 1
    back = run(ready, start, 700, (at, what), (420, SIDING_IN))
    assert not back.trouble()
    assert not [train for train in back.trains if not moves_in(back, train, 500, 700)]


@pytest.mark.parametrize("name", [name for name in TURNS if not name.endswith("siding out")])
@pytest.mark.parametrize("at", TIMES)
def test_any_other_turn_meets_nobody(ready: Prepared, name: str, at: float) -> None:
    """In service without the train that belongs there: the fault says so, or it goes on; nobody meets."""
    start, what = TURNS[name]
    log = run(ready, start, 420, (at, what))
    assert log.wreck is None
    assert not log.trouble() or (what in (HOLDING_IN, SIDING_IN) and "No train came to N1" in log.trouble())
    if name == "halt, holding out":
        assert [kind for _, kind, _ in log.told] == ["caution"]
        assert all(moves_in(log, train, 300, 420) for train in log.trains)


def test_with_three_trains_the_block_is_not_taken_out(ready: Prepared) -> None:
    """A caution, and everything as before; with one lifted off it is out."""
    plain = run(ready, THREE, 300)
    told = run(ready, THREE, 300, (60, HOLDING_OUT))
    assert [words for _, kind, words in told.told if kind == "caution"] == [
        'caution: "Take a train off before that"'
    ]
    assert told.begun == plain.begun
    milk = told.begun["milk train"]
    lifted = run(ready, THREE, 600, (60, HOLDING_OUT), (milk[4] - 2, "lift off milk train"), OFF)
    late = [t for name in ("railcar", "goods train") for t in lifted.begun[name] if t > 300]
    assert lifted.wreck is None and not lifted.faults
    # Nobody is held at Mill Halt any more: one start a lap, in the siding, and both trains go round.
    assert len(late) <= 10 and all(moves_in(lifted, name, 400, 600) for name in ("railcar", "goods train"))


def test_a_third_train_set_on_counts(ready: Prepared) -> None:
    """Two by the siding; holding in service, a train set on at Mill Halt, holding out again: refused."""
    acts = (
        (40, HOLDING_IN),
        (60, "set on milk train at Mill Halt"),
        (60, "press train on"),
        (62, HOLDING_OUT),
    )
    log = run(ready, SIDING, 64, *acts)
    assert [kind for _, kind, _ in log.told] == ["caution"]
