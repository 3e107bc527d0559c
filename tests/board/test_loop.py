"""The loop of the chip with clock and registers in memory: short scans lose nothing or allocate nothing."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

import pytest

from board import bench as bench_module
from board.bench import LAYOUT, Bench, compiled, w
from board.fakes import FakePins
from reedboard.board import LED
from reedboard.start import loop
from reedboard.terminals import Terminals
from reedlogic.boardfile import PIN_TABLE
from reedway.board.protocol import encode
from reedway.boardfile.compile import compile_layout
from reedway.layout.load import load_bytes
from reedway.replay.machines import find_micropython
from reedway.resources import firmware_folder


class FakeChip(FakePins):
    """The short scan as the chip has it; a millisecond is so many looks at the clock."""

    def __init__(self, looks: int = 2) -> None:
        super().__init__()
        self.looks = looks
        self.arm = Terminals(compiled().plan[PIN_TABLE]).arm
        self.seen = (0, 0)
        self.time = 1000 * looks
        self.events: dict[int, object] = {}
        self.fed = 0
        self.stamps: list[int] = []
        self.reset_mark = 0

    def clock(self) -> int:
        self.time += 1
        now = self.time // self.looks
        event = self.events.pop(now, None)
        if callable(event):
            event()
        return now

    def panel(self) -> int:
        self.seen = (self.levels, self.panel_levels)  # comes after the inputs
        return self.panel_levels

    def quiet(self, now: int) -> bool:
        panel = self.panel_levels if now % 4 == 0 else self.seen[1]
        if (self.levels, panel) != self.seen:
            return False
        self.toggle(self.arm)
        self.stamp(now)
        return True

    def stamp(self, now: int) -> None:
        self.stamps.append(now)

    def start_dog(self):  # type: ignore[no-untyped-def]
        def feed() -> None:
            self.fed += 1

        return feed

    def reset(self, mark: int) -> None:
        self.reset_mark = mark


def test_the_loop_makes_the_records_of_a_scan_each_millisecond() -> None:
    chip = FakeChip()
    bench = Bench(pins=chip)
    other = Bench()

    def ends() -> None:
        bench.board.reset_to = 2
        bench.board.is_busy = True

    steps = [
        (1030, "start"),
        (3100, "N1"),
        (3190, "N1"),
        (4700, "N3"),
        (4790, "N3"),
        (5600, "N2"),
        (9000, "end"),
    ]
    closed: set[str] = set()

    def act(target: Bench, name: str, is_closed: bool) -> None:
        if name == "start":
            target.board.ask(w.O_START, w.NONE)
        else:
            (target.close if is_closed else target.open)(name)

    for at, name in steps[:-1]:
        closed ^= {name}
        chip.events[at] = lambda name=name, is_closed=name in closed: act(bench, name, is_closed)
        other.run(at - 1 - other.now)
        act(other, name, name in closed)
    other.run(9000 - other.now)
    chip.events[9001] = ends
    loop(bench.board, bench.link, chip)
    assert bench.records() == other.records()
    assert chip.pulses == other.pins.pulses and chip.reset_mark == 2
    assert chip.out & ~(LED | bench.board.arm) == other.pins.out & ~(LED | bench.board.arm)
    # each scan on time feeds the watchdog and moves the arm line once
    assert chip.fed == len(chip.stamps) == sum(bool(mask & bench.board.arm) for mask in chip.toggles)
    assert chip.fed >= 7999


@pytest.mark.skipif(find_micropython() is None, reason="no MicroPython on this machine")
def test_nothing_is_allocated_in_a_show_that_runs(tmp_path: Path) -> None:
    program = find_micropython()
    assert program
    (tmp_path / "layout.rwb").write_bytes(compiled().board_file)
    done = subprocess.run(
        [
            program,
            "-X",
            "heapsize=1M",
            str(Path(__file__).parent / "heaplock.py"),
            str(tmp_path / "layout.rwb"),
        ],
        capture_output=True,
        text=True,
        env=os.environ | {"MICROPYPATH": str(firmware_folder())},
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    records, sent = (int(word) for word in done.stdout.split())
    assert records > 20 and sent > 500


# with 1 each scan takes a millisecond and more, with 2 more records come than are counted
@pytest.mark.parametrize("looks", [1, 2, 6])
def test_the_line_is_heard_though_a_contact_chatters_at_every_scan(
    monkeypatch: pytest.MonkeyPatch, looks: int
) -> None:
    quick = LAYOUT.replace(b"{terminal: sensor 1}", b"{terminal: sensor 1, confirm: 1 ms, opening: 1 ms}")
    made = compile_layout(load_bytes("bench.yaml", quick))
    monkeypatch.setattr(bench_module, "compiled", lambda: made)
    chip = FakeChip(looks)
    bench = Bench(pins=chip)

    def ends() -> None:
        bench.board.reset_to = 2
        bench.board.is_busy = True

    def flip() -> None:
        chip.levels ^= 1 << bench.gpio("N1")
        if chip.time // chip.looks == 3300:
            chip.to_board.extend(encode("h", 0, 2) + encode("o", 1, w.O_STOP, 0))

    chip.events[1030] = lambda: bench.board.ask(w.O_START, w.NONE)
    for now in range(3100, 4000):
        chip.events[now] = flip
    chip.events[4000] = ends
    loop(bench.board, bench.link, chip)
    orders = [(time, which) for time, kind, which, _ in bench.records() if kind == w.R_ORDER]
    assert orders[1:] == [(orders[-1][0], w.O_STOP)] and orders[-1][0] < 3600
