"""One log through one layout: take its inputs, replay them, put the records where they are wanted."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from reedway import __version__
from reedway.boardfile.compile import Compiled, compile_layout
from reedway.layout.load import load
from reedway.problems import ReedwayError
from reedway.replay.inputs import Extent, take_inputs
from reedway.replay.output import write_replay
from reedway.sessionlog.header import Header
from reedway.sessionlog.names import Codec
from reedway.sessionlog.reader import read_header


@dataclass
class Session:
    """A log whose inputs are ready to be replayed through a layout, in a temporary folder."""

    log: Path
    layout: Compiled
    header: Header  # of the log
    codec: Codec
    extent: Extent
    folder: Path

    @property
    def same_layout(self) -> bool:
        return self.header.layout_sha256 == self.layout.layout.sha256

    def replay(self, machine: str, to: Path | None = None) -> Path:
        """Replay on one interpreter; returns the file with the records."""
        to = to or self.folder / f"{machine}.jsonl"
        layout = self.layout.layout
        header = self.header.of_layout(layout.name, layout.sha256, __version__)
        inputs = self.folder / "inputs.txt"
        write_replay(machine, self.layout.board_file, inputs, self.extent, self.codec, header, to)
        return to


@contextmanager
def open_session(log: Path, layout_path: str) -> Iterator[Session]:
    """Read a log and a layout; what is made of them on the way is gone at the end."""
    if log.is_dir():
        raise ReedwayError(f"{log}: this is a folder; give the path of a session log")
    if log.exists() and not log.is_file():
        raise ReedwayError(f"{log}: is no file that can be read twice; a replay needs one")
    header = read_header(log)
    compiled = compile_layout(load(layout_path))
    codec = Codec(compiled.names)
    with tempfile.TemporaryDirectory(prefix="reedway-") as name:
        folder = Path(name)
        try:
            extent = take_inputs(log, codec, compiled.plan, compiled.layout.sha256, folder / "inputs.txt")
        except OSError as problem:
            raise ReedwayError(f"{log}: its inputs cannot be put into {folder}: {problem.strerror}") from None
        yield Session(log, compiled, header, codec, extent, folder)


def check_out(out: Path, inputs: list[Path], force: bool) -> None:
    """Refuse an output that is one of the inputs, that is already something, or that cannot be written."""
    for used in inputs:
        if out.exists() and used.exists() and os.path.samefile(out, used):
            raise ReedwayError(f"--out {out} is the file {used} that is read; choose another")
    if out.is_dir():
        raise ReedwayError(f"--out {out} is a folder; name a file in it")
    if out.is_file() and out.stat().st_size and not force:
        raise ReedwayError(f"--out {out} is there already; choose another, or say --force to replace it")
    if not os.access(out if out.exists() else out.resolve().parent, os.W_OK):
        raise ReedwayError(f"--out {out} cannot be written; choose another place")


def put(made: Path, out: Path) -> None:
    """Move finished records to where the owner wants them: the whole file or nothing."""
    target = out.resolve()
    try:
        if out.exists() and not out.is_file():  # a device or a pipe
            with open(made, "rb") as source, open(out, "wb") as sink:
                shutil.copyfileobj(source, sink)
            return
        beside = target.with_name(target.name + ".part")
        shutil.copyfile(made, beside)
        os.replace(beside, target)
    except OSError as problem:
        raise ReedwayError(f"--out {out} cannot be written: {problem.strerror}") from None
