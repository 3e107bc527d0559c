"""The go sensor's window: what the search finds is what running times give on paper, to the millimetre.

The paper is gosensor.py: lengths over speeds, each leg rounded outward to the same ticks. In real times the
window is wider by no more than one tick for each leg.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import pytest

from reedway.boardfile.compile import Compiled, compile_layout
from reedway.layout.load import load_bytes
from reedway.proof.timed.clock import Clock
from reedway.proof.timed.gosensor import GoSensor, Roles
from reedway.proof.timed.judge import TimedLimits, TimedVerdict
from reedway.proof.timed.window import Windows

CONFIG = Path(__file__).parents[3] / "config" / "three-trains-go-sensor.yaml"
WAY = ("exit", "line", "valley", "Mill Halt", "home", "entry")
ROLES = Roles("N1", WAY, "track A", "Mill Halt", "valley", "let out", "go due")
SHIPPED_MM = 1000
RANGE = (-240, 5000)
TICK_MS = 100
LEGS_MAX = 24  # between the two events of an inequality


@lru_cache(maxsize=4)
def layout(go_due: str = "11 s") -> Compiled:
    text = CONFIG.read_text()
    assert "go due: 11 s" in text
    return compile_layout(load_bytes("go.yaml", text.replace("go due: 11 s", f"go due: {go_due}").encode()))


def silent() -> Compiled:
    """The layout with an N1 that does not say what a train has left."""
    compiled = compile_layout(load_bytes("go.yaml", CONFIG.read_bytes()))
    compiled.layout.sensors[0].tail_clear_of.clear()
    return compiled


def judged(compiled: Compiled, spot_mm: int, only: tuple[str, ...] = ()) -> TimedVerdict | None:
    """The first verdict that is not "proved", of every order of trains or of one only."""
    windows = Windows(compiled, Clock(TICK_MS), TimedLimits(2_000_000, 4_000), "three trains")
    if only:
        windows.made = sorted(windows.made, key=lambda one: only.index(one.name))
        windows.orders = lambda scene, made: [tuple(made)]
    return windows.judge("N1", spot_mm - SHIPPED_MM)


def placed(trains: tuple[str, ...]) -> tuple[str, ...]:
    """Those of a bound (ahead, held, next) as they stand in track A, track B, Mill Halt."""
    return trains[0], trains[2], trains[1]


def test_the_shipped_spot_is_within() -> None:
    low, high = GoSensor(layout(), ROLES, None).window(*RANGE)
    assert low.at_mm < SHIPPED_MM < high.at_mm
    assert (low.trains[0], high.trains[0]) == ("goods train", "goods train")


def test_nearer_than_on_paper_the_tail_is_not_clear() -> None:
    low, _ = GoSensor(layout(), ROLES, Clock(TICK_MS)).window(*RANGE)
    # By hand: 900 mm long, 30 mm to the magnet, it operates over 29 mm.
    assert low.at_mm == 885 >= 900 - 30 + 29 / 2 > 884
    assert judged(layout(), low.at_mm, placed(low.trains)) is None
    verdict = judged(layout(), low.at_mm - 1, placed(low.trains))
    assert verdict is not None and verdict.result == "refuted"
    assert verdict.why == "the goods train is still in exit when its hit at N1 says that it has left it"


def test_nearer_still_the_next_train_comes_too_soon() -> None:
    low, _ = GoSensor(silent(), ROLES, Clock(TICK_MS)).window(*RANGE)
    assert low.why == "the next train comes into valley before the last car of the one ahead has left it"
    assert judged(silent(), low.at_mm) is None
    verdict = judged(silent(), low.at_mm - 1)
    assert verdict is not None and verdict.result == "refuted"
    assert verdict.trains == placed(low.trains)
    assert verdict.why == f"the {low.trains[0]} and the {low.trains[2]} are both in valley"


def test_farther_than_on_paper_the_watch_runs_out() -> None:
    _, high = GoSensor(layout(), ROLES, Clock(TICK_MS)).window(*RANGE)
    assert judged(layout(), high.at_mm, placed(high.trains)) is None
    verdict = judged(layout(), high.at_mm + 1)
    assert verdict is not None and verdict.why == "no train can ever move again"
    assert verdict.steps[-1].told.text == "the timer go due runs out"


def test_without_the_watch_it_runs_into_the_held_train() -> None:
    _, high = GoSensor(layout("30 s"), ROLES, Clock(TICK_MS)).window(*RANGE)
    assert high.why == "the train comes to Mill Halt before the last car of the held one has left it"
    assert judged(layout("30 s"), high.at_mm, placed(high.trains)) is None
    verdict = judged(layout("30 s"), high.at_mm + 1)
    assert verdict is not None
    assert verdict.why == f"the {high.trains[0]} and the {high.trains[1]} are both in Mill Halt"


@pytest.mark.parametrize("tick_ms", [200, 100, 50, 20, 5, 1])
def test_ticks_only_make_it_narrower_and_by_a_tick_a_leg(tick_ms: int) -> None:
    low, high = GoSensor(layout(), ROLES, None).window(*RANGE)
    ticked_low, ticked_high = GoSensor(layout(), ROLES, Clock(tick_ms)).window(*RANGE)
    spread = 1 + LEGS_MAX * tick_ms / 1000 * 360
    assert low.at_mm <= ticked_low.at_mm <= low.at_mm + spread
    assert high.at_mm - spread <= ticked_high.at_mm <= high.at_mm
