"""Logs that begin in mid-show, lose records, or begin again after a reset."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from reedlogic import words as w
from reedlogic.controller import Controller
from reedlogic.snapshot import WORDS_KEPT, save
from reedway import cli
from reedway.boardfile.compile import compile_layout
from reedway.layout.load import load_bytes
from reedway.problems import ReedwayError
from reedway.replay.inputs import take_inputs
from reedway.resources import config_folder
from reedway.sessionlog.kinds import STATE
from reedway.sessionlog.names import Codec
from reedway.sessionlog.writer import state_line
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


def test_a_state_in_mid_show_of_another_layout_is_refused(tmp_path: Path) -> None:
    made = make(3, tmp_path)
    lines = made.log.read_text().splitlines()
    numbers = lines[1].split("[")[1].removesuffix("]}").split(",")
    numbers[WORDS_KEPT + 3 + 6] = str(w.M_RUNNING)
    lines[1] = lines[1].split("[")[0] + "[" + ",".join(numbers) + "]}"
    made.log.write_text("\n".join(lines) + "\n")
    with pytest.raises(
        ReedwayError, match="begins with a state in mid-show: .* take a log that begins before the start"
    ):
        take_inputs(made.log, CODEC, made.plan, "1" * 64, tmp_path / "inputs.txt")


def begun(folder: Path, closed: str = "", edges: tuple[str, ...] = ()) -> tuple[Path, Path, Path]:
    """A log as `record` begins it, with a state from before the start; its layout, and a changed one."""
    source = (config_folder() / "two-trains.yaml").read_bytes()
    compiled = compile_layout(load_bytes("a.yaml", source), search_s=0.2)
    same, changed = folder / "same.yaml", folder / "changed.yaml"
    same.write_bytes(source)
    changed.write_bytes(source + b"\n# changed\n")
    controller = Controller(compiled.plan, 100)
    index = compiled.names.inputs.index(closed) if closed else 0
    raw, panel = (0, 1 << index - 30) if index >= 30 else (1 << index if closed else 0, 0)
    controller.begin(400, raw, panel)
    lines = (config_folder() / "sessions" / "two-trains_ordinary.jsonl").read_text().splitlines()
    lines[1:1] = [state_line(400, save(controller, 400)), *edges]
    log = folder / "a.jsonl"
    log.write_text("\n".join(lines) + "\n")
    return log, same, changed


def test_a_log_that_record_began_before_the_start_is_compared(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log, same, changed = begun(tmp_path)
    assert cli.main(["replay", str(log), "--layout", str(same), "--verify"]) == 0
    capsys.readouterr()
    assert cli.main(["replay", str(log), "--layout", str(changed), "--compare"]) == 0
    assert "No difference: 144 records, every one equal" in capsys.readouterr().out


def test_contacts_closed_at_the_begin_are_known_by_their_first_edge(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    opened = '{"t":450,"kind":"edge","name":"N1","value":0}'
    log, _same, changed = begun(tmp_path, "N1", (opened,))
    assert cli.main(["replay", str(log), "--layout", str(changed), "--compare", "--out", "-"]) == 0
    assert opened in capsys.readouterr().out.splitlines()[1]
    log, _same, changed = begun(tmp_path, "siding")  # and nobody touched it
    assert cli.main(["replay", str(log), "--layout", str(changed), "--compare"]) == 1
    assert "1 contact was closed when this log began, its edges tell of 0 only" in capsys.readouterr().err


@pytest.mark.parametrize(("closed", "words"), [("siding", ["0", "1"]), ("N2", ["4", "0"])])
def test_a_contact_that_nobody_touched_is_known_by_the_names_in_the_header(
    closed: str, words: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The changed file has one sensor more before N1 and N2, so their bits are others."""
    log, same, changed = begun(tmp_path, closed)
    lines = log.read_text().splitlines()
    names = compile_layout(load_bytes("a.yaml", same.read_bytes()), search_s=0.2).names.inputs
    lines[0] = json.dumps(json.loads(lines[0]) | {"inputs": names})
    log.write_text("\n".join(lines) + "\n")
    changed.write_bytes(
        changed.read_bytes().replace(b"sensors:\n", b"sensors:\n  N0: {terminal: sensor 9}\n", 1)
    )
    assert cli.main(["replay", str(log), "--layout", str(changed), "--compare", "--out", "-"]) in (0, 1)
    made = capsys.readouterr()
    assert "contact was closed" not in made.err and made.out.count("\n") > 20
    taken = tmp_path / "taken.txt"
    compiled = compile_layout(load_bytes("b.yaml", changed.read_bytes()), search_s=0.2)
    take_inputs(log, Codec(compiled.names), compiled.plan, compiled.layout.sha256, taken)
    assert taken.read_text().splitlines()[0].split()[2:] == words
