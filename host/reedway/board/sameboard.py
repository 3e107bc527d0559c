"""Is the board that answers the one that the layout file is for: its layout, and its chip."""

from __future__ import annotations

from reedway.board.client import Hello
from reedway.boardfile.compile import Compiled
from reedway.problems import ReedwayError
from reedway.typed import typed

CHIPS = {"2040": ("pico", "Pico"), "2350": ("pico2", "Pico 2")}  # as a hello says, the file, a reader


def check_same_board(hello: Hello, compiled: Compiled) -> None:
    """ReedwayError when it runs another layout, or the layout is for the other chip."""
    layout = compiled.layout
    board, words = CHIPS.get(hello.chip, ("", f"RP{hello.chip}"))
    if board != layout.board:
        wanted = next(name for key, name in CHIPS.values() if key == layout.board)
        raise ReedwayError(
            f"the board is a {words}, and {layout.path} is for a {wanted}; plug in the other board, or write "
            f"`board: {board or 'pico'}` into the layout file and load it"
        )
    if hello.layout_sha256 != layout.sha256:
        raise ReedwayError(
            f"the board runs another layout than {layout.path}; put this one on it with `reedway load "
            f"{typed(layout.path)}`, or give the file that it runs (`reedway load --fetch NEW.yaml` brings "
            "it back)"
        )
