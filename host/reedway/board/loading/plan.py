"""Which files are to be written and removed, and in which order: a board is safe wherever it breaks off."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass

from reedway.board.loading.folder import BOOT, MAIN, OURS
from reedway.board.loading.prompt import OnBoard
from reedway.boardfile.manifest import MANIFEST

HALF = "load.new"  # a file on its way; takes its name when its hash is right
LAST = (MAIN, MANIFEST)  # without main.py nothing runs; with the manifest all is there


@dataclass(frozen=True)
class Plan:
    """What load will do: boot.py if it is to be written, then take away, then write the rest in order."""

    take_away: list[str]
    write: list[str]  # boot.py first, main.py and the manifest last
    same: list[str]
    strangers: list[str]  # files that are not ours: left alone

    @property
    def is_empty(self) -> bool:
        return not self.take_away and not self.write


def sha256(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def make_plan(wanted: Mapping[str, bytes], there: OnBoard) -> Plan:
    """Compare what is wanted with what the board holds."""
    write = [path for path, data in wanted.items() if there.files.get(path) != (len(data), sha256(data))]
    stale = [path for path in there.files if _is_stale(path, wanted, there)]
    same = [path for path in wanted if path not in write]
    known = {*wanted, *stale, *there.folders()}
    strangers = sorted(path for path in there.files if path not in known)
    if not write and not stale:
        return Plan([], [], same, strangers)
    for path in LAST:  # these two go first and come last, changed or not
        if path in same:
            same.remove(path)
            write.append(path)
    halted = [path for path in LAST if path in write and path in there.files]
    order = [path for path in (BOOT,) if path in write]
    order += [path for path in write if path not in (BOOT, *LAST)]
    order += [path for path in LAST if path in write]
    gone = [path for path in stale if path != HALF]  # that one goes with the first file written
    return Plan(halted + gone, order, same, strangers)


def _is_stale(path: str, wanted: Mapping[str, bytes], there: OnBoard) -> bool:
    """A file of an earlier load, or one that would be imported in place of one of ours."""
    if path in wanted or path in there.folders():
        return False
    return path == HALF or path.split("/")[0] in OURS or path in ("pins.mpy", "main.mpy", "boot.mpy")


def blocks_wanted(plan: Plan, wanted: Mapping[str, bytes], there: OnBoard, block: int) -> int:
    """Blocks of flash that must be free before it begins: what comes, less what goes, and one file twice."""

    def blocks(size: int) -> int:
        return -(-size // block)

    come = sum(blocks(len(wanted[path])) for path in plan.write)
    go = sum(blocks(there.files[path][0]) for path in {*plan.take_away, *plan.write} & set(there.files))
    twice = max((blocks(len(wanted[path])) for path in plan.write), default=0)
    return come - go + twice
