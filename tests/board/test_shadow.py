"""Shadow mode: whatever the logic says, no word of a coil, feed, supply or the arm line leaves the board."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from board import pioasm
from reedlogic import boardfile as b
from reedway.board.virtual import VirtualBoard
from reedway.boardfile.compile import Compiled, compile_layout
from reedway.layout.load import load_bytes
from reedway.problems import LayoutError
from reedway.replay.machines import find_micropython
from reedway.resources import config_folder

pioasm.install()

from board import shadow_play  # noqa: E402
from logic.on_micropython import run  # noqa: E402

SEEDS = 3
LED = 1 << 25
NAME = "three-trains-pairs"
CONTACTS_STAY = "mode: shadow  # and contacts\n"


def layout(mode: str, name: str = NAME, more: bytes = b"") -> Compiled:
    source = (config_folder() / f"{name}.yaml").read_bytes()
    source = source.replace(b"board: pico\n", b"board: pico\n" + mode.encode()) + more
    if mode != CONTACTS_STAY:
        source = re.sub(rb"\n    contacts: [^\n]*", b"", source)
    return compile_layout(load_bytes("my.yaml", source), search_s=0.2)


def played(compiled: Compiled, folder: Path) -> list[list[int]]:
    path = folder / "layout.rwb"
    path.write_bytes(compiled.board_file)
    return [[int(n) for n in shadow_play.play(str(path), seed).split()] for seed in range(SEEDS)]


def test_no_word_leaves_in_shadow_mode_whatever_the_logic_does(tmp_path: Path) -> None:
    shadow, live = [], []
    for name in ("coil-protector", "two-trains", NAME):
        shadow += played(layout("mode: shadow\n", name), tmp_path)
        live += played(layout("", name), tmp_path)
    assert sum(pulses for _, _, pulses, _, _ in shadow) > 50 and sum(row[3] for row in shadow) > 20
    for (toggled, handed, *_), (live_toggled, live_handed, live_pulses, live_feeds, _) in zip(
        shadow, live, strict=True
    ):
        assert toggled & ~LED == 0 and handed == 0
        assert live_handed == live_pulses and (live_toggled & ~LED or not live_feeds)  # live, they do
    assert [row[2:] for row in shadow] == [row[2:] for row in live]  # and the logic is none the wiser


@pytest.mark.skipif(find_micropython() is None, reason="no MicroPython on this machine")
def test_the_same_on_micropython(tmp_path: Path) -> None:
    here = played(layout("mode: shadow\n"), tmp_path)
    script = Path(shadow_play.__file__)
    there = run(script, str(tmp_path / "layout.rwb"), str(SEEDS))
    assert [[int(n) for n in line.split()] for line in there.splitlines()] == here


def test_the_board_is_told_of_no_output_pin() -> None:
    compiled = layout("mode: shadow\n")
    roles = set(compiled.plan[b.PIN_TABLE][1::3])
    assert b.P_SHADOW in roles and not roles & {b.P_COIL, b.P_FEED, b.P_SUPPLY, b.P_ARM}
    assert {b.P_INPUT, b.P_COIL, b.P_FEED, b.P_ARM} <= set(layout("", "two-trains").plan[b.PIN_TABLE][1::3])
    assert layout("mode: live\n").plan == layout("").plan


def test_a_table_that_names_coils_all_the_same_moves_none(tmp_path: Path) -> None:
    compiled = layout("")
    plan = list(compiled.plan)
    plan[b.PIN_TABLE] = (*plan[b.PIN_TABLE], 0, b.P_SHADOW, 1)
    compiled.plan = tuple(plan)
    for toggled, handed, pulses, *_ in played(compiled, tmp_path):
        assert toggled & ~LED == 0 and handed == 0 and pulses


@pytest.mark.skipif(find_micropython() is None, reason="no MicroPython on this machine")
def test_the_virtual_board_in_shadow_mode_gives_no_pulse() -> None:
    with VirtualBoard(layout("mode: shadow\n", "two-trains")) as board:
        board.go(1000)
        board.order(0, 63)
        out = board.go(6000)
        assert board.take_pulses() == [] and not any(board.feeds()) and out.out & ~LED == 0


def test_senses_is_read_with_a_hint_and_contacts_are_refused() -> None:
    more = b"detectors:\n  K1: {terminal: sensor 20, senses: exit to C}\n"
    source = (config_folder() / "two-trains.yaml").read_bytes()
    with pytest.raises(
        LayoutError, match="senses of K1: 'exit to C' is nothing that relays do here.*exit to"
    ):
        compile_layout(load_bytes("my.yaml", source + more))
    with pytest.raises(LayoutError, match="in shadow mode the old relays move the points"):
        layout(CONTACTS_STAY, "two-trains")
    with pytest.raises(LayoutError, match="mode: 'shade' is not allowed; allowed are live, shadow|shade"):
        layout("mode: shade\n")
