"""What was seen at each step, kept in a file so that a walk can go on another day."""

from __future__ import annotations

import json
import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from reedway.board.walking.steps import Step
from reedway.problems import ReedwayError

FORMAT = 1
HEAD = 100  # bytes that tell what a file is


@dataclass
class Seen:
    """One step's outcome, as seen; what it means is worked out by findings.py."""

    seen: list[str] = field(default_factory=list)
    more: dict[str, Any] = field(default_factory=dict)


class Answers:
    """Outcomes by the key of their step. Every change goes into the file at once."""

    def __init__(self, path: Path, layout: str, begins_anew: bool = False) -> None:
        self.path = path
        self.layout = layout
        self.seen: dict[str, Seen] = {}
        if path.exists():
            if begins_anew:
                self._check_own()
            else:
                self._read()

    def _check_own(self) -> None:
        """Answers that are damaged may be replaced; a layout or a log never is."""
        try:
            head = self.path.read_bytes()[:HEAD].lstrip()
        except OSError as problem:
            raise ReedwayError(f"{self.path}: cannot be read ({problem.strerror}); name another") from None
        if head and (head[:1] != b"{" or b"reedway_log" in head):
            raise ReedwayError(f"{self.path}: holds no answers of a walk; name another file with --answers")

    def _read(self) -> None:
        try:
            data = json.loads(self.path.read_text(encoding="utf-8"))
            if data["reedway_walk"] != FORMAT:
                raise ValueError("another format")
            self.seen = {
                key: Seen([str(one) for one in row["seen"]], dict(row["more"]))
                for key, row in data["seen"].items()
            }
        except (OSError, ValueError, KeyError, TypeError, AttributeError) as problem:
            raise ReedwayError(
                f"{self.path}: these are not the answers of a walk ({problem}); name another file with "
                "--answers, or begin anew with --anew"
            ) from None

    def get(self, step: Step) -> Seen | None:
        return self.seen.get(step.key)

    def put(self, step: Step, seen: Seen) -> None:
        """Keep it, also on the disk."""
        self.seen[step.key] = seen
        self._write()

    def drop(self, step: Step) -> None:
        if self.seen.pop(step.key, None) is not None:
            self._write()

    def _write(self) -> None:
        rows = {key: {"seen": one.seen, "more": one.more} for key, one in self.seen.items()}
        data = {"reedway_walk": FORMAT, "layout": self.layout, "seen": rows}
        half = self.path.with_name(self.path.name + ".new")
        try:
            half.write_text(json.dumps(data, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
            os.replace(half, self.path)
        except OSError as problem:
            raise ReedwayError(
                f"{self.path}: cannot be written ({problem.strerror}); name another file with --answers"
            ) from None
