"""Logs that begin in mid-show, lose records, or begin again after a reset."""

from __future__ import annotations

from pathlib import Path

import pytest

from reedway.problems import ReedwayError
from reedway.replay.inputs import take_inputs
from reedway.sessionlog.kinds import STATE
from replay.random_logs import CODEC, HEADER, SHA, make, replay


def split_at_state(log: Path) -> tuple[list[str], list[str]]:
    """Lines before the second state, and from it on."""
    lines = log.read_text().splitlines()
    states = [i for i, line in enumerate(lines) if f'"kind":"{STATE}"' in line]
    return lines[: states[1]], lines[states[1] :]


@pytest.mark.parametrize("seed", [2, 3, 4, 9, 11])
def test_a_log_that_begins_in_mid_show_replays_from_there(seed: int, tmp_path: Path) -> None:
    made = make(seed, tmp_path, state_at=4)
    _, after = split_at_state(made.log)
    made.log.write_text("\n".join([HEADER.line(), *after]) + "\n")
    assert replay(made, "host", tmp_path) == made.log.read_bytes()


@pytest.mark.parametrize("seed", [2, 3, 4, 9, 11])
def test_after_a_loss_the_next_state_goes_on(seed: int, tmp_path: Path) -> None:
    made = make(seed, tmp_path, state_at=4)
    before, after = split_at_state(made.log)
    kept, damaged = before[:-3], before[-1]
    last = kept[-1].split(",")[0]  # {"t":...
    lost = f'{last},"kind":"lost","name":"","value":2}}'
    made.log.write_text("\n".join([*kept, lost, damaged, *after]) + "\n")
    extent = take_inputs(made.log, CODEC, made.plan, SHA, tmp_path / "inputs.txt")
    assert extent.unreplayed == 2
    replayed = replay(made, "host", tmp_path).decode().splitlines()
    assert replayed[: len(kept)] == kept
    assert replayed[-len(after) :] == after


def test_a_damaged_state_is_one_line(tmp_path: Path) -> None:
    made = make(3, tmp_path)
    lines = made.log.read_text().splitlines()
    head, numbers = lines[1].split("[")
    count = numbers.count(",") + 1
    lines[1] = head + "[" + ",".join(["536870911"] * count) + "]}"
    made.log.write_text("\n".join(lines) + "\n")
    with pytest.raises(ReedwayError, match="a state record of the log is damaged; the logic stopped"):
        replay(made, "host", tmp_path)


def test_a_state_of_another_layout_is_refused(tmp_path: Path) -> None:
    made = make(3, tmp_path)
    with pytest.raises(ReedwayError, match="begins with a state, which fits the layout it was recorded with"):
        take_inputs(made.log, CODEC, made.plan, "1" * 64, tmp_path / "inputs.txt")
