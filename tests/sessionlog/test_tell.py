"""Every kind of record has its words, with the owner's names for positions and switches."""

import pytest

from reedlogic import words as w
from reedway.sessionlog.kinds import KIND_WORDS
from reedway.sessionlog.spans import span
from reedway.sessionlog.tell import Teller
from sessionlog.made import NAMES


def test_every_kind_is_told_in_its_own_words() -> None:
    teller = Teller(NAMES)
    told = {teller.tell(word, "X", 1) for word in KIND_WORDS.values()}
    assert len(told) == len(KIND_WORDS)
    assert all(0 < len(words) < 80 for words in told)


@pytest.mark.parametrize(
    ("record", "words"),
    [
        (("throw", "exit", 1), "exit thrown to B"),
        (("throw", "gone", 1), "gone thrown to its second position"),
        (("position", "entry", 0), "entry lies in A"),
        (("timer", "let out", 2), "timer let out runs out"),
        (("feed", "Hold", 0), "Hold stops"),
        (("pulse", "exit to B", 80), "pulse of 80 ms on exit to B"),
        (("order", "throw exit", 1), "order: throw exit to B"),
        (("order", "stop, by button", 0), "order: stop, by button"),
        (("caution", "N1", w.C_REST), "caution: magnet at rest on N1"),
        (("clear", "held up", w.C_RULE), 'caution over: "held up"'),
        (("fault", "exit", w.F_DEFERRED), "fault: throw of exit put off past the limit"),
        (("refused", "start", w.N_SWITCH + 30), "start refused: switch go on switch stands otherwise"),
        (("refused", "start", w.N_NO_MATCH), "start refused: no start for these switches"),
        (("late", "", 40), "scan late by 40 ms"),
    ],
)
def test_records_in_words(record: tuple[str, str, int], words: str) -> None:
    assert Teller(NAMES).tell(*record) == words


def test_switches_are_told_in_their_own_words() -> None:
    NAMES.input_words = [["", ""]] * 30 + [["in service", "out of service"]]
    try:
        assert Teller(NAMES).tell("change", "go on switch", 1) == "go on switch in service"
    finally:
        NAMES.input_words = []


@pytest.mark.parametrize(
    ("ms", "words"),
    [
        (0, "0.000 s"),
        (80, "0.080 s"),
        (9999, "9.999 s"),
        (10_000, "10.0 s"),
        (250_000, "4 min 10 s"),
        (3_600_000, "1 h 00 min"),
        (36_000_000, "10 h 00 min"),
    ],
)
def test_lengths_of_time(ms: int, words: str) -> None:
    assert span(ms) == words
