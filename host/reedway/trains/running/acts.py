"""What somebody does in mid-run, in short sentences: `lift off railcar`, `miss N1`, `breaker out`."""

from __future__ import annotations

from collections.abc import Callable

from reedlogic import words as w
from reedway.layout.near import did_you_mean
from reedway.problems import ReedwayError
from reedway.trains.running.setup import PHANTOM_MS, Stage

PRESS_MS = 200
SENTENCES = (
    "miss SENSOR",
    "phantom SENSOR",
    "stick SENSOR",
    "free SENSOR",
    "lift off TRAIN",
    "set on TRAIN at PLACE",
    "turn SWITCH POSITION",
    "press BUTTON",
    "breaker out",
    "breaker in",
    "stop",
    "go on",
    "acknowledge",
    "hold PLACE",
    "go PLACE",
)
ORDERS = {"stop": w.O_STOP, "go on": w.O_GO_ON, "acknowledge": w.O_ACKNOWLEDGE}
Act = Callable[[], None]


def plan_acts(stage: Stage) -> None:
    """Put every act of the wish on the run's calendar; ReedwayError for a sentence that is none."""
    for ms, text in stage.wish.acts:
        stage.world.at(ms * 1000, act_of(stage, " ".join(text.split())))


def act_of(stage: Stage, text: str) -> Act:
    """The act that a sentence means."""
    low, world = text.casefold(), stage.world
    if low in ORDERS:
        return lambda: world.order(ORDERS[low])
    if low in ("breaker out", "breaker in"):
        return lambda: world.set_dark(low.endswith("out"))
    for verb, make in _VERBS.items():
        if low.startswith(verb + " "):
            return make(stage, text[len(verb) + 1 :])
    raise ReedwayError(f"--at: '{text}' is no act; allowed are {', '.join(SENTENCES)}")


def _named(name: str, names: list[str], what: str) -> int:
    for number, one in enumerate(names):
        if one and one.casefold() == name.casefold():
            return number
    raise ReedwayError(f"--at: there is no {what} '{name}'; {did_you_mean(name, [n for n in names if n])}")


def _input(stage: Stage, name: str, kind: str) -> int:
    names = stage.prepared.compiled.names
    kinds = [one if k == kind else "" for one, k in zip(names.inputs, names.input_kinds, strict=True)]
    return _named(name, kinds, kind)


def _miss(stage: Stage, name: str) -> Act:
    sensor, missing = _input(stage, name, "sensor"), stage.world.contacts.missing

    def act() -> None:
        missing[sensor] = missing.get(sensor, 0) + 1

    return act


def _phantom(stage: Stage, name: str) -> Act:
    sensor = _input(stage, name, "sensor")
    return lambda: stage.world.contacts.phantom(sensor, PHANTOM_MS)


def _stick(stage: Stage, name: str) -> Act:
    sensor = _input(stage, name, "sensor")
    return lambda: stage.world.contacts.stick(sensor, True)


def _free(stage: Stage, name: str) -> Act:
    sensor = _input(stage, name, "sensor")
    return lambda: stage.world.contacts.stick(sensor, False)


def _lift(stage: Stage, name: str) -> Act:
    names = list(stage.running)
    train = stage.running[names[_named(name, names, "train")]]

    def act() -> None:
        if train in stage.world.trains:
            place = stage.prepared.ground.sections[train.section].place
            stage.world.lift(train)
            if place >= 0:
                stage.world.order(w.O_LIFT_OFF, place)

    return act


def _set_on(stage: Stage, text: str) -> Act:
    name, _, place = text.partition(" at ")
    names, places = list(stage.running), stage.prepared.compiled.names.places
    train = names[_named(name, names, "train")]
    number = _named(place, places, "place")

    def act() -> None:
        if stage.running[train] not in stage.world.trains:
            stage.put(train, places[number])
            stage.world.order(w.O_SET_ON, number)

    return act


def _turn(stage: Stage, text: str) -> Act:
    number, level = stage.switch(text)
    return lambda: stage.world.board.set(number, level)


def _press(stage: Stage, name: str) -> Act:
    number, world = _input(stage, name, "button"), stage.world

    def act() -> None:
        world.board.set(number, True)
        world.at(world.now + PRESS_MS * 1000, lambda: world.board.set(number, False))

    return act


def _hold(stage: Stage, name: str) -> Act:
    place = _named(name, stage.prepared.compiled.names.places, "place")
    return lambda: stage.world.order(w.O_HOLD, place)


def _go(stage: Stage, name: str) -> Act:
    place = _named(name, stage.prepared.compiled.names.places, "place")
    return lambda: stage.world.order(w.O_GO, place)


_VERBS: dict[str, Callable[[Stage, str], Act]] = {
    "miss": _miss,
    "phantom": _phantom,
    "stick": _stick,
    "free": _free,
    "lift off": _lift,
    "set on": _set_on,
    "turn": _turn,
    "press": _press,
    "hold": _hold,
    "go": _go,
}
