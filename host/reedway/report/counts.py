"""What is counted of each thing in one session."""

from __future__ import annotations

from array import array
from dataclasses import dataclass, field


@dataclass
class SensorTally:
    """One sensor or button."""

    hits: int = 0
    intervals_ms: array[int] = field(default_factory=lambda: array("q"))  # from hit to hit
    closed_ms: array[int] = field(default_factory=lambda: array("q"))  # from each hit to its opening
    chatter: int = 0  # closings that rearm suppressed
    rests: int = 0  # magnets at rest
    last_hit: int = -1
    open_hit: int = -1  # a hit whose opening has not come
    is_button: bool = False  # one that gives an order


@dataclass
class TurnoutTally:
    throws: int = 0
    deferred: int = 0
    refreshes: int = 0  # asked for
    skipped: int = 0  # refreshes that could not be


@dataclass
class CoilTally:
    pulses: int = 0
    longest_ms: int = 0
    total_ms: int = 0
    since: int = -1


@dataclass
class BlockTally:
    changes: int = 0
    go_ms: int = 0
    since: int = -1  # fed since; -1: dead


@dataclass
class Message:
    """All notes, cautions or faults with the same words."""

    kind: str
    text: str
    count: int = 0
    first: int = -1
    standing_ms: int = 0
    since: int = -1
