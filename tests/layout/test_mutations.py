"""Slips of the hand in every example: told with the right line and the right word, never a traceback."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml

from layout.base import EXAMPLES, as_data
from layout.mutations import Slip, all_slips
from reedway.cli import main

SEED = 20261125
PER_KIND, PER_KIND_LONG = 2, 1
LONG_CHARACTERS = 10_000
# A name that nothing uses may be spelled anyhow, free text says anything, a time stays a time.
MAY_BE_GOOD = ("rename a key", "slip in a sentence", "unknown name", "one column out", "line left out")


class Outcome:
    """What check said about one slip."""

    def __init__(self, slip: Slip, path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        path.write_text(slip.text, encoding="utf-8")
        self.slip = slip
        self.code = main(["check", "--json", str(path)])
        captured = capsys.readouterr()
        assert captured.err == ""
        self.told = json.loads(captured.out)["complaints"]
        self.lines_in_file = slip.text.count("\n") + 1

    @property
    def right(self) -> list[str]:
        """Messages at a right line, or that name the line (as where two things share a pin)."""
        names_line = f"line {self.slip.line})"
        return [c["message"] for c in self.told if c["line"] in self.slip.lines or names_line in c["message"]]

    @property
    def named(self) -> bool:
        return any(word.lower() in message.lower() for message in self.right for word in self.slip.words)

    def __str__(self) -> str:
        spoiled = self.slip.text.split("\n")[self.slip.line - 1]
        told = "; ".join(f"{c['line']}: {c['message']}" for c in self.told[:3])
        return f"[{self.slip.kind}] line {self.slip.line} {spoiled!r} -> {told}"


def every_slip() -> Iterator[tuple[str, Slip]]:
    for number, example in enumerate(EXAMPLES):
        text = example.read_text(encoding="utf-8")
        per_kind = PER_KIND if len(text) < LONG_CHARACTERS else PER_KIND_LONG
        for slip in all_slips(SEED + number, text, per_kind):
            yield example.name, slip
    for slip in all_slips(SEED, one_key_a_line(EXAMPLES[-1].read_text(encoding="utf-8")), PER_KIND):
        yield "one-key-a-line.yaml", slip


def one_key_a_line(text: str) -> str:
    """The same layout without [ ] and { }."""
    return yaml.safe_dump(as_data(text) | {"drawing": "none"}, sort_keys=False, width=200)


def test_slips_are_told_at_the_right_line_with_the_right_word(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    outcomes = [Outcome(slip, tmp_path / name, capsys) for name, slip in every_slip()]
    assert len(outcomes) >= 300
    kinds = Counter(outcome.slip.kind for outcome in outcomes)
    assert len(kinds) >= 25, kinds
    for outcome in outcomes:
        assert outcome.code in (0, 1)
        assert outcome.code == (1 if outcome.told else 0)
        for complaint in outcome.told:
            assert set(complaint) == {"file", "line", "message"}
            assert 1 <= complaint["line"] <= outcome.lines_in_file, str(outcome)
    missed = [outcome for outcome in outcomes if not outcome.told and outcome.slip.kind not in MAY_BE_GOOD]
    assert not missed, "\n".join(map(str, missed))
    told = [outcome for outcome in outcomes if outcome.told]
    single = [outcome for outcome in told if outcome.slip.single]
    assert len(single) >= 250
    wrong = [outcome for outcome in single if not outcome.named]
    assert len(wrong) <= len(single) // 20, "\n".join(map(str, wrong))
    stray = [outcome for outcome in told if not outcome.slip.single and not outcome.right]
    assert len(stray) <= len(told) // 20, "\n".join(map(str, stray))
