"""What Reedway says when something is wrong: one root for exceptions, and complaints with file and line."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, order=True)
class Complaint:
    """One thing wrong in a file: where it is, and a sentence: what is wrong; what is allowed; what to do."""

    file: str
    line: int  # 1 is the first line
    message: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.message}"


LONG = 40  # an explanation of more characters is given once
CURE = "did you mean"


def told_once(complaints: Iterable[Complaint]) -> list[Complaint]:
    """The same complaints for reading: a long explanation stands at the first place only, a cure at each."""
    first: dict[str, int] = {}
    told = []
    for one in complaints:
        wrong, *rest = one.message.split("; ")
        again = [part for part in rest if part in first and first[part] != one.line]
        kept = [part for part in rest if part not in again]
        if again and not kept:
            kept = [f"as at line {first[again[0]]}"]
        for part in rest:
            if len(part) > LONG and not part.startswith(CURE):
                first.setdefault(part, one.line)
        told.append(Complaint(one.file, one.line, "; ".join([wrong, *kept])))
    return told


class ReedwayError(Exception):
    """Root of all errors that a user can cause; its text is one line for the terminal."""


class LayoutError(ReedwayError):
    """A layout file is wrong; carries every complaint of the stage that found them."""

    def __init__(self, complaints: list[Complaint]) -> None:
        super().__init__("\n".join(map(str, told_once(sorted(complaints)))))
        self.complaints = sorted(complaints)
