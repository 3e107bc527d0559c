"""Numbers of things in words: `once`, `3 times`, `1 record`, `1,234 records`."""

from __future__ import annotations


def times(count: int) -> str:
    """How often."""
    return "once" if count == 1 else f"{count:,} times"


def counted(count: int, one: str, many: str = "") -> str:
    """So many of them; `many` where it is not `one` with an s."""
    return f"{count:,} {one if count == 1 else many or one + 's'}"
