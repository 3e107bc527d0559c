"""Seeded random plans and sessions as logs, written by the tests' own player and not by the replay."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from logic.drive import Player
from logic.plans import random_plan
from logic.sessions import random_session
from reedlogic import words as w
from reedlogic.ring import JUMP_MS_MAX, MASK
from reedlogic.snapshot import save
from reedway.boardfile.encode import encode
from reedway.boardfile.names import Names
from reedway.replay.inputs import take_inputs
from reedway.replay.output import write_replay
from reedway.sessionlog.header import Header
from reedway.sessionlog.names import Codec
from reedway.sessionlog.reader import LogReader
from reedway.sessionlog.writer import LogWriter

SHA = "0" * 64
HEADER = Header("random", SHA, "0.1.0", "2026-11-25T19:30:00+01:00")
CODEC = Codec(Names())  # everything is called by its number
RING = 1 << 29

Records = list[tuple[int, int, int, int]]


@dataclass
class Made:
    """A random plan, the log of a random session on it, and the records of that session."""

    plan: tuple
    log: Path
    epoch: int  # unwrapped time of the log at the session's t = 0
    records: Records


def comes_to_rest(plan: tuple) -> bool:
    """No rule starts a timer or throws without an input, so that a long idle has few records."""
    rules = [acts for _, acts in plan[15]]
    for event, *at_rules in plan[14]:
        if event >> w.EVENT_SHIFT in (w.E_TIMER, w.E_POSITION):
            rules += [acts for _, acts in at_rules]
    ops = {acts[j] for acts in rules for j in range(0, len(acts), 3)}
    return not ops & {w.OP_START, w.OP_RESTART, w.OP_THROW_A, w.OP_THROW_B}


def make(seed: int, folder: Path, long_idles: bool = False, state_at: int = 0) -> Made:
    """The log of one seed; it opens with a state, and has another after `state_at` steps."""
    plan = random_plan(seed)
    idles = 0 if not long_idles else JUMP_MS_MAX if comes_to_rest(plan) else 1000
    session = random_session(seed, plan, idles=idles)
    player = Player(plan, session)
    epoch = session[0] + RING * (seed % 3)
    log = folder / f"{seed}.jsonl"
    with LogWriter(log, HEADER, CODEC) as writer:
        writer.state(epoch, save(player.controller, session[0] & MASK))
        for number, step in enumerate(session[3], 1):
            done = len(player.out)
            player.step(step)
            writer.records((epoch + t, kind, which, value) for t, kind, which, value in player.out[done:])
            if number == state_at:
                writer.state(epoch + step[0], save(player.controller, (session[0] + step[0]) & MASK))
    return Made(plan, log, epoch, player.out)


def replay(made: Made, machine: str, folder: Path) -> bytes:
    """The log's bytes as a replay on this interpreter makes them."""
    inputs = folder / "inputs.txt"
    extent = take_inputs(made.log, CODEC, made.plan, SHA, inputs)
    board = encode((*made.plan, (), (0, 0)), SHA)
    to = folder / f"{machine}.jsonl"
    write_replay(machine, board, inputs, extent, CODEC, LogReader(made.log).header, to)
    return to.read_bytes()
