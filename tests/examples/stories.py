"""The stories of the shipped sessions: all invented."""

from __future__ import annotations

import itertools
from collections.abc import Callable

from examples import tracks
from examples.doings import S, misses, stalls, stops_short
from examples.evening import Evening, Story
from examples.rails import Stretch, Train
from reedlogic.words import O_ACKNOWLEDGE

Acts = Callable[[Evening], None]
BUSY = (300, 2500)  # ms between two tremblings
CALM = (2000, 9000)


def _show(layout: str) -> tuple[dict[str, Stretch], list[Train], list[str]]:
    """Track, trains where the layout's first start wants them, switches."""
    in_a, in_b, at_mill = (
        (["A before", "A end"], 120),
        (["B before", "B end"], 110),
        (["mill", "mill end"], 40),
    )
    if layout == "two-trains":
        return tracks.two_trains(), [tracks.railcar(*in_a), tracks.goods_train(*in_b)], ["siding"]
    if layout.startswith("three-trains"):
        trains = [tracks.railcar(*in_a), tracks.goods_train(*in_b), tracks.milk_train(*at_mill)]
        if layout == "three-trains-interlocked":
            return tracks.interlocked(), trains, ["second train", "third train"]
        if layout == "three-trains-pairs":
            return tracks.pairs(), trains, ["second train", "third train", "second track"]
        if layout == "three-trains-running-times":
            return tracks.running_times(), trains, ["second train", "third train", "second track"]
        return tracks.go_sensor(), trains, ["siding", "holding"]
    if layout == "coil-protector":
        return tracks.coil_protector(), [tracks.milk_train(["main", "yard", "behind the hill"], 1500)], []
    return tracks.logger(), [tracks.goods_train(["station"], 1200)], []


def _story(layout: str, name: str, seconds: int, clock: str, acts: Acts) -> Story:
    stretches, trains, switches = _show(layout)
    started = f"2026-11-25T{clock}+01:00"
    seed = sum(map(ord, layout + name))
    made = Story(layout, name, seconds * S, stretches, trains, switches, acts, seed, started)
    if layout == "sensor-logger":
        made.beams = {"tunnel": "tunnel"}
    return made


# -- coil protector --------------------------------------------------------------------------------


def _yard(e: Evening, passings: list[list[int]]) -> None:
    """Somebody sets the yard points by button, there and back, so long after each passing of N1."""
    e.press(2500, "start")
    buttons = itertools.cycle(("yard sidings", "yard main"))

    def passes(left: list[list[int]]) -> None:
        for after in left[0]:
            e.press(e.now + after * S, next(buttons))
        if left[1:]:
            e.when("milk train", "N1", lambda: passes(left[1:]))

    e.when("milk train", "N1", lambda: passes(passings))


def _coils_ordinary(e: Evening) -> None:
    _yard(e, [[2], [5], [1, 4], [3, 4], [6]])
    e.press(120 * S, "junction main")


def _coils_at_rest(e: Evening) -> None:
    """The milk train waits for the signal right on N1 for 4 min 10 s; a child hammers on two buttons."""
    e.press(2500, "start")
    stalls(e, "milk train", "N1", 250 * S, BUSY)
    for i in range(12):
        e.press(120 * S + 900 * i, ("yard sidings", "yard main")[i % 2])
    e.at(200 * S, lambda: e.contacts.press(e.now, "yard main", 30 * S))


def _coils_missed(e: Evening) -> None:
    """N2 misses the train, so that the junction stays set for the branch until somebody presses a button."""
    _yard(e, [[3], [5]])
    misses(e, 30 * S, "N2")

    def sets_back() -> None:
        e.press(e.now + 6 * S, "junction main")
        e.press(e.now + 9 * S, "junction branch")

    e.at(30 * S, lambda: e.when("milk train", "N2", sets_back))


# -- sensor logger ---------------------------------------------------------------------------------


def _logger_ordinary(e: Evening) -> None:
    """The goods train first, then the railcar."""

    def change() -> None:
        e.rails.trains[:] = [tracks.railcar(["station"], 2000)]

    e.at(170 * S, change)


def _logger_at_rest(e: Evening) -> None:
    stalls(e, "goods train", "N3", 75 * S, BUSY)


def _logger_missed(e: Evening) -> None:
    """N4 sees only every other passing, and at last none: its magnet hangs crooked."""
    for t in (10, 120):
        misses(e, t * S, "N4")


# -- two trains ------------------------------------------------------------------------------------


def _start_only(e: Evening) -> None:
    e.press(2500, "start")


def _two_at_rest(e: Evening) -> None:
    """The goods train stops right on N2; the siding is out of service while it stands there."""
    e.press(2500, "start")
    stops_short(e, "goods train", "N2", BUSY)
    e.turn(105 * S, "siding", False)
    e.turn(190 * S, "siding", True)


def _two_missed(e: Evening) -> None:
    e.press(2500, "start")
    misses(e, 20 * S, "N1")
    misses(e, 150 * S, "N2")


def _two_switches(e: Evening) -> None:
    e.press(2500, "start")
    for t, on in ((50, False), (130, True), (200, False), (215, True)):
        e.turn(t * S, "siding", on)


# -- three trains, go sensor -----------------------------------------------------------------------


def _demo(e: Evening) -> None:
    """Six minutes: three trains; the milk train comes to rest on N4 while two others run; all three again."""
    e.press(2500, "start")
    stops_short(e, "milk train", "N4", BUSY)

    def takes_siding_out() -> None:
        e.turn(e.now + 4 * S, "siding", False)
        e.turn(e.now + 100 * S, "siding", True)

    e.when("milk train", "N4", takes_siding_out)
    e.press(348 * S, "stop all")
    e.at(360 * S, lambda: e.order(O_ACKNOWLEDGE))


def _classic_at_rest(e: Evening) -> None:
    e.press(2500, "start")
    stops_short(e, "goods train", "N3", BUSY)
    stops_short(e, "railcar", "N4", CALM)


def _classic_missed(e: Evening) -> None:
    """N1 misses a train: fault; the owner lets the held train go by hand. Later N2 and N3 miss one each."""
    e.press(2500, "start")
    misses(e, 40 * S, "N1")
    e.press(75 * S, "hand go")
    e.press(78 * S, "acknowledge")
    misses(e, 130 * S, "N2")
    misses(e, 210 * S, "N3")


def _classic_switches(e: Evening) -> None:
    """The siding goes out of service and in again; the holding is refused with three trains. Then the goods
    train is taken off at Mill Halt and the holding goes out of service: two trains by the siding; then the
    siding too, and one stays. The holding, in again, is refused with two trains, until one is off."""
    e.press(2500, "start")
    e.turn(50 * S, "siding", False)
    e.turn(110 * S, "siding", True)
    e.turn(116 * S, "holding", False)
    e.turn(120 * S, "holding", True)
    e.press(122 * S, "acknowledge")

    def takes_off_b() -> None:
        e.rails.trains.remove(next(t for t in e.rails.trains if t.path[-1] == "B end"))
        e.press(e.now + 500, "train off")

    def stops_all() -> None:
        e.press(e.now + 1 * S, "stop all")
        e.press(e.now + 9 * S, "go on")

    e.at(20 * S, lambda: e.when("milk train", "N3", stops_all))

    def takes_off() -> None:
        e.lift_off("goods train", "Mill Halt")
        e.press(e.now + 500, "train off")
        e.turn(e.now + 1500, "holding", False)
        e.turn(e.now + 80 * S, "siding", False)
        e.turn(e.now + 120 * S, "holding", True)
        e.turn(e.now + 130 * S, "holding", False)
        e.at(e.now + 136 * S, takes_off_b)
        e.press(e.now + 170 * S, "train on")
        e.press(e.now + 172 * S, "train on")

    e.at(120 * S, lambda: e.when("goods train", "N1", lambda: e.at(e.now + 25 * S, takes_off)))


# -- three trains, interlocked ---------------------------------------------------------------------


def _locked_at_rest(e: Evening) -> None:
    """The goods train stalls on the go sensor for 70 s; the trains behind it wait, the one ahead goes on."""
    e.press(2500, "start")
    stalls(e, "goods train", "N1", 70 * S, BUSY)
    stalls(e, "milk train", "N6", 30 * S, CALM)


def _locked_missed(e: Evening) -> None:
    """N3 misses a train: everything comes to a stand, safely, and the caution says so."""
    e.press(2500, "start")
    misses(e, 70 * S, "N3")


def _locked_switches(e: Evening) -> None:
    """One train, held and let go. The switches choose the start only; turned later they do nothing."""
    e.press(2500, "start")
    e.turn(40 * S, "second train", True)
    e.turn(80 * S, "third train", True)
    e.press(60 * S, "hold Mill Halt")
    e.press(100 * S, "let Mill Halt go")
    e.press(150 * S, "stop all")
    e.press(163 * S, "go on")


# -- three trains, pairs ---------------------------------------------------------------------------


def _pairs_at_rest(e: Evening) -> None:
    """The goods train stalls on the second sensor of a pair, later the milk train on the first of one."""
    e.press(2500, "start")
    stalls(e, "goods train", "N1b", 70 * S, BUSY)
    stalls(e, "milk train", "N4a", 30 * S, CALM)


def _pairs_missed(e: Evening) -> None:
    """N3a misses a train: its partner counts for nothing then, and all behind it wait, safely."""
    e.press(2500, "start")
    misses(e, 70 * S, "N3a")


def _pairs_phantom(e: Evening) -> None:
    """Sensors close with no train there: one at which a train is due, its partner, one where none is."""
    e.press(2500, "start")
    for t, sensor in ((6, "N3b"), (21, "N1a"), (47, "N1b"), (83, "N4a"), (120, "N3a"), (155, "N6b")):
        e.press(t * S, sensor)


def _pairs_switches(e: Evening) -> None:
    """Two trains; the second track goes out of service and in again. Mill Halt is held, and let go."""
    e.press(2500, "start")
    e.turn(60 * S, "second track", False)
    e.turn(150 * S, "second track", True)
    e.press(170 * S, "hold Mill Halt")
    e.press(200 * S, "let Mill Halt go")
    e.press(230 * S, "stop all")
    e.press(240 * S, "go on")


# -- three trains, running times -------------------------------------------------------------------


def _timed_at_rest(e: Evening) -> None:
    """The goods train stalls on the sensor behind the exit, later the milk train on the one in M2."""
    e.press(2500, "start")
    stalls(e, "goods train", "N1", 70 * S, BUSY)
    stalls(e, "milk train", "N4", 30 * S, CALM)


def _timed_missed(e: Evening) -> None:
    """N3 misses a train: all behind it wait, safely."""
    e.press(2500, "start")
    misses(e, 70 * S, "N3")


def _timed_phantom(e: Evening) -> None:
    """Sensors close with no train there, a quarter of a minute and more apart."""
    e.press(2500, "start")
    for t, sensor in ((6, "N3"), (21, "N1"), (47, "N1"), (83, "N4"), (120, "N3"), (155, "N6")):
        e.press(t * S, sensor)


def _two_trains(story: Story) -> Story:
    story.switches.remove("third train")
    del story.trains[2:]
    return story


def _one_train(story: Story) -> Story:
    story.switches.clear()
    del story.trains[1:]
    return story


def stories() -> list[Story]:
    """Every shipped session."""
    return [
        _story("coil-protector", "ordinary", 180, "18:30:00", _coils_ordinary),
        _story("coil-protector", "magnet-at-rest", 360, "18:40:00", _coils_at_rest),
        _story("coil-protector", "missed-hit", 150, "18:50:00", _coils_missed),
        _story("sensor-logger", "ordinary", 300, "19:00:00", _logger_ordinary),
        _story("sensor-logger", "magnet-at-rest", 240, "19:10:00", _logger_at_rest),
        _story("sensor-logger", "missed-hit", 240, "19:20:00", _logger_missed),
        _story("two-trains", "ordinary", 300, "19:30:00", _start_only),
        _story("two-trains", "magnet-at-rest", 300, "19:40:00", _two_at_rest),
        _story("two-trains", "missed-hit", 300, "19:50:00", _two_missed),
        _story("two-trains", "switches", 300, "20:00:00", _two_switches),
        _story("three-trains-go-sensor", "demo", 360, "20:10:00", _demo),
        _story("three-trains-go-sensor", "ordinary", 300, "20:20:00", _start_only),
        _story("three-trains-go-sensor", "magnet-at-rest", 300, "20:30:00", _classic_at_rest),
        _story("three-trains-go-sensor", "missed-hit", 300, "20:40:00", _classic_missed),
        _story("three-trains-go-sensor", "switches", 420, "20:50:00", _classic_switches),
        _story("three-trains-interlocked", "ordinary", 300, "21:00:00", _start_only),
        _story("three-trains-interlocked", "magnet-at-rest", 300, "21:10:00", _locked_at_rest),
        _story("three-trains-interlocked", "missed-hit", 300, "21:20:00", _locked_missed),
        _one_train(_story("three-trains-interlocked", "switches", 300, "21:30:00", _locked_switches)),
        _story("three-trains-pairs", "ordinary", 300, "21:40:00", _start_only),
        _story("three-trains-pairs", "magnet-at-rest", 300, "21:50:00", _pairs_at_rest),
        _story("three-trains-pairs", "missed-hit", 300, "22:00:00", _pairs_missed),
        _story("three-trains-pairs", "phantom", 300, "22:10:00", _pairs_phantom),
        _two_trains(_story("three-trains-pairs", "switches", 300, "22:20:00", _pairs_switches)),
        _story("three-trains-running-times", "ordinary", 660, "22:30:00", _start_only),
        _story("three-trains-running-times", "magnet-at-rest", 300, "22:40:00", _timed_at_rest),
        _story("three-trains-running-times", "missed-hit", 300, "22:50:00", _timed_missed),
        _story("three-trains-running-times", "phantom", 660, "23:00:00", _timed_phantom),
        _two_trains(_story("three-trains-running-times", "switches", 300, "23:10:00", _pairs_switches)),
    ]
