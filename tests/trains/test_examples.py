"""The example layouts: planned without a problem, with the trains and lengths that make their sessions."""

from __future__ import annotations

import pytest

from examples import tracks
from examples.make_sessions import CONFIG
from examples.rails import Stretch, Train
from reedway.layout.load import load
from reedway.layout.model import Layout
from reedway.trains.commands import worked_out
from reedway.trains.planning import plan

STRETCHES = {
    "two-trains": tracks.two_trains,
    "three-trains-go-sensor": tracks.go_sensor,
    "three-trains-interlocked": tracks.interlocked,
    "three-trains-pairs": tracks.pairs,
    "three-trains-running-times": tracks.running_times,
}
NAMES = tuple(STRETCHES)
# The stretches that make up each place, in the railway of the sessions.
PLACES = {
    "track A": ("A before", "A end"),
    "track B": ("B before", "B end"),
    "Mill Halt": ("mill", "mill end"),
    "Bridge Halt": ("bridge", "bridge end"),
}


def layout_of(name: str) -> Layout:
    return load(str(CONFIG / f"{name}.yaml"))


ALL = sorted(path.stem for path in CONFIG.glob("*.yaml"))


@pytest.mark.parametrize("name", ALL)
def test_everything_planned_will_do(name: str) -> None:
    layout = layout_of(name)
    found = plan(layout, worked_out(layout))
    assert found.problems == []
    assert {site.sensor for site in found.sites} == {sensor.name for sensor in layout.sensors}
    assert set(found.places) == {place.name for place in layout.places}
    assert len(found.stands) == len(layout.places) * len(found.stock)
    assert not any(window.is_empty for window in found.windows.values())


@pytest.mark.parametrize("name", NAMES)
def test_the_trains_are_those_of_the_sessions(name: str) -> None:
    run: list[Train] = [tracks.railcar([], 0), tracks.goods_train([], 0), tracks.milk_train([], 0)]
    by_name = {train.name: train for train in run}
    stock = plan(layout_of(name), {}).stock
    assert len(stock) == (2 if name == "two-trains" else 3)
    for made in stock:
        train = by_name[made.name]
        assert (made.length, made.train.speed) == (train.length_mm, (train.speed, train.speed))
        assert made.train.run_on == (train.run_on_mm, train.run_on_mm)


@pytest.mark.parametrize("name", NAMES)
def test_the_lengths_are_those_of_the_sessions(name: str) -> None:
    stretches: dict[str, Stretch] = STRETCHES[name]()
    found = plan(layout_of(name), {})
    for place in found.places.values():
        before, end = (stretches[part] for part in PLACES[place.name])
        assert (place.live, place.dead) == (before.length_mm, end.length_mm)
        for sensor, at in (
            *before.sensors.items(),
            *((s, a + before.length_mm) for s, a in end.sensors.items()),
        ):
            site = found.site(sensor)
            assert site.place is not None and site.place.name == place.name
            assert site.x + place.live == at
    others = [site for site in found.sites if site.place is None]
    for site in others:
        (stretch,) = [s for s in stretches.values() if site.sensor in s.sensors]
        assert site.beyond == stretch.sensors[site.sensor]  # each stretch begins where the train is clear
