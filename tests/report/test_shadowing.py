"""`report --shadow` on the worked example of hardware/upgrade.md: the page's own layout, loaded and run."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from reedway import cli
from reedway.boardfile.compile import compile_layout
from reedway.boardfile.shadow import sensed
from reedway.layout.load import load_bytes
from reedway.problems import ReedwayError
from reedway.report.shadowing import shadowing
from sessionlog.made import HEADER, record, write_log

PAGE = Path(__file__).resolve().parents[2] / "hardware" / "upgrade.md"


def example() -> bytes:
    found = re.findall(r"```yaml\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.S)
    assert len(found) == 1
    return found[0].encode()


@pytest.fixture
def layout(tmp_path: Path) -> Path:
    path = tmp_path / "five.yaml"
    path.write_bytes(example())
    return path


def shadow_log(layout: Path, folder: Path, *lines: str) -> Path:
    sha = load_bytes("five.yaml", layout.read_bytes()).sha256
    header = HEADER.__class__("Five relays", sha, "0.1.0", "2026-11-25T19:30:00+01:00")
    return write_log(folder / "a.jsonl", *lines, header=header)


def test_the_example_of_the_page_is_a_good_layout(layout: Path, capsys: pytest.CaptureFixture[str]) -> None:
    compiled = compile_layout(load_bytes("five.yaml", example()))
    assert compiled.layout.is_shadow and len(compiled.layout.relays) == 2
    assert {name: sentence for name, (sentence, _) in sensed(compiled.layout).items()} == {
        "K1 coil": "exit to B",
        "K3 feed": "Hold goes",
    }
    assert cli.main(["check", str(layout)]) == 0
    assert "shadow mode" in capsys.readouterr().out


def test_the_logic_beside_the_relays(
    layout: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = shadow_log(
        layout,
        tmp_path,
        record(5005, "hit", "N1"),
        record(5005, "throw", "exit", 1),
        record(5005, "throw", "entry", 1),
        record(5030, "change", "K1 coil", 1),
        record(5900, "feed", "Hold", 1),
        record(5950, "change", "K3 feed", 1),
        record(6000, "change", "K1 coil", 0),
        record(30_000, "change", "K1 coil", 1),  # the relays alone: the logic saw no hit
        record(60_005, "throw", "exit", 0),
        record(60_100, "feed", "Hold", 0),
        record(90_000, "throw", "exit", 1),  # the logic alone
    )
    assert cli.main(["report", str(log), "--shadow", "--layout", str(layout)]) == 0
    out = capsys.readouterr().out
    told = [re.sub(r" {2,}", " | ", line) for line in out.splitlines()]
    assert "19:30:05.005 | exit to B | would have | did, +25 ms" in told
    assert "19:30:05.005 | entry to B | would have | not sensed" in told
    assert "19:30:05.900 | Hold goes | would have | did, +50 ms" in told
    assert "19:30:30.000 | exit to B | nothing | did" in told
    assert "19:31:00.100 | Hold stops | would have | nothing" in told
    assert told[-1] == "Of what is sensed: 2 alike, 2 by the logic only, 1 by relays only."
    assert cli.main(["report", str(log), "--shadow", "--layout", str(layout), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)[0]
    assert (found["both"], found["only_logic"], found["only_relays"]) == (2, 2, 1)
    assert found["relays_later_ms"] == {"median": 37.5, "longest": 50}


def test_a_log_of_another_layout_and_half_a_question_are_refused(
    layout: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = write_log(tmp_path / "b.jsonl", record(5, "hit", "N1"))
    with pytest.raises(ReedwayError, match="recorded with another layout"):
        shadowing(str(other), load_bytes("five.yaml", example()))
    assert cli.main(["report", str(other), "--shadow"]) == 1
    assert "--shadow and --layout FILE go together" in capsys.readouterr().err
