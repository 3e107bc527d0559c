"""No scan allocates; the biggest example runs in a heap of 64 KiB compiled, of 128 KiB from source."""

from __future__ import annotations

from pathlib import Path

import pytest

from logic import on_micropython
from logic.on_micropython import FIRMWARE, HERE, compiled
from logic.runs import case
from reedway.layout.checking import check_file

CONFIG = HERE.parents[1] / "config"
# The unix port's cells are 32 bytes, twice a board's: what runs here in 64 KiB needs less there.
FITS = [("64k", True, 400), ("128k", False, 1500)]
FREE_BYTES_MIN = 1024  # so that it does not hang on where the holes in the heap are


def test_a_scan_with_any_number_of_hits_takes_no_heap() -> None:
    lines = on_micropython.run(HERE / "heap_locked.py").split("\n")
    rows = [tuple(map(int, line.split())) for line in lines if line]
    assert [row[:2] for row in rows] == [(0, 0), (1, 1), (3, 3), (12, 12)]  # as many hits told as made
    assert {number for row in rows for number in row[2:]} == {0}


def test_random_sessions_take_no_heap(tmp_path: Path) -> None:
    """Rules, orders, keeper, contacts, late scans: all of 60 random sessions with the heap locked."""
    path = tmp_path / "cases.txt"
    path.write_text("".join(f"{case(seed)!r}\n" for seed in range(60_000, 60_060)))
    said = on_micropython.run(HERE / "heap_locked.py", str(path))
    assert said.startswith("scans ") and int(said.split()[1]) > 5000


def biggest() -> bytes:
    """The board file of the example that needs the most bytes."""
    return max((check_file(str(path)).compiled.board_file for path in CONFIG.glob("*.yaml")), key=len)


@pytest.mark.parametrize(("heap", "is_compiled", "records"), FITS)
def test_the_biggest_example_fits(tmp_path: Path, heap: str, is_compiled: bool, records: int) -> None:
    """Loaded one module after the other, then ten minutes of hits; `records` is the journal that fits."""
    path = tmp_path / "board.rwb"
    path.write_bytes(biggest())
    script: Path | str = HERE / "small_heap.py"
    firmware = FIRMWARE
    if is_compiled:
        script, firmware = "small_heap", compiled(tmp_path, HERE / "small_heap.py")
    said = on_micropython.run(script, str(path), str(records), heap=heap, firmware=firmware)
    *_, free, told = map(int, said.split())
    assert told > 1000
    assert free >= FREE_BYTES_MIN
