"""Writes a counterexample with its times as a session log: what the sensors show, through the controller.

A hit of the story is a closing its confirm time earlier, and an opening when the magnet has passed. Times are
whole ticks, so what the real controller does in the log may be off by some ticks from the story.
"""

from __future__ import annotations

import os

from reedway import __version__
from reedway.boardfile.compile import Compiled
from reedway.problems import ReedwayError
from reedway.proof.prooflog import GAP_MS, STARTED, Drive
from reedway.proof.scene import Scene
from reedway.proof.timed.judge import TimedVerdict
from reedway.sessionlog.header import Header
from reedway.sessionlog.names import Codec
from reedway.sessionlog.writer import LogWriter
from reedway.trains.makeup import Makeup

APART_MS = 2  # hits of one tick


def write_timed_log(
    path: str, compiled: Compiled, scene: Scene, verdict: TimedVerdict, made: list[Makeup]
) -> None:
    """Write the log; a file that is there already is not touched."""
    if os.path.exists(path):
        raise ReedwayError(f"{path}: is there already; choose another name")
    start = next(i for i, one in enumerate(compiled.layout.starts) if scene.start.split(", ")[0] == one.name)
    drive = Drive(compiled, start, scene)
    drive.begin()
    began = drive.now
    for at_ms, number, closed in _edges(drive, verdict, made):
        drive.to(max(drive.now, began + at_ms))
        drive.raw(number, closed)
        drive.to(drive.now)
    over = began + verdict.steps[-1].ticks * verdict.tick_ms if verdict.steps else began
    drive.to(max(drive.now, over) + GAP_MS)
    layout = compiled.layout
    header = Header(layout.name, layout.sha256, __version__, STARTED)
    with LogWriter(path, header, Codec(compiled.names)) as log:
        log.records(drive.records)


def _edges(drive: Drive, verdict: TimedVerdict, made: list[Makeup]) -> list[tuple[int, int, bool]]:
    """(ms from the start, input, closed) in order."""
    closed_ms = {
        f"the {one.name}": round(1000 * one.magnets[0].operating[0] / one.train.speed[1])
        for one in made
        if one.magnets
    }
    edges: list[tuple[int, int, bool]] = []
    last_ms = 0
    for step in verdict.steps:
        told = step.told
        if told.kind not in ("hit", "phantom", "shut"):
            continue
        confirm_ms, opening_ms = drive.confirm[told.number]
        at_ms = max(step.ticks * verdict.tick_ms - confirm_ms, last_ms + APART_MS, 1)
        last_ms = at_ms
        edges.append((at_ms, told.number, True))
        if told.kind != "shut":
            lasts = max(confirm_ms + APART_MS, closed_ms.get(told.who, opening_ms))
            edges.append((at_ms + lasts, told.number, False))
    return sorted(edges)
