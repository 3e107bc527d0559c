"""What came of one replay, as lines for the terminal and as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from reedway.counting import counted
from reedway.replay.compare import Parting, Sameness
from reedway.replay.session import Session
from reedway.sessionlog.spans import span

CAUTION = (
    "Careful: from there on real trains would have moved differently, so the hits that",
    "follow in the log are no longer those that would have happened.",
)


def identical(sameness: Sameness) -> str:
    """The line that counts what both interpreters agree on."""
    return f"{counted(sameness.identical, 'record')} identical on MicroPython and CPython"


@dataclass
class Outcome:
    """One replay of one log."""

    session: Session
    machines: list[str]
    is_compare: bool
    sameness: Sameness | None = None  # of the two interpreters
    parting: Parting | None = None  # of log and replay

    @property
    def exit_code(self) -> int:
        """1 where something differs that must not."""
        if self.sameness is not None and not self.sameness.same:
            return 1
        return int(self.parting is not None and self.parting.first is not None and not self.is_compare)

    def notices(self) -> Iterator[str]:
        """What is worth knowing and no fault."""
        session = self.session
        yield from map(str, session.extent.notices)
        if session.extent.unreplayed:
            left = counted(session.extent.unreplayed, "record")
            yield f"{session.log}: left out after a loss: {left}; the next state record goes on"
        if not session.same_layout:
            name = session.header.layout
            yield f"{session.log}: recorded with another layout ({name}); its inputs are matched by name"

    def lines(self) -> Iterator[str]:
        """The outcome for the terminal."""
        extent = self.session.extent
        over = span(extent.t_last - extent.t_first)
        yield f"{counted(extent.inputs, 'input')} over {over} replayed on {' and '.join(self.machines)}"
        if extent.unmatched:
            names = ", ".join(f"{name} ({n})" for name, n in sorted(extent.unmatched.items()))
            yield f"Not in this layout, left out: {names}"
        if self.parting is not None:
            yield from self._parting_lines(self.parting)
        if self.sameness is not None:
            if not self.sameness.same:
                yield f"MicroPython and CPython differ: {self.sameness.where}"
            yield identical(self.sameness)

    def _parting_lines(self, parting: Parting) -> Iterator[str]:
        first = parting.first
        if first is None:
            yield f"No difference: {counted(parting.same, 'record')}, every one equal"
            return
        line = f", line {first.line} of the log" if first.line else ""
        at = f"{first.clock} (t {first.t} ms{line})"
        yield f"First difference at {at}, after {counted(parting.same, 'equal record')}:"
        yield f"  recorded: {first.before}"
        yield f"  now:      {first.now}"
        if self.is_compare:
            yield from CAUTION

    def as_json(self) -> dict[str, Any]:
        """The same for a program."""
        extent = self.session.extent
        found: dict[str, Any] = {
            "log": str(self.session.log),
            "layout": self.session.layout.layout.path,
            "same_layout": self.session.same_layout,
            "on": self.machines,
            "inputs": extent.inputs,
            "span_ms": extent.t_last - extent.t_first,
            "unmatched": dict(sorted(extent.unmatched.items())),
            "unreplayed": extent.unreplayed,
            "notices": list(self.notices()),
        }
        if self.sameness is not None:
            found["both"] = vars(self.sameness) | {"same": self.sameness.same}
        if self.parting is not None:
            found |= vars(self.parting)
            found["first"] = vars(self.parting.first) if self.parting.first else None
            if self.is_compare and self.parting.first:
                found["caution"] = " ".join(CAUTION)
        return found
