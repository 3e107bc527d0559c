"""Takes from a session log what a replay feeds in, matched by name to the numbers of a layout."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import TextIO

from reedlogic.controller import Controller
from reedlogic.journal import VALUE_MAX
from reedlogic.snapshot import LOGIC_FIXED, WORDS_KEPT, save
from reedway.problems import Complaint, ReedwayError
from reedway.replay.runner import BEGIN, PANEL, UNTIL
from reedway.sessionlog.header import INPUTS
from reedway.sessionlog.kinds import BY_BUTTON, KIND_WORDS, TEXT, w
from reedway.sessionlog.names import Codec, UnknownName
from reedway.sessionlog.reader import Line, LogReader

INPUT_KINDS = {KIND_WORDS[kind] for kind in (w.R_EDGE, w.R_ORDER, w.R_LATE)}
_EDGE, _LATE, _STATE, _LOST = (KIND_WORDS[kind] for kind in (w.R_EDGE, w.R_LATE, w.R_STATE, w.R_LOST))


@dataclass
class Extent:
    """What was found in a log: how much, over which time, and what could not be fed in."""

    inputs: int = 0
    records: int = 0
    t_first: int = -1
    t_last: int = -1
    unmatched: Counter[str] = field(default_factory=Counter)  # name -> input records left out
    unreplayed: int = 0  # records after a loss and before the next state
    notices: list[Complaint] = field(default_factory=list)


class _Taker:
    """Writes the runner's lines while it goes through the records of one log."""

    def __init__(self, reader: LogReader, codec: Codec, plan: tuple, same: bool, out: TextIO) -> None:
        self.findings = reader.findings
        inputs = reader.header.more.get(INPUTS)
        self.inputs: list[object] | None = inputs if isinstance(inputs, list) else None
        self.codec = codec
        self.same = same  # the log is of this very layout
        self.out = out
        self.extent = Extent()
        self.snapshot_length = len(save(Controller(plan, 1), 0))
        self.t_input = -1  # the last instant with an input, which a gap must not reach over
        self.is_lost = False

    def take(self, line: Line) -> None:
        if line.kind == TEXT:
            return
        if line.kind == _STATE:
            self._state(line)
        elif line.kind == _LOST:
            self._until()
            self.is_lost = True
            self.extent.unreplayed += 1
        elif self.is_lost:
            self.extent.unreplayed += 1
        else:
            self._record(line)

    def _until(self) -> None:
        """The part that ends here is replayed up to its last record."""
        if self.extent.t_last >= 0 and not self.is_lost:
            self.out.write(f"{self.extent.t_last} {UNTIL} 0 0\n")

    def _at(self, t: int) -> None:
        self.extent.records += 1
        self.extent.t_last = t
        if self.extent.t_first < 0:
            self.extent.t_first = t

    def _state(self, line: Line) -> None:
        if not self.same:
            self._other_state(line)
            return
        assert isinstance(line.value, list)
        if len(line.value) != self.snapshot_length:
            self.findings.add(
                line.number,
                f"a state of this layout has {self.snapshot_length} numbers, not {len(line.value)}",
            )
            return
        self._until()
        self._at(line.t)
        self.is_lost = False
        self.t_input = line.t
        self.out.write(f"{line.t} {w.R_STATE} {' '.join(map(str, line.value))}\n")

    def _other_state(self, line: Line) -> None:
        """A state of another layout says nothing here, but for which contacts were closed before a start."""
        assert isinstance(line.value, list)
        begin = begin_of(line.value)
        if begin is None or self.extent.t_last >= 0:
            self.findings.add(
                line.number,
                "this part begins with a state in mid-show: its relays, timers and positions are those of "
                "the layout it was recorded with and of no other; take a log that begins before the start",
            )
            return
        closed = self._closed(begin)
        count = begin[0].bit_count() + begin[1].bit_count()
        if len(closed) != count:
            contacts = "1 contact was" if count == 1 else f"{count} contacts were"
            self.findings.add(
                line.number,
                f"{contacts} closed when this log began, its edges tell of {len(closed)} only; the log does "
                "not name the others (a newer `record` does), and with another layout nobody knows which; "
                "take a log in which each switch is turned once",
            )
            return
        words = [0, 0]
        for name in closed:
            try:
                _, which, _ = self.codec.by_number(_EDGE, name, 0)
            except UnknownName:
                continue  # counted as unmatched where its edges come
            words[which >= PANEL] |= 1 << (which - PANEL if which >= PANEL else which)
        self.extent.t_first = self.extent.t_last = self.t_input = line.t
        self.out.write(f"{line.t} {BEGIN} {words[0]} {words[1]}\n")

    def _closed(self, begin: tuple[int, int]) -> list[str]:
        """Names of the inputs that were closed: by the header, or by what their first edges say."""
        names = self.inputs
        if names is None:
            return closed_at_first(self.findings.path)
        return [
            str(name)
            for i, name in enumerate(names)
            if name and (begin[1] >> i - PANEL if i >= PANEL else begin[0] >> i) & 1
        ]

    def _record(self, line: Line) -> None:
        assert isinstance(line.value, int)
        if self.extent.t_last < 0:
            begin = max(0, line.t - line.value) if line.kind == _LATE else line.t
            self.t_input = begin
            self.out.write(f"{begin} {BEGIN} 0 0\n")
        self._at(line.t)
        if self.same or line.kind in INPUT_KINDS:
            try:
                kind, which, value = self.codec.by_number(line.kind, line.name, line.value)
            except UnknownName as problem:
                if self.same:
                    self.findings.add(line.number, str(problem))
                else:
                    self.extent.unmatched[line.name] += 1
                return
            if line.kind in INPUT_KINDS and not line.name.endswith(BY_BUTTON):
                self._input(line, kind, which, value)

    def _input(self, line: Line, kind: int, which: int, value: int) -> None:
        wrong = ""
        if kind == w.R_EDGE and value > 1:
            wrong = f"the level of a contact is 0 or 1, not {value}"
        elif kind == w.R_LATE and line.t - value < self.t_input:
            wrong = f"a gap of {value} ms reaches back over the input at {self.t_input} ms"
        elif value > VALUE_MAX:
            wrong = f"{value} is more than a record can hold"
        if wrong:
            self.findings.add(line.number, wrong)
            return
        self.t_input = line.t
        self.extent.inputs += 1
        self.out.write(f"{line.t} {kind} {which} {value}\n")


def begin_of(snapshot: list[int]) -> tuple[int, int] | None:
    """The closed contacts in a snapshot from before the start, two words; None for one of a show."""
    if len(snapshot) <= LOGIC_FIXED:
        return None
    mode, timers = snapshot[WORDS_KEPT + 3 + 6], snapshot[WORDS_KEPT + 3 + 13]
    raw_at = LOGIC_FIXED + timers
    if mode != w.M_BEFORE or len(snapshot) <= raw_at + 1:
        return None
    return snapshot[raw_at], snapshot[raw_at + 1]


def closed_at_first(log: str) -> list[str]:
    """Inputs whose first edge in the log's first part is an opening."""
    first: dict[str, int] = {}
    for line in LogReader(log):
        if line.part > 1:
            break
        if line.kind == _EDGE and isinstance(line.value, int):
            first.setdefault(line.name, line.value)
    return [name for name, level in first.items() if not level]


def take_inputs(log: Path, codec: Codec, plan: tuple, sha256: str, to: Path) -> Extent:
    """Write the runner's lines to a file; ReedwayError with every complaint where the log is no good."""
    reader = LogReader(log)
    with open(to, "w", encoding="ascii") as out:
        taker = _Taker(reader, codec, plan, reader.header.layout_sha256 == sha256, out)
        for line in reader:
            taker.take(line)
        taker._until()
    reader.findings.raise_serious()
    extent = taker.extent
    if not extent.records:
        raise ReedwayError(f"{log}: the log holds no record that could be replayed")
    if extent.unmatched and not extent.inputs:
        raise ReedwayError(f"{log}: is a log of another layout; none of its inputs is in this one")
    extent.notices = reader.findings.notices
    return extent
