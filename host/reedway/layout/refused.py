"""Keys that ask for what Reedway does not do: refused with a clear line instead of a list of other keys."""

from __future__ import annotations

_STOCK = ("vehicle", "train")
# (parts of keys, why and what to do)
_REFUSED = (
    (
        ("motor", "servo", "slow_motion", "slow motion", "stall", "steady"),
        "slow-motion motors and servos need steady current, and Reedway's coil outputs give single pulses "
        "only; leave the turnout with its motor to its own switch, or give it a drive with two coils",
    ),
    (
        ("revers", "both_ways", "both ways", "two_way", "two way", "either_way", "bidirectional", "polarity"),
        "Reedway has no reversing loops and no two-way running: every section is run one way only, as to: "
        "says; describe the part of the track that is run one way, and leave the rest off",
    ),
)


def refused(key: str, where: str) -> str:
    """Why a key of this name is refused there and what to do; "" for all others."""
    if where.startswith(_STOCK):
        return ""  # engines have motors
    small = key.lower().replace("-", "_")
    for parts, why in _REFUSED:
        if any(part in small for part in parts):
            return why
    return ""
