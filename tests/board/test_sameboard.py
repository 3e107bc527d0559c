"""A Pico 2 in place of a Pico, and the other way round."""

import pytest

from board.bench import LAYOUT
from reedway.board.client import Hello
from reedway.board.sameboard import check_same_board
from reedway.boardfile.compile import compile_layout
from reedway.layout.load import load_bytes
from reedway.problems import ReedwayError


@pytest.mark.parametrize(
    ("file", "chip", "says"),
    [
        ("pico", "2350", "the board is a Pico 2, and my.yaml is for a Pico; .* `board: pico2`"),
        ("pico2", "2040", "the board is a Pico, and my.yaml is for a Pico 2; .* `board: pico`"),
    ],
)
def test_the_other_chip_is_told_whichever_layout_it_runs(file: str, chip: str, says: str) -> None:
    compiled = compile_layout(
        load_bytes("my.yaml", LAYOUT.replace(b"board: pico", b"board: " + file.encode()))
    )
    good = "2040" if file == "pico" else "2350"
    check_same_board(Hello("0.1.0", good, compiled.layout.sha256, 0, 0, 0, 0), compiled)
    for sha in (compiled.layout.sha256, "00" * 32):
        with pytest.raises(ReedwayError, match=says):
            check_same_board(Hello("0.1.0", chip, sha, 0, 0, 0, 0), compiled)
    with pytest.raises(ReedwayError, match="another layout than my.yaml; .* `reedway load my.yaml`"):
        check_same_board(Hello("0.1.0", good, "00" * 32, 0, 0, 0, 0), compiled)
