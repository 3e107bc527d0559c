"""The nearest known word to a mistyped one, so that a complaint can ask: did you mean ...?"""

from __future__ import annotations

import difflib
from collections.abc import Iterable


def nearest_all(word: str, known: Iterable[str], cutoff: float = 0.6) -> list[str]:
    """The known words that are close enough to be meant and as close as each other, three at most."""
    folded = word.casefold()
    by_fold = {candidate.casefold(): candidate for candidate in known}
    close = difflib.get_close_matches(folded, by_fold, n=len(by_fold) or 1, cutoff=cutoff)
    likeness = [_likeness(folded, one) for one in close]
    tied = {one for one, like in zip(close, likeness, strict=True) if like == max(likeness)}
    return [name for fold, name in by_fold.items() if fold in tied][:3]


def _likeness(word: str, known: str) -> float:
    return difflib.SequenceMatcher(a=known, b=word).ratio()


def nearest(word: str, known: Iterable[str]) -> str | None:
    """One known word that is close enough to be meant, or None."""
    found = nearest_all(word, known)
    return found[0] if found else None


def did_you_mean(word: str, known: Iterable[str], otherwise: str = "") -> str:
    """What to do about an unknown word: take the nearest, or `otherwise`, or choose from what is known."""
    names = list(known)
    close = nearest_all(word, names)
    if close:
        return f"did you mean {' or '.join(close)}?"
    return otherwise or (f"known are {listed(names)}" if names else "none are known")


def listed(words: Iterable[str], at_most: int = 12) -> str:
    """`a, b, c`, cut where nobody reads on."""
    names = list(words)
    shown = ", ".join(names[:at_most])
    return f"{shown} and {len(names) - at_most} more" if len(names) > at_most else shown
