"""One step of a run in words, with what a session log needs to know of it."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass
class Told:
    """One step in words, and what it is for a session log."""

    who: str  # a train's name, or ""
    text: str
    kind: str = ""  # "hit", "throw", "timer", "serve", "fault" or ""
    number: int = -1  # input, turnout, timer
    event: int = -1  # of the machine, when the controller serves one in this step
    notes: list[str] = field(default_factory=list)
    calls: tuple[tuple[str | int, ...], ...] = ()  # of a train's step: what the inputs show of it
    is_fault: bool = False  # here the fault comes that is tried
