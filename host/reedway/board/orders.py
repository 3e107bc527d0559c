"""Orders and inputs as an owner types them: `hold Mill Halt`, `throw exit to B`, `N1`, `service on`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

from reedway.boardfile.names import Names
from reedway.layout.near import did_you_mean, listed
from reedway.problems import ReedwayError
from reedway.sessionlog.kinds import w

SIMPLE = {
    "stop": (w.O_STOP, 0),
    "go on": (w.O_GO_ON, 0),
    "acknowledge": (w.O_ACKNOWLEDGE, 0),
    "start": (w.O_START, w.NONE),
    "maintenance": (w.O_MAINTENANCE, 0),
}
_PLACE_ORDERS = {
    "go": w.O_GO,
    "hold": w.O_HOLD,
    "set on": w.O_SET_ON,
    "lift off": w.O_LIFT_OFF,
}
# What each order does, in the order of the help.
TOLD = (
    ("start", "as the switches choose; `start NAME`: that start"),
    ("stop", "every feed off"),
    ("go on", "after a stop"),
    ("acknowledge", "caution or fault seen and put right: it ends"),
    ("hold PLACE", "its block goes off and stays so"),
    ("go PLACE", "let it go again"),
    ("throw TURNOUT to POSITION", "one pulse"),
    ("set on PLACE", "a train was put there by hand"),
    ("lift off PLACE", "a train was taken off there by hand"),
    ("maintenance", "before start only; ends with the next reset. No"),
    ("", "rule runs: throw, go, hold and stop each move one"),
    ("", "thing, and a feed goes off after 2 s. Lamps, the"),
    ("", "track feed, coils one by one: `reedway walk`"),
)


OTHERWISE = "the orders: reedway operate --help"
Found = TypeVar("Found")


@dataclass(frozen=True)
class Touch:
    """An input is closed (True), opened (False), or hit: closed and opened again (None)."""

    index: int
    closed: bool | None


def told_orders() -> str:
    """The orders and what they do, for the help."""
    return "".join(f"  {order:<25}  {does}\n" for order, does in TOLD)


def order_table(names: Names) -> dict[str, tuple[int, int]]:
    """Every order -> (order, value)."""
    found = dict(SIMPLE)
    for i, start in enumerate(names.starts):
        found[f"start {start}"] = (w.O_START, i)
    for i, place in enumerate(names.places):
        for verb, order in _PLACE_ORDERS.items():
            found[f"{verb} {place}"] = (order, i)
    for i, (name, first, second) in enumerate(names.turnouts):
        found[f"throw {name} to {first}"] = (w.O_THROW, 2 * i)
        found[f"throw {name} to {second}"] = (w.O_THROW, 2 * i + 1)
    return found


def touch_table(names: Names) -> dict[str, Touch]:
    """Everything that a hand can do at an input."""
    found: dict[str, Touch] = {}
    for i, name in enumerate(names.inputs):
        if not name:
            continue
        found[name] = found[f"{name} hit"] = Touch(i, None)
        on, off = names.input_words[i]
        for word in (on, "closed"):
            found[f"{name} {word}"] = Touch(i, True)
        for word in (off, "open"):
            found[f"{name} {word}"] = Touch(i, False)
    return found


def read_order(text: str, names: Names) -> tuple[int, int]:
    """An order, or one line that says what is near."""
    return _read(text, order_table(names), "order", OTHERWISE)


def read_touch(text: str, names: Names) -> Touch:
    """What a hand does at an input: `N1` is a hit, `N1 closed`, `N1 open`, `siding in service`."""
    return _read(text, touch_table(names), "input", _known_inputs(names))


def read_either(text: str, names: Names) -> tuple[int, int] | Touch:
    """An order or what a hand does at an input; where both are called so, the order."""
    table: dict[str, tuple[int, int] | Touch] = {**order_table(names)}
    taken = {known.lower() for known in table}
    table |= {known: touch for known, touch in touch_table(names).items() if known.lower() not in taken}
    return _read(text, table, "input or order", f"{_known_inputs(names)}; {OTHERWISE}")


def _known_inputs(names: Names) -> str:
    return f"inputs are {listed([name for name in names.inputs if name], 30)}"


def _read(text: str, table: dict[str, Found], what: str, otherwise: str) -> Found:
    words = " ".join(text.lower().split())
    for known, found in table.items():
        if known.lower() == words:
            return found
    begun = [known for known in table if known.lower().startswith(f"{words} ")]
    if words and begun:  # the verb of an order, or the first words of a name
        raise ReedwayError(f"'{text}' is not the whole {what}; write {listed(begun)}")
    raise ReedwayError(f"there is no {what} '{text}'; {did_you_mean(text, list(table), otherwise)}")
