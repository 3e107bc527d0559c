"""A share of the damaged lines in the suite; `python tests/board/fuzz_line.py` takes a million."""

import pytest

from board.fuzz_line import fuzz


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_damaged_lines_are_never_read_as_something_else(seed: int) -> None:
    count = fuzz(10_000, seed)
    assert (count.wrong, count.missed) == ([], 0), f"seed {seed}"
    assert count.damaged > 5_000 and count.understood > 3_000 and count.texts > 500 and count.whole > 3_000
