"""The nearest known word to a mistyped one, so that a complaint can ask: did you mean ...?"""

from __future__ import annotations

import difflib
from collections.abc import Iterable


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The one known word that is close enough to be meant, or None."""
    by_fold = {candidate.casefold(): candidate for candidate in known}
    found = difflib.get_close_matches(word.casefold(), by_fold, n=1, cutoff=0.6)
    return by_fold[found[0]] if found else None


def did_you_mean(word: str, known: Iterable[str], otherwise: str = "") -> str:
    """What to do about an unknown word: take the nearest, or `otherwise`, or choose from what is known."""
    names = list(known)
    close = nearest(word, names)
    if close is not None:
        return f"did you mean {close}?"
    return otherwise or (f"known are {listed(names)}" if names else "none are known")


def listed(words: Iterable[str], at_most: int = 12) -> str:
    """`a, b, c`, cut where nobody reads on."""
    names = list(words)
    shown = ", ".join(names[:at_most])
    return f"{shown} and {len(names) - at_most} more" if len(names) > at_most else shown
