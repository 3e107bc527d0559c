"""Records by number (kind, which, value) to records by name and back, for one layout."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping

from reedway.boardfile.names import Names
from reedway.layout.near import did_you_mean
from reedway.sessionlog.kinds import BY_BUTTON, KIND_WORDS, KINDS, MODE_WORDS, ORDER_WORDS, w

# Kinds whose `which` counts the things of one list, and what one thing of it is called.
_LISTS = {
    w.R_EDGE: "inputs",
    w.R_HIT: "inputs",
    w.R_OPENING: "inputs",
    w.R_CHANGE: "inputs",
    w.R_REST: "inputs",
    w.R_CHATTER: "inputs",
    w.R_TIMER: "timers",
    w.R_RELAY: "relays",
    w.R_GO: "blocks",
    w.R_LAMP: "lamps",
    w.R_FEED: "blocks",
    w.R_THROW: "turnouts",
    w.R_PULSE: "coils",
    w.R_PULSE_END: "coils",
    w.R_POSITION: "turnouts",
    w.R_DEFERRED: "turnouts",
    w.R_REFRESH: "turnouts",
    w.R_NOTE: "notes",
    w.R_START: "starts",
    w.R_SUPPLY: "supplies",
}
# Kinds whose `which` counts another list for each value.
_BY_VALUE = {
    (w.R_CAUTION, w.C_RULE): "cautions",
    (w.R_CAUTION, w.C_REST): "inputs",
    (w.R_CAUTION, w.C_STRAYED): "turnouts",
    (w.R_CAUTION, w.C_UNMOVED): "turnouts",
    (w.R_FAULT, w.F_RULE): "faults",
    (w.R_FAULT, w.F_UNSETTLED): "standing",
    (w.R_FAULT, w.F_DEFERRED): "turnouts",
    (w.R_FAULT, w.F_OUT_OF_STEP): "turnouts",
    (w.R_CLASH, w.W_GO): "blocks",
    (w.R_CLASH, w.W_TIMER): "timers",
    (w.R_CLASH, w.W_LAMP): "lamps",
    (w.R_CLASH, w.W_WANTED): "turnouts",
}
_ORDER_LISTS = {w.O_START: "starts", w.O_GO: "places", w.O_HOLD: "places", w.O_THROW: "turnouts"}
_ORDER_LISTS |= {w.O_SET_ON: "places", w.O_LIFT_OFF: "places", w.O_FEED: "blocks", w.O_LIGHT: "lamps"}
_TWO_WAYS = (w.O_THROW, w.O_FEED, w.O_LIGHT)  # value: 2 * index + which of the two
_TAILS_MAX = 1 << 16


class UnknownName(ValueError):
    """The layout has no such thing; the message says what is near."""


class _Table:
    """Number <-> name of one list; a name that comes twice gets a number behind it."""

    def __init__(self, names: Mapping[int, str]) -> None:
        self.names: dict[int, str] = {}
        self.numbers: dict[str, int] = {}
        for number, name in names.items():
            self.names[number] = unique = _unlike(name, self.numbers)
            self.numbers[unique] = number

    def name(self, number: int) -> str:
        """The name, or #number where the layout has none."""
        return self.names.get(number, f"#{number}")

    def number(self, name: str) -> int:
        found = self.numbers.get(name)
        if found is not None:
            return found
        if name.startswith("#") and name[1:].isascii() and name[1:].isdecimal():
            return int(name[1:])
        raise UnknownName(f"the layout has no '{name}'; {did_you_mean(name, self.numbers)}")


def _unlike(name: str, taken: Iterable[str]) -> str:
    unique, n = name, 1
    while unique in taken:
        n += 1
        unique = f"{name} ({n})"
    return unique


def _listed(names: Names, attribute: str) -> dict[int, str]:
    """One list of the layout's names as number -> name; what has no name is left out."""
    found = getattr(names, attribute)
    if attribute == "turnouts":
        found = [turnout[0] for turnout in found]
    elif attribute == "standing":
        found = [f"{sentence} (line {line})" for sentence, line in found]
    return {number: name for number, name in enumerate(found) if name}


class Codec:
    """Turns records of one layout into lines of a session log and lines into records."""

    def __init__(self, names: Names) -> None:
        nameless = _Table({0: ""})
        modes = _Table(MODE_WORDS)
        self._lists = {key: _Table(_listed(names, key)) for key in {*_LISTS.values(), *_BY_VALUE.values()}}
        places = _Table(_listed(names, "places"))
        self._tables = {(kind, -1): self._lists[key] for kind, key in _LISTS.items()}
        self._tables |= {pair: self._lists[key] for pair, key in _BY_VALUE.items()}
        self._tables |= {(kind, -1): nameless for kind in (w.R_LATE, w.R_STATE, w.R_POWER, w.R_LOST)}
        self._tables |= {(w.R_FAULT, cause): nameless for cause in (w.F_LATE, w.F_BOARD)}
        self._tables[w.R_REFUSED, -1] = _Table(ORDER_WORDS)
        for word in range(4):
            relays = self._lists["relays"].names
            own = {bit: relays[30 * word + bit] for bit in range(30) if 30 * word + bit in relays}
            self._tables[w.R_CLASH, w.W_RELAY + word] = _Table(own)
        self._nothing = _Table({})
        self._modes = modes
        self._orders: dict[tuple[int, int], tuple[str, int]] = {}
        self._order_numbers: dict[str, tuple[int, int]] = {}
        self._name_orders(self._lists | {"places": places})
        self._tails: dict[tuple[int, int, int], str] = {}

    def _name_orders(self, lists: Mapping[str, _Table]) -> None:
        """Every order under its word, and with the name of its target: `stop`, `hold H`, `throw exit`."""
        for number, word in ORDER_WORDS.items():
            self._order_numbers[word] = (number, 0)
        for number, key in _ORDER_LISTS.items():
            for index, target in lists[key].names.items():
                name = _unlike(f"{ORDER_WORDS[number]} {target}", self._order_numbers)
                base = 2 * index if number in _TWO_WAYS else index
                self._order_numbers[name] = (number, base)
                for value in range(base, base + (2 if number in _TWO_WAYS else 1)):
                    self._orders[number, value] = (name, base)

    def _order(self, which: int, value: int) -> tuple[str, int]:
        order = which & ~w.O_FROM_BUTTON
        name, base = self._orders.get((order, value), (ORDER_WORDS.get(order, f"#{order}"), 0))
        return name + (BY_BUTTON if which & w.O_FROM_BUTTON else ""), value - base

    def _table(self, kind: int, value: int) -> _Table:
        key = w.R_CAUTION if kind == w.R_CLEAR else kind
        return self._tables.get((key, -1)) or self._tables.get((key, value), self._nothing)

    def by_name(self, kind: int, which: int, value: int) -> tuple[str, str, int]:
        """(kind word, name, value) as they stand in a log."""
        word = KIND_WORDS[kind]
        if kind == w.R_ORDER:
            return word, *self._order(which, value)
        if kind == w.R_MODE:
            return word, self._modes.name(value), value
        return word, self._table(kind, value).name(which), value

    def by_number(self, kind_word: str, name: str, value: int) -> tuple[int, int, int]:
        """(kind, which, value) of a line; UnknownName where the layout has no such thing."""
        kind = KINDS[kind_word]
        if kind == w.R_ORDER:
            return kind, *self._order_number(name, value)
        if kind == w.R_MODE:
            return kind, 0, value
        return kind, self._table(kind, value).number(name), value

    def _order_number(self, name: str, value: int) -> tuple[int, int]:
        plain = name.removesuffix(BY_BUTTON)
        button = w.O_FROM_BUTTON if plain != name else 0
        if plain in self._order_numbers:
            order, base = self._order_numbers[plain]
            return order | button, base + value
        if plain.startswith("#") and plain[1:].isascii() and plain[1:].isdecimal():
            return int(plain[1:]) | button, value
        raise UnknownName(f"there is no order '{plain}'; {did_you_mean(plain, self._order_numbers)}")

    def line(self, t: int, kind: int, which: int, value: int) -> str:
        """One line of a session log, without its end."""
        key = (kind, which, value)
        tail = self._tails.get(key)
        if tail is None:
            word, name, shown = self.by_name(kind, which, value)
            tail = f',"kind":"{word}","name":{json.dumps(name, ensure_ascii=False)},"value":{shown}}}'
            if len(self._tails) < _TAILS_MAX:
                self._tails[key] = tail
        return f'{{"t":{t}{tail}'
