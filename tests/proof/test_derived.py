"""Rules derived for the four-place track keep trains apart in every order of events, faults included."""

from __future__ import annotations

from dataclasses import replace

import pytest

from proof.agree import disagreements
from reedway.proof.faults import (
    FAULTS,
    LostHit,
    MagnetLost,
    NoFault,
    Phantom,
    StuckClosed,
    StuckOpen,
    SwitchTurned,
    Unmoved,
)
from reedway.proof.judge import FAILS, GOES_ON, PROVED, STOPS_SAFELY, Limits, judge, judge_fault
from reedway.proof.scene import Scene, scenes
from reedway.proof.search import search
from reedway.proof.story import story
from track.lines import Line, compiled

LIMITS = Limits(1_000_000, 1_000)
EAGER, WAITING = "go when free", "wait for a partner"
FOUR_PLACES = Line(tracks=2, holds=2)


def scene(line: Line) -> Scene:
    return scenes(compiled(line), 0)[0]


@pytest.mark.parametrize("lagging", [False, True], ids=["at once", "lagging"])
@pytest.mark.parametrize("leaves", [EAGER, WAITING, "take turns"])
@pytest.mark.parametrize("trains", [1, 2, 3])
@pytest.mark.parametrize("pairs", [False, True], ids=["singles", "pairs"])
def test_four_places_are_proved(trains: int, leaves: str, pairs: bool, lagging: bool) -> None:
    verdict = judge(scene(Line(leaves=leaves, trains=trains, pairs=pairs)), lagging, LIMITS)
    assert verdict.result == PROVED, story(scene(FOUR_PLACES), verdict)


@pytest.mark.parametrize("lagging", [False, True], ids=["at once", "lagging"])
@pytest.mark.parametrize("leaves", [EAGER, WAITING])
@pytest.mark.parametrize("trains", [1, 2, 3])
@pytest.mark.parametrize("kind", [LostHit, StuckOpen, MagnetLost])
def test_what_is_not_seen_stops_safely_or_goes_on(
    kind: type[NoFault], trains: int, leaves: str, lagging: bool
) -> None:
    for pairs in (False, True):
        line = scene(Line(leaves=leaves, trains=trains, pairs=pairs))
        verdict = judge_fault(line, lagging, kind, LIMITS)
        assert verdict is not None
        assert verdict.result in (GOES_ON, STOPS_SAFELY)


@pytest.mark.parametrize("lagging", [False, True], ids=["at once", "lagging"])
@pytest.mark.parametrize("leaves", [EAGER, WAITING])
@pytest.mark.parametrize("trains", [1, 2, 3])
def test_a_phantom_is_harmless_with_pairs(trains: int, leaves: str, lagging: bool) -> None:
    verdict = judge_fault(scene(Line(leaves=leaves, trains=trains)), lagging, Phantom, LIMITS)
    assert verdict is not None
    assert verdict.result == GOES_ON


@pytest.mark.parametrize("kind", [Phantom, StuckClosed])
@pytest.mark.parametrize("trains", [2, 3])
def test_a_phantom_is_not_harmless_with_single_sensors(trains: int, kind: type[NoFault]) -> None:
    line = scene(Line(trains=trains, pairs=False))
    verdict = judge_fault(line, False, kind, LIMITS)
    assert verdict is not None
    assert verdict.result == FAILS
    told = "\n".join(story(line, verdict))
    assert "though no train is there" in told
    assert "are both in" in told
    assert len(verdict.steps) < 20


@pytest.mark.parametrize("kind", FAULTS)
def test_with_pairs_contacts_and_detectors_no_single_fault_does_harm(kind: type[NoFault]) -> None:
    line = scene(Line(trains=3, contacts=True, detectors=True, power_routing=True, switch=True))
    for lagging in (False, True):
        verdict = judge_fault(line, lagging, kind, LIMITS)
        assert verdict is not None
        assert verdict.result in (GOES_ON, STOPS_SAFELY), story(line, verdict)


def test_a_turnout_that_does_not_move_fails_without_and_is_covered_with_a_contact() -> None:
    for lagging in (False, True):
        bare = judge_fault(scene(Line(trains=3)), lagging, Unmoved, LIMITS)
        covered = judge_fault(scene(Line(trains=3, contacts=True)), lagging, Unmoved, LIMITS)
        assert bare is not None and bare.result == FAILS
        assert covered is not None and covered.result == STOPS_SAFELY


@pytest.mark.parametrize(
    "line",
    [
        Line(1, 1, trains=1, leaves=EAGER),
        Line(1, 3, trains=3, leaves=EAGER),
        Line(2, 1, trains=2),
        Line(3, 1, trains=3),
        Line(2, 3, trains=3),
        Line(3, 2, trains=2, leaves=WAITING),
    ],
    ids=str,
)
def test_other_lines_are_proved_too(line: Line) -> None:
    for lagging in (False, True):
        assert judge(scene(line), lagging, LIMITS).result == PROVED


@pytest.mark.parametrize("halt", [1, 2, 3])
@pytest.mark.parametrize("trains", [1, 2])
def test_a_holding_place_may_go_out_of_service_at_any_moment(halt: int, trains: int) -> None:
    for line in scenes(compiled(Line(2, 3, False, trains=trains, halt=halt)), 0):
        for lagging in (False, True):
            assert judge(line, lagging, LIMITS).result == PROVED
            turned = judge_fault(line, lagging, SwitchTurned, LIMITS)
            assert turned is not None and turned.result == GOES_ON


@pytest.mark.parametrize("trains", [1, 2, 3])
def test_trains_that_wait_for_the_go_sensor_come_round(trains: int) -> None:
    text = Line(2, 2, trains=trains).text()
    text = text.replace(
        "hold 2: {to: home", "hold 2: {to: home, leaves: leave at the go sensor, go_sensor: Nb"
    )
    for lagging in (False, True):
        assert judge(scenes(compiled(text), 0)[0], lagging, LIMITS).result == PROVED


def test_as_many_trains_as_places_can_never_move() -> None:
    verdict = judge(scene(Line(trains=4)), False, LIMITS)
    assert verdict.is_bad
    assert verdict.why == "no train can ever move again"


@pytest.mark.parametrize(
    "line",
    [Line(trains=3), Line(trains=3, contacts=True, detectors=True), Line(3, 2, False, trains=3)],
    ids=str,
)
def test_the_table_agrees_with_the_controller_on_every_transition(line: Line) -> None:
    world, start = scene(line).world(lagging=False)
    found = search(world, start)
    compared, wrong = disagreements(world, list(found.came_from)[:1200])
    assert compared > 400
    assert not wrong


def test_derived_from_pairs_of_four_places_without_a_pair_is_found() -> None:
    """One sensor of a pair less, and a phantom does harm again: the pairs are what keeps it harmless."""
    text = replace(FOUR_PLACES, trains=3).text().replace(", pair_with: Na", "")
    line = scenes(compiled(text), 0)[0]
    verdict = judge_fault(line, False, Phantom, LIMITS)
    assert verdict is not None and verdict.result == FAILS
