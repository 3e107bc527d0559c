"""One window of the go sensor, four times: paper, paper with the feed's relay, the proof's paper, the proof.

Each lies within the one before, as hardware/trains.md says: the first in real times without relays (`tune`,
see test_tune.py), the second with what scan and relay take until a train moves, the third with every leg
rounded outward to ticks, the fourth the search itself. The first two are gowindow.py, the third gosensor.py;
neither uses the other.
"""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import pytest

from reedway.boardfile.compile import Compiled, compile_layout
from reedway.layout.load import load, load_bytes
from reedway.proof.timed.clock import Clock
from reedway.proof.timed.gosensor import Bound, GoSensor, Roles
from reedway.proof.timed.judge import TimedLimits
from reedway.proof.timed.window import Windows
from reedway.trains import gowindow
from reedway.trains.commands import worked_out
from reedway.trains.running.setup import prepare
from reedway.trains.times import RELAY_RELEASE_MS, SCAN_MS

ROOT = Path(__file__).parents[2]
GUIDE = (ROOT / "hardware" / "trains.md").read_text(encoding="utf-8")
WAY = ("exit", "line", "valley", "Mill Halt", "home", "entry")
ROLES = Roles("N1", WAY, "track A", "Mill Halt", "valley", "let out", "go due")
SWITCHING_S = (SCAN_MS + RELAY_RELEASE_MS) / 1000
SHIPPED_MM = 1000
GOODS_MM_S = 240
TICKS_LOST_MAX = 5  # at the far end, over the two legs of the throw and those from the stand to N1


@cache
def compiled() -> Compiled:
    return compile_layout(load(str(ROOT / "config" / "three-trains-go-sensor.yaml")))


def paper(switching_s: float) -> tuple[gowindow.Bound, gowindow.Bound]:
    layout = compiled().layout
    prepared = prepare(compiled(), worked_out(layout))
    parts = gowindow.find(layout)
    assert parts is not None
    stock = list(prepared.makeups.values())
    return gowindow.GoWindow(compiled(), prepared.ground, stock, parts, switching_s).limits()


@cache
def ticked(tick_ms: int) -> tuple[Bound, Bound]:
    """The proof's inequalities; 0: in real times."""
    return GoSensor(compiled(), ROLES, Clock(tick_ms) if tick_ms else None).window(-240, 5000)


def proved(spot_mm: int, tick_ms: int, trains: tuple[str, ...]) -> bool:
    """By the search, for one order of trains (ahead, held, next)."""
    windows = Windows(compiled(), Clock(tick_ms), TimedLimits(2_000_000, 4_000), "three trains")
    ahead, held, following = trains
    stand = (ahead, following, held)  # in track A, track B, Mill Halt
    windows.made = sorted(windows.made, key=lambda one: stand.index(one.name))
    windows.orders = lambda scene, made: [tuple(made)]
    verdict = windows.judge("N1", spot_mm - SHIPPED_MM)
    assert verdict is None or verdict.result == "refuted"
    return verdict is None


def test_both_papers_agree_to_the_mm() -> None:
    """Two derivations in two modules; the proof counts whole mm."""
    near, far = paper(SWITCHING_S)
    low, high = ticked(0)
    assert (low.at_mm, high.at_mm) == (math.ceil(near.mm), math.floor(far.mm))
    assert (low.trains[0], high.trains[0]) == (near.train, far.train)


def test_the_relay_costs_what_the_train_runs_meanwhile() -> None:
    """By hand: 47.5 ms at 240 mm/s at the far end, nothing at the near end."""
    (near, far), (near_relay, far_relay) = paper(0.0), paper(SWITCHING_S)
    assert near_relay.mm == near.mm
    assert far_relay.mm == pytest.approx(far.mm - GOODS_MM_S * 0.0475, abs=1e-6)
    assert f"{round(far_relay.mm, 2):g} mm" in GUIDE


def test_shorter_ticks_come_nearer_and_never_past() -> None:
    low, high = ticked(0)
    far = 0
    for tick_ms in (200, 100, 50, 20, 10, 5, 1):
        ticked_low, ticked_high = ticked(tick_ms)
        assert ticked_low.at_mm == low.at_mm
        assert far <= ticked_high.at_mm <= high.at_mm
        assert high.at_mm - ticked_high.at_mm <= 1 + TICKS_LOST_MAX * tick_ms / 1000 * GOODS_MM_S
        far = ticked_high.at_mm
    assert high.at_mm - far <= 1


@pytest.mark.parametrize("tick_ms", [100, 50, 20])
def test_the_window_in_ticks_lies_within_the_one_without(tick_ms: int) -> None:
    low, high = ticked(tick_ms)
    near, far = paper(0.0)
    assert near.mm <= low.at_mm <= high.at_mm <= far.mm
    assert f"| {tick_ms} ms | {low.at_mm} mm to {high.at_mm} mm |" in GUIDE


def test_the_proof_ends_where_its_paper_does() -> None:
    """In ticks of 50 ms, with the trains that set each end; 100 ms, and more kinds of end, in
    tests/proof/timed/test_gosensor.py; every order of trains, and 20 ms, by the command in the guide."""
    low, high = ticked(50)
    assert not proved(low.at_mm - 1, 50, low.trains) and proved(low.at_mm, 50, low.trains)
    assert not proved(high.at_mm + 1, 50, high.trains) and proved(high.at_mm, 50, high.trains)


def test_without_the_watch_the_proof_is_the_stricter() -> None:
    """(4) of the guide against its last line."""
    text = (ROOT / "config" / "three-trains-go-sensor.yaml").read_bytes()
    watchless = compile_layout(load_bytes("go.yaml", text.replace(b"go due: 11 s", b"go due: 30 s")))
    _, high = GoSensor(watchless, ROLES, None).window(-240, 5000)
    layout = compiled().layout
    parts = gowindow.find(layout)
    assert parts is not None
    prepared = prepare(compiled(), worked_out(layout))
    window = gowindow.GoWindow(compiled(), prepared.ground, list(prepared.makeups.values()), parts)
    into = min(bound.mm for bound in window.bounds() if bound.kind == gowindow.INTO)
    assert 1513 < high.at_mm < into
