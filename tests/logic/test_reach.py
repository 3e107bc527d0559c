"""The random runs together reach every act, record kind, deferral, refresh and fault cause."""

from collections import Counter

import pytest

from logic.runs import SHARED, shared_run
from reedlogic import words as w


@pytest.fixture(scope="module")
def seen() -> Counter:
    """How often each (kind, which or None, value) came in the shared runs."""
    count: Counter = Counter()
    for seed in range(SHARED):
        for _, kind, which, value in shared_run(seed)[2]:
            count[kind, None, value] += 1
            count[kind, which, None] += 1
            count[kind, None, None] += 1
    return count


def missing(seen: Counter, kind: int, values: range | list[int], by_which: bool = False) -> list[int]:
    return [v for v in values if not (seen[kind, v, None] if by_which else seen[kind, None, v])]


def test_every_record_kind(seen: Counter) -> None:
    """But two: `state` opens a log, `lost` tells of a full ring; whoever drains the journal writes them."""
    kinds = [k for k in range(w.R_KINDS) if k not in (w.R_STATE, w.R_LOST)]
    assert [k for k in kinds if not seen[k, None, None]] == []


def test_every_fault_cause_caution_and_mode(seen: Counter) -> None:
    assert missing(seen, w.R_FAULT, range(w.F_BOARD + 1)) == []
    assert missing(seen, w.R_CAUTION, range(w.C_UNMOVED + 1)) == []
    assert missing(seen, w.R_CLEAR, range(w.C_UNMOVED + 1)) == []
    assert missing(seen, w.R_MODE, range(w.M_MAINTENANCE + 1)) == []


def test_every_order_and_refusal(seen: Counter) -> None:
    assert missing(seen, w.R_ORDER, range(w.O_BOARD_FAULT + 1), by_which=True) == []
    buttons = [w.O_START, w.O_STOP, w.O_GO_ON, w.O_ACKNOWLEDGE, w.O_GO, w.O_HOLD]
    assert missing(seen, w.R_ORDER, [b + w.O_FROM_BUTTON for b in buttons], by_which=True) == []
    assert missing(seen, w.R_REFUSED, [w.N_NOT_BEFORE, w.N_NOT_STARTED, w.N_UNKNOWN]) == []
    assert any(kind == w.R_REFUSED and value is not None and value >= w.N_SWITCH for kind, _, value in seen)


def test_every_way_of_acts(seen: Counter) -> None:
    """What acts leave behind: both ways of relays, blocks, lamps, throws, timers, refreshes.

    Which act of which kind of rule did it is counted beside the oracle (test_oracle.py).
    """
    for kind in (w.R_RELAY, w.R_GO, w.R_LAMP, w.R_FEED, w.R_THROW, w.R_POSITION, w.R_SUPPLY, w.R_POWER):
        assert missing(seen, kind, [0, 1]) == [], kind
    assert missing(seen, w.R_TIMER, [0, 1, 2]) == []
    assert missing(seen, w.R_REFRESH, [0, 1]) == []
    assert seen[w.R_DEFERRED, None, None] > 20
    words = [w.W_RELAY, w.W_GO, w.W_TIMER, w.W_LAMP, w.W_WANTED]
    assert missing(seen, w.R_CLASH, words) == []
