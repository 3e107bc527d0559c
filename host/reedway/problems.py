"""What Reedway says when something is wrong: one root for exceptions, and complaints with file and line."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, order=True)
class Complaint:
    """One thing wrong in a file: where it is, and a sentence: what is wrong; what is allowed; what to do."""

    file: str
    line: int  # 1 is the first line
    message: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.message}"


class ReedwayError(Exception):
    """Root of all errors that a user can cause; its text is one line for the terminal."""


class LayoutError(ReedwayError):
    """A layout file is wrong; carries every complaint of the stage that found them."""

    def __init__(self, complaints: list[Complaint]) -> None:
        super().__init__("\n".join(str(c) for c in sorted(complaints)))
        self.complaints = sorted(complaints)
