"""A hundred seeded random sessions: log, replay on CPython and replay on MicroPython are the same bytes."""

from collections import Counter
from pathlib import Path

import pytest

from reedlogic import words as w
from reedway.replay.machines import HOST, MICROPYTHON, find_micropython
from reedway.sessionlog.kinds import KIND_WORDS
from replay.random_logs import Made, make, replay

SEEDS = range(100)
FIRST = 200  # these hundred reach everything together
needs_micropython = pytest.mark.skipif(find_micropython() is None, reason="no MicroPython for this machine")


@pytest.fixture(scope="module")
def sessions(tmp_path_factory: pytest.TempPathFactory) -> list[Made]:
    """Every third with long idles, most with a second state in the middle; made once."""
    folder = tmp_path_factory.mktemp("random")
    return [make(FIRST + seed, folder, long_idles=seed % 3 == 0, state_at=seed % 7) for seed in SEEDS]


@pytest.mark.parametrize("seed", SEEDS)
def test_a_replay_on_the_host_gives_the_log_again(seed: int, sessions: list[Made], tmp_path: Path) -> None:
    assert replay(sessions[seed], HOST, tmp_path) == sessions[seed].log.read_bytes()


@needs_micropython
@pytest.mark.parametrize("seed", SEEDS)
def test_a_replay_on_micropython_gives_the_log_again(seed: int, sessions: list[Made], tmp_path: Path) -> None:
    assert replay(sessions[seed], MICROPYTHON, tmp_path) == sessions[seed].log.read_bytes()


def test_the_random_sessions_reach_everything(sessions: list[Made]) -> None:
    kinds: Counter[str] = Counter()
    details = set()
    wraps = longest = 0
    for session in sessions:
        kinds.update(KIND_WORDS[kind] for _, kind, _, _ in session.records)
        details |= {(kind, value) for _, kind, _, value in session.records}
        times = [session.epoch + record[0] for record in session.records]
        wraps += any(a >> 29 != b >> 29 for a, b in zip(times, times[1:], strict=False))
        longest = max([longest, *(b - a for a, b in zip(times, times[1:], strict=False))])
    by_drain = {KIND_WORDS[w.R_STATE], KIND_WORDS[w.R_LOST]}  # written by who drains the journal
    assert set(KIND_WORDS.values()) - by_drain - set(kinds) == set()
    both_ways = (w.R_RELAY, w.R_GO, w.R_LAMP, w.R_THROW, w.R_REFRESH)
    acts = {(kind, value) for kind in both_ways for value in (0, 1)}
    acts |= {(w.R_TIMER, 0), (w.R_TIMER, 1), (w.R_TIMER, 2)}
    cautions = {(w.R_CAUTION, c) for c in (w.C_RULE, w.C_REST, w.C_STRAYED, w.C_UNMOVED)}
    faults = {(w.R_FAULT, f) for f in (w.F_RULE, w.F_UNSETTLED, w.F_DEFERRED, w.F_OUT_OF_STEP, w.F_LATE)}
    assert (acts | cautions | faults) - details == set()
    assert wraps >= 10
    assert longest > 1 << 27  # more than one jump of the ring
