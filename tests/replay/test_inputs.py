"""What is taken from a log: orders by the name of their target; and a damaged log makes complaints only."""

from __future__ import annotations

import dataclasses
import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from reedlogic import words as w
from reedway.boardfile.compile import compile_layout
from reedway.layout.load import load
from reedway.problems import ReedwayError
from reedway.replay.compare import part
from reedway.replay.inputs import take_inputs
from reedway.replay.output import write_replay
from reedway.report.figures import figures, read_session
from reedway.report.text import report_lines
from reedway.resources import config_folder
from reedway.sessionlog.names import Codec
from reedway.sessionlog.reader import LogReader
from reedway.sessionlog.tell import Teller
from replay.random_logs import make
from sessionlog.made import NAMES, record, write_log

CONFIG = config_folder()
COMPILED = compile_layout(load(str(CONFIG / "two-trains.yaml")))
CODEC = Codec(COMPILED.names)
LOG = (CONFIG / "sessions" / "two-trains_missed-hit.jsonl").read_bytes()


def test_orders_are_matched_by_the_name_of_their_target(tmp_path: Path) -> None:
    log = write_log(
        tmp_path / "log.jsonl",
        record(10, "order", "start", w.NONE),
        record(20, "order", "hold H"),
        record(30, "order", "throw entry", 1),
        record(40, "order", "stop, by button"),
        record(50, "order", "hold Gone"),
        record(60, "late", "", 25),
        record(60, "edge", "go on switch", 1),
    )
    changed = dataclasses.replace(
        NAMES, places=["new", "H"], turnouts=[["entry", "A", "B"], ["exit", "A", "B"]]
    )
    plan = make(1, tmp_path).plan
    extent = take_inputs(log, Codec(changed), plan, "another layout", tmp_path / "in.txt")
    assert (tmp_path / "in.txt").read_text().splitlines() == [
        "10 100 0 0",
        f"10 1 {w.O_START} 63",
        f"20 1 {w.O_HOLD} 1",
        f"30 1 {w.O_THROW} 1",
        "60 2 0 25",
        "60 0 30 1",
        "60 101 0 0",
    ]
    assert extent.unmatched == {"hold Gone": 1}


BYTES = st.integers(0, len(LOG) - 1)
HOW = st.sampled_from(["flip", "cut", "insert", "swap lines"])
DAMAGE = st.lists(st.tuples(HOW, BYTES, st.integers(0, 255)), min_size=1, max_size=4)


def damaged(damage: list[tuple[str, int, int]]) -> bytes:
    data = bytearray(LOG)
    for how, at, value in damage:
        at %= max(1, len(data))
        if how == "flip" and data:
            data[at] = value
        elif how == "cut":
            del data[at : at + value]
        elif how == "insert":
            data[at:at] = bytes([value]) * 3
        else:
            lines = bytes(data).split(b"\n")
            a, b = at % len(lines), value % len(lines)
            lines[a], lines[b] = lines[b], lines[a]
            data = bytearray(b"\n".join(lines))
    return bytes(data)


@settings(max_examples=100, deadline=None)
@given(DAMAGE)
def test_a_damaged_log_makes_complaints_and_nothing_worse(damage: list[tuple[str, int, int]]) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        log = folder / "log.jsonl"
        log.write_bytes(damaged(damage))
        try:
            session = read_session(str(log))
            figures(session)
            list(report_lines(session))
            inputs, out = folder / "inputs.txt", folder / "out.jsonl"
            extent = take_inputs(log, CODEC, COMPILED.plan, COMPILED.layout.sha256, inputs)
            header = LogReader(log).header
            write_replay("host", COMPILED.board_file, inputs, extent, CODEC, header, out)
            part(log, out, Teller(COMPILED.names))
        except ReedwayError as problem:
            assert all(line.startswith(str(log)) for line in str(problem).splitlines())
