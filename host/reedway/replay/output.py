"""Turns the runner's lines into the lines of a session log: one function for every interpreter."""

from __future__ import annotations

from pathlib import Path
from typing import IO

from reedway.problems import ReedwayError
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
    with _open(to) as out, Progress(f"replaying on {machine}", span) as progress:
        _put(out, to, [header.line()])

        def take(lines: str) -> None:
            nonlocal count
            made = log_lines(codec, lines)
            count += len(made)
            _put(out, to, made)
            progress.at(int(lines[: lines.index(" ")]) - extent.t_first)

        RUN_ON[machine](board, inputs, take)
    return count


def _open(path: Path) -> IO[bytes]:
    try:
        return open(path, "wb")
    except OSError as problem:
        raise ReedwayError(f"{path}: cannot be written: {problem.strerror}") from None


def _put(out: IO[bytes], path: Path, lines: list[str]) -> None:
    try:
        out.write("\n".join([*lines, ""]).encode())
    except OSError as problem:
        raise ReedwayError(f"{path}: cannot be written: {problem.strerror}") from None
