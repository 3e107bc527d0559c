"""Turns the runner's lines into the lines of a session log: one function for every interpreter."""

from __future__ import annotations

from pathlib import Path

from reedway.replay.inputs import Extent
from reedway.replay.machines import RUN_ON
from reedway.sessionlog.header import Header
from reedway.sessionlog.kinds import w
from reedway.sessionlog.names import Codec
from reedway.sessionlog.progress import Progress
from reedway.sessionlog.writer import state_line


def log_lines(codec: Codec, lines: str) -> list[str]:
    """Lines of a session log for whole lines `t kind which value` of the runner."""
    made = []
    for line in lines.splitlines():
        t, kind, *numbers = map(int, line.split())
        if kind == w.R_STATE:
            made.append(state_line(t, numbers))
        else:
            made.append(codec.line(t, kind, numbers[0], numbers[1]))
    return made


def write_replay(
    machine: str, board: bytes, inputs: Path, extent: Extent, codec: Codec, header: Header, to: Path
) -> int:
    """Replay on one interpreter into a file; returns the number of records."""
    count = 0
    span = extent.t_last - extent.t_first
    with open(to, "wb") as out, Progress(f"replaying on {machine}", span) as progress:
        out.write(header.line().encode() + b"\n")

        def take(lines: str) -> None:
            nonlocal count
            made = log_lines(codec, lines)
            count += len(made)
            out.write("\n".join([*made, ""]).encode())
            progress.at(int(lines[: lines.index(" ")]) - extent.t_first)

        RUN_ON[machine](board, inputs, take)
    return count
