"""A log as a Value Change Dump (IEEE 1364-2005, clause 18), which any waveform viewer shows: a wire each."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import TextIO

from reedway import __version__
from reedway.sessionlog.clocks import Clocks
from reedway.sessionlog.kinds import KIND_WORDS, STATE, TEXT, w
from reedway.sessionlog.reader import Line, LogReader

# Kind of record -> (scope, what the wire becomes; -1: the record's own value, 2: not known).
_WIRES = {
    w.R_EDGE: ("contacts", -1),
    w.R_HIT: ("sensors", 1),
    w.R_OPENING: ("sensors", 0),
    w.R_CHANGE: ("sensors", -1),
    w.R_TIMER: ("timers", -1),
    w.R_RELAY: ("relays", -1),
    w.R_GO: ("wanted", -1),
    w.R_LAMP: ("lamps", -1),
    w.R_FEED: ("feeds", -1),
    w.R_PULSE: ("coils", 1),
    w.R_PULSE_END: ("coils", 0),
    w.R_THROW: ("turnouts", 2),
    w.R_POSITION: ("turnouts", -1),
    w.R_SUPPLY: ("supplies", -1),
    w.R_POWER: ("power", -1),
}
_BY_WORD = {KIND_WORDS[kind]: how for kind, how in _WIRES.items()}
_TIMER_RUNS = 1  # 0 cancelled, 1 started, 2 ended
UNKNOWN = "x"
_FIRST_CODE, _CODES = 33, 94  # identifier codes are of the printable characters ! to ~


@dataclass
class Wire:
    """One variable of the dump."""

    scope: str
    name: str
    code: str
    level: str = UNKNOWN
    before: list[str] = field(default_factory=list)  # what it was at the begin of each part


@dataclass
class Dumped:
    """What was written."""

    wires: int
    changes: int


def _level(line: Line) -> tuple[str, str] | None:
    """(scope, level) that a record puts a wire to; None for one that moves no wire."""
    how = _BY_WORD.get(line.kind)
    if how is None:
        return None
    scope, level = how
    if level == 2:
        return scope, UNKNOWN
    if level < 0:
        assert isinstance(line.value, int)
        level = int(line.value == _TIMER_RUNS if scope == "timers" else line.value > 0)
    return scope, str(level)


def _begins_anew(line: Line, last_t: int) -> bool:
    """True where a new part begins: a state within a log, or a time that goes back."""
    return last_t >= 0 and (line.kind == STATE or line.t < last_t)


def _code(number: int) -> str:
    """The shortest identifier code not yet used."""
    code = ""
    while True:
        code += chr(_FIRST_CODE + number % _CODES)
        number = number // _CODES - 1
        if number < 0:
            return code


class Wires:
    """Every wire that a log moves, found in a first pass, with what each was at the begin of each part."""

    def __init__(self, lines: Iterable[Line]) -> None:
        self.wires: dict[tuple[str, str], Wire] = {}
        self.parts = 1
        self._taken: set[tuple[str, str]] = set()
        last_t = -1
        for line in lines:
            if line.kind == TEXT:
                continue
            if _begins_anew(line, last_t):
                self.parts += 1
            last_t = line.t
            found = _level(line)
            if found is not None:
                self._first(found[0], line.name, found[1])
        for wire in self.wires.values():
            self._fill(wire)

    def _first(self, scope: str, name: str, level: str) -> None:
        wire = self.wires.get((scope, name))
        if wire is None:
            own = self._unlike(scope, name)
            wire = self.wires[scope, name] = Wire(scope, own, _code(len(self.wires)))
        if len(wire.before) < self.parts:
            self._fill(wire, self.parts - 1)
            # A record is a change, so the first tells what was before; of timers and turnouts it does not.
            known = scope not in ("timers", "turnouts")
            wire.before.append(UNKNOWN if not known else "0" if level == "1" else "1")

    def _fill(self, wire: Wire, to: int | None = None) -> None:
        """In a part without a record of it nobody knows."""
        to = self.parts if to is None else to
        wire.before += [UNKNOWN] * (to - len(wire.before))

    def _unlike(self, scope: str, name: str) -> str:
        """The name as a simple identifier (clause 3.7): letters, digits and _; no two alike in a scope."""
        plain = re.sub(r"[^A-Za-z0-9_]", "_", name) or "_"
        if plain[0].isdecimal():
            plain = f"_{plain}"
        own, n = plain, 1
        while (scope, own) in self._taken:
            n += 1
            own = f"{plain}_{n}"
        self._taken.add((scope, own))
        return own


def _head(reader: LogReader, wires: Wires) -> Iterator[str]:
    yield f"$date {reader.header.started} $end"
    yield f"$version Reedway {__version__} $end"
    yield "$comment Time 0 is the board's; after a reset it goes on where it stopped. $end"
    for (scope, name), wire in wires.wires.items():
        if wire.name != name:
            said = name.replace("$", " ").encode("ascii", "replace").decode()
            yield f"$comment {scope}.{wire.name} is {said} $end"
    yield "$timescale 1 ms $end"
    for scope in dict.fromkeys(wire.scope for wire in wires.wires.values()):
        yield f"$scope module {scope} $end"
        for wire in wires.wires.values():
            if wire.scope == scope:
                yield f"$var wire 1 {wire.code} {wire.name} $end"
        yield "$upscope $end"
    yield "$enddefinitions $end"


class _Dump:
    """The second pass."""

    def __init__(self, wires: Wires, reader: LogReader, out: TextIO) -> None:
        self.wires = wires
        self.out = out
        self.clocks = Clocks(reader.header)
        self.changes = 0
        self._part = 0
        self._last_t = -1
        self._at = -1  # the time written last

    def take(self, line: Line) -> None:
        if line.kind == TEXT:
            return
        self.clocks.take(line)
        if self._at < 0:
            self._time()
            self.out.write("$dumpvars\n")
            self._begin(always=True)
            self.out.write("$end\n")
        if _begins_anew(line, self._last_t):
            self._part += 1
            self._begin(always=False)
        self._last_t = line.t
        found = _level(line)
        if found is not None:
            self._put(self.wires.wires[found[0], line.name], found[1])

    def _time(self) -> None:
        if self.clocks.running_ms != self._at:
            self._at = self.clocks.running_ms
            self.out.write(f"#{self._at}\n")

    def _begin(self, always: bool) -> None:
        for wire in self.wires.wires.values():
            level = wire.before[self._part]
            if always:
                wire.level = level
                self.out.write(f"{level}{wire.code}\n")
            else:
                self._put(wire, level)

    def _put(self, wire: Wire, level: str) -> None:
        if level == wire.level:
            return
        self._time()
        wire.level = level
        self.out.write(f"{level}{wire.code}\n")
        self.changes += 1

    def end(self) -> None:
        """The dump lasts until the last record."""
        self._time()


def write_vcd(path: str, out: TextIO) -> Dumped:
    """Read a log twice: for its wires, and for what they did."""
    wires = Wires(LogReader(path))
    reader = LogReader(path)
    for text in _head(reader, wires):
        out.write(text + "\n")
    dump = _Dump(wires, reader, out)
    for line in reader:
        dump.take(line)
    dump.end()
    return Dumped(len(wires.wires), dump.changes)
