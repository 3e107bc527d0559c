"""Running-time confirmation: single phantom hits are harmless within declared speeds, and only with it.

A hit is tried at every tick, so a time that is too short, or none, is refuted.
"""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from reedway.boardfile.compile import compile_layout
from reedway.cli import main
from reedway.layout.load import load_bytes
from reedway.proof.faults import LostHit, Phantom
from reedway.proof.judge import FAILS, GOES_ON, STOPS_SAFELY
from reedway.proof.scene import set_scene
from reedway.proof.timed.clock import Clock
from reedway.proof.timed.judge import TimedLimits, judge_timed
from reedway.proof.timed.rails import Rails, trains_of

LAYOUT = Path(__file__).parents[3] / "config" / "three-trains-running-times.yaml"
LIMITS = TimedLimits(2_000_000, 4_000)
TICK_MS = 400


def judged(kind, change=None, trains=("railcar", "goods train")):  # type: ignore[no-untyped-def]
    """The verdict on two trains; `change` mends the compiled layout."""
    compiled = compile_layout(load_bytes("running.yaml", LAYOUT.read_bytes()))
    if change is not None:
        compiled = change(compiled)
    made = {one.name: one for one in trains_of(compiled.layout)}
    names = [start.name for start in compiled.layout.starts]
    scene = set_scene(compiled, names.index("two trains"))
    rails = Rails(compiled, Clock(TICK_MS))
    return judge_timed(scene, rails, tuple(made[name] for name in trains), LIMITS, kind)


def with_times(share: float):  # type: ignore[no-untyped-def]
    """The layout with all derived timers so much shorter."""

    def change(compiled):  # type: ignore[no-untyped-def]
        plan = list(compiled.plan)
        plan[9] = tuple(max(1, round(time_ms * share)) for time_ms in plan[9])
        compiled.plan = tuple(plan)
        return compiled

    return change


@pytest.mark.parametrize("trains", [("goods train", "railcar")])
def test_every_phantom_hit_is_harmless(trains: tuple[str, str]) -> None:
    verdict = judged(Phantom, trains=trains)
    assert verdict.result == GOES_ON
    assert verdict.states > 10_000


def test_with_times_that_are_too_short_it_is_not() -> None:
    verdict = judged(Phantom, with_times(0.5))
    assert verdict.result == FAILS
    assert any(step.told.kind == "phantom" for step in verdict.steps)


def test_a_lost_hit_stops_safely() -> None:
    assert judged(LostHit).result == STOPS_SAFELY


def test_at_any_speed_phantoms_are_not_harmless(capsys: pytest.CaptureFixture[str]) -> None:
    code = main(["prove", str(LAYOUT), "--start", "two trains", "--fault", "a phantom hit", "--json"])
    assert code == 1
    rows = json.loads(capsys.readouterr().out)["verdicts"]
    assert {row["result"] for row in rows if row["fault"]} == {FAILS}
    assert {row["result"] for row in rows if not row["fault"]} == {"proved"}


def test_without_it_a_phantom_hit_fails_against_the_clock_too(tmp_path: Path) -> None:
    text = LAYOUT.read_text()
    assert text.count("due_hits: by running time\n") == 1
    plain = tmp_path / "plain.yaml"
    plain.write_text(text.replace("due_hits: by running time\n", "due_hits: at once\n"))
    start = ["--start", "two trains", "--fault", "a phantom hit", "--tick", str(TICK_MS)]
    assert main(["prove", str(plain), "--timed", *start]) == 1


def test_explain_says_the_reason(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", str(LAYOUT)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert re.search(r"the goods train, the slowest, takes [0-9.]+ s for [0-9.]+ m", said)
    assert "it counts only when the slowest would have come" in said
    assert "held in Mill Halt, the train has not set out yet" in said


def test_lengths_are_asked_for(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    bare = tmp_path / "bare.yaml"
    bare.write_text(LAYOUT.read_text().replace("  M2: {length: 3 m}\n", ""))
    assert main(["check", str(bare)]) == 1
    assert "due_hits: by running time needs what is not written yet: the length of M2" in (
        capsys.readouterr().err
    )


def test_the_times_are_those_of_the_slowest_train_by_hand() -> None:
    """N4 from Bridge Halt: the goods train is sent on when its magnet has closed N3."""
    compiled = compile_layout(load_bytes("running.yaml", LAYOUT.read_bytes()))
    times = {timer.name: timer.time_ms for timer in compiled.layout.timers}
    made = next(one for one in trains_of(compiled.layout) if one.name == "goods train")
    nose_at_n3 = 1100 - 50 + 30 - 30 / 2  # set_back 50 mm, magnet 30 mm behind the nose, closes 30 mm at most
    nose_at_n4 = 1600 + 1300 + 30 - 10 / 2
    assert made.magnets[0].operating == (10, 30)
    running_s = (nose_at_n4 - nose_at_n3) / 240 + 2 * 25 / 240  # and it was still running on, 25 mm, slowing
    throws_s = 0.08 + (2 * 0.08 + 2 * 1.5) + 2 * contact_s(compiled)
    whole = running_s + throws_s + 0.005 + 0.052
    assert times["N4 due time"] == pytest.approx(1000 * whole, abs=101)
    assert times["N4 due time"] >= 1000 * whole - 1


def contact_s(compiled) -> float:  # type: ignore[no-untyped-def]
    return compiled.layout.turnouts[0].contact_wait_ms / 1000
