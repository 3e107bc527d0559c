"""What is wrong with one log: serious findings and mere notices, one line each, a screenful at most."""

from __future__ import annotations

from reedway.problems import Complaint, ReedwayError

_SHOWN_MAX = 20


class Findings:
    """Collected while a log is read; a notice leaves every record readable, a serious finding does not."""

    def __init__(self, path: str) -> None:
        self.path = path
        self.serious: list[Complaint] = []
        self.notices: list[Complaint] = []
        self._unsaid = 0

    def add(self, line: int, message: str) -> None:
        """Something serious in this line."""
        if len(self.serious) < _SHOWN_MAX:
            self.serious.append(Complaint(self.path, line, message))
        else:
            self._unsaid += 1

    def notice(self, line: int, message: str) -> None:
        """Something worth saying that loses nothing."""
        if len(self.notices) < _SHOWN_MAX:
            self.notices.append(Complaint(self.path, line, message))

    def lines(self) -> list[str]:
        """The serious findings as lines for the terminal, the last one counting what is not shown."""
        said = [str(complaint) for complaint in self.serious]
        if self._unsaid:
            said.append(f"{self.path}: and {self._unsaid} more lines like these")
        return said

    def raise_serious(self) -> None:
        """A ReedwayError with all serious findings, if there are any."""
        if self.serious:
            raise ReedwayError("\n".join(self.lines()))
