"""Lengths of time as a reader wants them: 0.080 s, 12.3 s, 4 min 10 s, 1 h 02 min."""

from __future__ import annotations


def span(ms: int) -> str:
    """A length of time in words; below ten seconds to the millisecond."""
    if ms < 10_000:
        return f"{ms / 1000:.3f} s"
    if ms < 60_000:
        return f"{ms / 1000:.1f} s"
    seconds = (ms + 500) // 1000
    if seconds < 3600:
        return f"{seconds // 60} min {seconds % 60} s"
    minutes = (seconds + 30) // 60
    return f"{minutes // 60} h {minutes % 60:02d} min"
