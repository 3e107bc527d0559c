"""Every shipped session replays to its own bytes on both interpreters; a changed layout changes it."""

from __future__ import annotations

from pathlib import Path

import pytest

from reedway.replay.machines import find_micropython
from reedway.resources import config_folder
from replay.command import run

CONFIG = config_folder()
SESSIONS = sorted((CONFIG / "sessions").glob("*.jsonl"))
MACHINES = ["host"] + (["micropython"] if find_micropython() else [])


def layout_of(session: Path) -> Path:
    return CONFIG / f"{session.stem.partition('_')[0]}.yaml"


def test_every_example_has_its_sessions() -> None:
    examples = [
        "coil-protector",
        "sensor-logger",
        "two-trains",
        "three-trains-go-sensor",
        "three-trains-interlocked",
        "three-trains-pairs",
        "three-trains-running-times",
    ]
    stems = {session.stem for session in SESSIONS}
    for example in examples:
        assert {f"{example}_{what}" for what in ("ordinary", "magnet-at-rest", "missed-hit")} <= stems
    for example in examples[2:]:  # the others have no switches
        assert f"{example}_switches" in stems


@pytest.mark.parametrize("session", SESSIONS, ids=lambda path: path.stem)
def test_a_shipped_session_replays_to_its_own_bytes(session: Path, tmp_path: Path) -> None:
    for machine in MACHINES:
        out = tmp_path / f"{machine}.jsonl"
        assert run("replay", session, "--layout", layout_of(session), "--on", machine, "--out", out) == (
            0,
            "",
        )
        assert out.read_bytes() == session.read_bytes()


@pytest.mark.parametrize("session", SESSIONS, ids=lambda path: path.stem)
def test_a_shipped_session_is_verified(session: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("replay", session, "--layout", layout_of(session), "--verify") == (0, "")
    records = len(session.read_text().splitlines()) - 1
    assert f"No difference: {records:,} records, every one equal" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("layout", "old", "new"),
    [
        ("coil-protector", "confirm: 5 ms", "confirm: 6 ms"),
        ("coil-protector", "pulse: 80 ms", "pulse: 79 ms"),
        ("sensor-logger", "confirm: 5 ms", "confirm: 6 ms"),
        ("two-trains", "confirm: 5 ms", "confirm: 6 ms"),
        ("two-trains", "pulse: 80 ms", "pulse: 81 ms"),
        ("three-trains-go-sensor", "pulse: 80 ms", "pulse: 79 ms"),
        ("three-trains-go-sensor", "let out: 4 s", "let out: 5 s"),
        ("three-trains-go-sensor", "do: [throw ends to B]", "do: [throw ends to A]"),
        ("three-trains-interlocked", "confirm: 5 ms", "confirm: 4 ms"),
        ("three-trains-interlocked", "pulse: 80 ms", "pulse: 79 ms"),
    ],
)
def test_one_change_of_a_layout_changes_the_records(layout: str, old: str, new: str, tmp_path: Path) -> None:
    session = CONFIG / "sessions" / f"{layout}_ordinary.jsonl"
    source = (CONFIG / f"{layout}.yaml").read_text()
    assert old in source
    changed = tmp_path / "changed.yaml"
    changed.write_text(source.replace(old, new, 1))
    out = tmp_path / "out.jsonl"
    assert run("replay", session, "--layout", changed, "--out", out) == (0, "")
    assert out.read_bytes().split(b"\n", 1)[1] != session.read_bytes().split(b"\n", 1)[1]
