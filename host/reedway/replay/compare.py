"""Where two files of records first differ: two replays to the letter, a log and its replay in words."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from itertools import zip_longest
from pathlib import Path

from reedway.problems import ReedwayError
from reedway.replay.inputs import INPUT_KINDS
from reedway.sessionlog.header import Header
from reedway.sessionlog.kinds import KIND_WORDS, STATE, TEXT, w
from reedway.sessionlog.reader import Line, LogReader
from reedway.sessionlog.tell import Teller

_LOST = KIND_WORDS[w.R_LOST]
# Records about an input that the other layout does not have say nothing about its rules.
_OF_INPUTS = INPUT_KINDS | {KIND_WORDS[k] for k in (w.R_HIT, w.R_OPENING, w.R_CHANGE, w.R_CHATTER, w.R_REST)}


@dataclass
class Sameness:
    """How far two files of records are the same."""

    identical: int  # records that are equal at their place
    first: int  # records in the first file
    second: int
    where: str = ""  # first difference in words; empty: none

    @property
    def same(self) -> bool:
        return not self.where


def compare_files(first: Path, second: Path) -> Sameness:
    """Two logs byte for byte; a line is a record, but the first line of each."""
    found = Sameness(0, -1, -1)
    try:
        with open(first, "rb") as a_file, open(second, "rb") as b_file:
            for number, (a, b) in enumerate(zip_longest(a_file, b_file), 1):
                found.first += a is not None
                found.second += b is not None
                if a == b:
                    found.identical += number > 1
                elif not found.where:
                    found.where = (
                        f"line {number}: {first.name} has {_shown(a)}, {second.name} has {_shown(b)}"
                    )
    except OSError as problem:
        raise ReedwayError(f"{problem.filename}: cannot be read: {problem.strerror}") from None
    if found.first < 0 or found.second < 0:
        found.where = found.where or "both files are empty"
    return found


def _shown(line: bytes | None) -> str:
    if line is None:
        return "no such line"
    text = line.decode("utf-8", "backslashreplace")
    shown = "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in text.removesuffix("\n"))
    return shown[:200] if text.endswith("\n") else f"{shown[:200]} without a line end"


@dataclass
class Difference:
    """The first place where a log and its replay part."""

    clock: str
    t: int
    before: str  # what the log says, in words
    now: str  # what the replay says
    line: int  # of the log; 0: past its end


@dataclass
class Parting:
    """A log against its replay."""

    same: int  # records before the first difference
    recorded: int
    replayed: int
    first: Difference | None = None


def _replayable(reader: LogReader, without: Collection[str], with_states: bool) -> Iterator[Line]:
    """The records of a log that a replay makes too: none between a loss and the next state."""
    lost = False
    for line in reader:
        lost = line.kind == _LOST or (lost and line.kind != STATE)
        if line.kind == STATE and not with_states:
            continue
        if not lost and line.kind != TEXT and not (line.name in without and line.kind in _OF_INPUTS):
            yield line


def part(
    log: Path, replayed: Path, teller: Teller, unmatched: Collection[str] = (), with_states: bool = True
) -> Parting:
    """Go through a log and its replay together until they part, then only count.

    A replay through another layout makes no state of the log's again: with_states False leaves them out.
    """
    recorded, again = LogReader(log), LogReader(replayed)
    found = Parting(0, 0, 0)
    last = -1  # time of the last record of the log
    for a, b in zip_longest(_replayable(recorded, unmatched, with_states), again):
        found.recorded += a is not None
        found.replayed += b is not None
        if a is not None:
            last = a.t
        if found.first is not None:
            continue
        if a is not None and b is not None and a[2:] == b[2:]:
            found.same += 1
        elif a is None and b is not None and b.t == last and recorded.findings.notices:
            found.replayed -= 1  # a torn log ends in the middle of an instant
        else:
            found.first = _difference(recorded.header, a, b, teller)
    return found


def _difference(header: Header, a: Line | None, b: Line | None, teller: Teller) -> Difference:
    t = min(line.t for line in (a, b) if line is not None)
    return Difference(
        clock=header.clock(t),
        t=t,
        before=_at(header, a, t, teller, "the log ends here"),
        now=_at(header, b, t, teller, "nothing more happens"),
        line=a.number if a is not None else 0,
    )


def _at(header: Header, line: Line | None, t: int, teller: Teller, otherwise: str) -> str:
    """What one side says at time t; something later is told with its own clock time."""
    if line is None:
        return otherwise
    told = "state" if isinstance(line.value, list) else teller.tell(line.kind, line.name, int(line.value))
    return told if line.t == t else f"nothing (next is {told} at {header.clock(line.t)})"
