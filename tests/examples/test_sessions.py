"""The shipped sessions: what their stories make, the same on both interpreters, and moved by every rule."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from examples import make_sessions, replayed
from examples.stories import stories
from reedway.replay.machines import find_micropython

LARGEST_BYTES = 300_000
STORIES = {f"{story.layout}_{story.name}": story for story in stories()}


def lines_of(session: Path) -> list[str]:
    return session.read_text(encoding="utf-8").splitlines()


def test_every_layout_has_its_sessions() -> None:
    kinds = {"ordinary", "magnet-at-rest", "missed-hit"}
    for layout in replayed.LAYOUTS:
        more = {"switches"} if "\nswitches:" in layout.read_text(encoding="utf-8") else set()
        names = {session.stem.split("_")[1] for session in replayed.sessions_of(layout)}
        assert names - {"demo", "phantom"} == kinds | more, layout.name
    assert {session.stem for session in replayed.SESSIONS} == set(STORIES)


@pytest.mark.parametrize("session", replayed.SESSIONS, ids=lambda s: s.stem)
def test_shipped_is_what_the_story_makes(session: Path) -> None:
    made = make_sessions.text(make_sessions.played(STORIES[session.stem]))
    assert made == session.read_text(encoding="utf-8"), "say: python tests/examples/make_sessions.py"
    assert session.stat().st_size < LARGEST_BYTES
    assert json.loads(made.splitlines()[0])["note"] == "invented"


@pytest.mark.parametrize("session", replayed.SESSIONS, ids=lambda s: s.stem)
def test_identical_on_both_interpreters(session: Path, tmp_path: Path) -> None:
    layout = replayed.layout_of(session)
    assert replayed.records(session, layout, "host", tmp_path) == lines_of(session)[1:]
    if find_micropython() is None:
        pytest.skip("no MicroPython on this machine")
    assert replayed.records(session, layout, "micropython", tmp_path) == lines_of(session)[1:]


CHANGES = [
    (layout, change)
    for layout in replayed.LAYOUTS
    for change in (*replayed.without_each_rule(layout), *replayed.with_other_times(layout))
]


def test_changes_are_found() -> None:
    assert len([c for _, c in CHANGES if "without" in c.what]) == sum(
        layout.read_text(encoding="utf-8").count("\n    do: [") for layout in replayed.LAYOUTS
    )
    assert len([c for _, c in CHANGES if "with " in c.what]) == 13  # the logger has no pulse


@pytest.mark.parametrize(("layout", "change"), CHANGES, ids=[change.what for _, change in CHANGES])
def test_each_change_changes_records(layout: Path, change: replayed.Change, tmp_path: Path) -> None:
    """Every rule of every shipped file does something in one of its sessions."""
    changed = tmp_path / layout.name
    changed.write_text(change.source, encoding="utf-8")
    for session in replayed.sessions_of(layout):
        if replayed.records(session, changed, "host", tmp_path) != lines_of(session)[1:]:
            return
    pytest.fail(f"{change.what}: no session of this layout comes out otherwise")
