"""One record in words, as the owner would say it."""

from __future__ import annotations

from collections.abc import Callable

from reedway.boardfile.names import Names
from reedway.sessionlog.kinds import KINDS, ORDER_WORDS, w

_CHANGES = {  # kind -> what its value 0, 1, 2 means
    w.R_EDGE: ("{} opens", "{} closes"),
    w.R_TIMER: ("timer {} cancelled", "timer {} started", "timer {} runs out"),
    w.R_RELAY: ("{} drops out", "{} pulls in"),
    w.R_GO: ("{} is to stop", "{} is to go"),
    w.R_LAMP: ("lamp {} dark", "lamp {} lit"),
    w.R_FEED: ("{} stops", "{} goes"),
    w.R_REFRESH: ("refresh of {} asked for", "refresh of {} skipped"),
    w.R_SUPPLY: ("supply {} opens", "supply {} closes"),
    w.R_POWER: ("track power off", "track power on"),
}
_PLAIN = {
    w.R_HIT: "{} hit",
    w.R_OPENING: "{} opens for good",
    w.R_REST: "magnet at rest on {}",
    w.R_PULSE_END: "pulse of {} ends",
    w.R_NOTE: 'note "{}"',
    w.R_START: "start: {}",
    w.R_ORDER: "order: {}",
    w.R_CLASH: "two rules disagree about {}",
    w.R_MODE: "mode: {}",
    w.R_STATE: "state",
}
_COUNTED = {
    w.R_LATE: "scan late by {} ms",
    w.R_LOST: "{} records lost",
}
_CAUTIONS = {
    w.C_RULE: '"{}"',
    w.C_REST: "magnet at rest on {}",
    w.C_STRAYED: "{} left its position without a pulse",
    w.C_UNMOVED: "{} did not reach its position",
}
_FAULTS = {
    w.F_RULE: '"{}"',
    w.F_UNSETTLED: "rules do not settle; last changed by: {}",
    w.F_DEFERRED: "throw of {} put off past the limit",
    w.F_OUT_OF_STEP: "coil keeper out of step at {}",
    w.F_LATE: "scans came too late",
    w.F_BOARD: "board file or pin table refused",
}
_REASONS = {
    w.N_NOT_BEFORE: "only before start",
    w.N_NOT_STARTED: "not started",
    w.N_UNKNOWN: "no such start, place or turnout",
    w.N_NO_MATCH: "no start for these switches",
}


def caution_words(name: str, value: int) -> str:
    """What a caution is about."""
    return _CAUTIONS.get(value, "{}").format(name)


def fault_words(name: str, value: int) -> str:
    """The cause of a fault."""
    return _FAULTS.get(value, "{}").format(name)


class Teller:
    """Tells records; with the names of a layout it knows positions and switches by their own words."""

    def __init__(self, names: Names | None = None) -> None:
        self._positions = {name: (first, second) for name, first, second in names.turnouts} if names else {}
        inputs = zip(names.inputs, names.input_words, strict=False) if names else ()
        self._levels = {name: words for name, words in inputs if name}
        self._inputs = names.inputs if names else []
        self._special: dict[int, Callable[[str, int], str]] = {
            w.R_CHANGE: self._change,
            w.R_CHATTER: lambda name, n: f"{name} chattered: {n} more closings before it was open for good",
            w.R_THROW: lambda name, n: f"{name} thrown to {self.position(name, n)}",
            w.R_DEFERRED: lambda name, n: f"throw of {name} to {self.position(name, n)} deferred",
            w.R_POSITION: lambda name, n: f"{name} lies in {self.position(name, n)}",
            w.R_PULSE: lambda name, n: f"pulse of {n} ms on {name}",
            w.R_CAUTION: lambda name, n: "caution: " + caution_words(name, n),
            w.R_CLEAR: lambda name, n: "caution over: " + caution_words(name, n),
            w.R_FAULT: lambda name, n: "fault: " + fault_words(name, n),
            w.R_REFUSED: self._refused,
        }

    def position(self, turnout: str, position: int) -> str:
        """The owner's name of a position."""
        known = self._positions.get(turnout, ("its first position", "its second position"))
        return known[position] if position < 2 else str(position)

    def _change(self, name: str, value: int) -> str:
        on, off = self._levels.get(name) or ("on", "off")
        return f"{name} {on if value else off}"

    def _refused(self, order: str, reason: int) -> str:
        if reason >= w.N_SWITCH:
            number = reason - w.N_SWITCH
            switch = self._inputs[number] if number < len(self._inputs) else f"input {number}"
            return f"{order} refused: switch {switch} stands otherwise"
        return f"{order} refused: {_REASONS.get(reason, str(reason))}"

    def tell(self, kind_word: str, name: str, value: int) -> str:
        """One record in words."""
        kind = KINDS[kind_word]
        if kind in self._special:
            return self._special[kind](name, value)
        if kind in _COUNTED:
            return _COUNTED[kind].format(value)
        if kind in _CHANGES:
            ways = _CHANGES[kind]
            return ways[min(value, len(ways) - 1)].format(name)
        if kind == w.R_ORDER and name == ORDER_WORDS[w.O_UNWATCHED]:
            return f"no computer heard for {value} ms in maintenance: every feed and lamp goes off"
        told = _PLAIN[kind].format(name)
        if kind == w.R_ORDER and name == f"throw {name[6:]}" and name[6:] in self._positions:
            told += f" to {self.position(name[6:], value)}"
        return told
