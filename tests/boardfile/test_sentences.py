"""Every form of sentence with the bits it stands for, and what is said about those that are none."""

from __future__ import annotations

import pytest

from boardfile import valley
from reedlogic import words as w
from reedway.boardfile.numbering import Numbering
from reedway.boardfile.sentences import SentenceError, Sentences

SENTENCES = Sentences(Numbering(valley.layout_of("")))


def number(kind: int, index: int = 0) -> int:
    return kind * 64 + index


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("N1 hit", number(w.E_HIT, 0)),
        ("n2  HIT", number(w.E_HIT, 1)),
        ("N1 opens", number(w.E_OPENING, 0)),
        ("N1 rearmed", number(w.E_REARM, 0)),
        ("N3 at rest", number(w.E_REST, 2)),
        ("siding full occupied", number(w.E_ON, 3)),
        ("siding full free", number(w.E_OFF, 3)),
        ("siding in service", number(w.E_ON, 30)),
        ("siding out of service", number(w.E_OFF, 30)),
        ("third train absent", number(w.E_OFF, 31)),
        ("hand go pressed", number(w.E_HIT, 32)),
        ("hand go released", number(w.E_OPENING, 32)),
        ("exit contact closes", number(w.E_ON, 4)),
        ("exit contact opens", number(w.E_OFF, 4)),
        ("track power on", number(w.E_ON, 5)),
        ("track power off", number(w.E_OFF, 5)),
        ("watch runs out", number(w.E_TIMER, 1)),
        ("yard in position", number(w.E_POSITION, 2)),
        ("start", number(w.E_START)),
        ("stop", number(w.E_STOP)),
        ("go on", number(w.E_GO_ON)),
        ("acknowledge", number(w.E_ACKNOWLEDGE)),
        ("L let go", number(w.E_GO, 1)),
        ("L held", number(w.E_HOLD, 1)),
        ("train set on Yard track", number(w.E_SET_ON, 2)),
        ("train lifted off H", number(w.E_LIFT_OFF, 0)),
    ],
)
def test_events(text: str, expected: int) -> None:
    assert SENTENCES.event(text).number == expected


@pytest.mark.parametrize(
    ("text", "bits"),
    [
        ("N2 closed", ((w.W_LEVEL, 2, 2),)),
        ("N2 open", ((w.W_LEVEL, 2, 0),)),
        ("N2 at rest", ((w.W_RESTING, 2, 2),)),
        ("N2 not at rest", ((w.W_RESTING, 2, 0),)),
        ("siding full occupied", ((w.W_LEVEL, 8, 8),)),
        ("siding full free", ((w.W_LEVEL, 8, 0),)),
        ("siding in service", ((w.W_PANEL, 1, 1),)),
        ("third train absent", ((w.W_PANEL, 2, 0),)),
        ("hand go pressed", ((w.W_PANEL, 4, 4),)),
        ("hand go released", ((w.W_PANEL, 4, 0),)),
        ("exit contact closed", ((w.W_LEVEL, 16, 16),)),
        ("exit contact open", ((w.W_LEVEL, 16, 0),)),
        ("track power on", ((w.W_LEVEL, 32, 32),)),
        ("track power off", ((w.W_LEVEL, 32, 0),)),
        ("CALL in", ((0, 1, 1),)),
        ("sent OUT", ((0, 2, 0),)),
        ("FULL in", ((0, 4, 4),)),
        ("entry to B", ((w.W_POSITION, 2, 2), (w.W_KNOWN, 2, 2))),
        ("entry to A", ((w.W_POSITION, 2, 0), (w.W_KNOWN, 2, 2))),
        ("yard to diverging", ((w.W_POSITION, 4, 4), (w.W_KNOWN, 4, 4))),
        ("ends to B", ((w.W_POSITION, 3, 3), (w.W_KNOWN, 3, 3))),
        ("ends known", ((w.W_KNOWN, 3, 3),)),
        ("exit known", ((w.W_KNOWN, 1, 1),)),
        ("exit not known", ((w.W_KNOWN, 1, 0),)),
        ("Loop goes", ((w.W_GO, 2, 2),)),
        ("Loop stops", ((w.W_GO, 2, 0),)),
        ("watch running", ((w.W_TIMER, 2, 2),)),
        ("watch not running", ((w.W_TIMER, 2, 0),)),
        ("L held", ((w.W_HELD, 2, 2),)),
        ("L not held", ((w.W_HELD, 2, 0),)),
    ],
)
def test_conditions(text: str, bits: tuple[tuple[int, int, int], ...]) -> None:
    assert SENTENCES.condition(text).bits == bits


@pytest.mark.parametrize(
    ("text", "acts"),
    [
        ("pull in SENT", [(w.OP_SET, 0, 2)]),
        ("drop out sent", [(w.OP_CLEAR, 0, 2)]),
        ("Loop goes", [(w.OP_SET, w.W_GO, 2)]),
        ("Loop stops", [(w.OP_CLEAR, w.W_GO, 2)]),
        ("throw yard to straight", [(w.OP_THROW_A, 0, 4)]),
        ("throw ends to B", [(w.OP_THROW_B, 0, 3)]),
        ("start watch", [(w.OP_START, 0, 2)]),
        ("restart watch", [(w.OP_RESTART, 0, 2)]),
        ("cancel let out", [(w.OP_CANCEL, 0, 1)]),
        ("light L1", [(w.OP_SET, w.W_LAMP, 1)]),
        ("darken L1", [(w.OP_CLEAR, w.W_LAMP, 1)]),
    ],
)
def test_acts(text: str, acts: list[tuple[int, int, int]]) -> None:
    assert [(act.op, act.word, act.mask) for act in SENTENCES.act(text)] == acts


@pytest.mark.parametrize(
    ("text", "word", "says", "holds"),
    [
        ('note "milk train is late"', w.W_NOTE, "milk train is late", ""),
        ('caution "look at H"', w.W_CAUTION, "look at H", ""),
        ('Caution  "Look at H" hold h', w.W_CAUTION, "Look at H", "H"),
        ('fault "two trains in Hold"', w.W_FAULT, "two trains in Hold", ""),
    ],
)
def test_acts_with_words(text: str, word: int, says: str, holds: str) -> None:
    (act,) = SENTENCES.act(text)
    assert (act.op, act.word, act.says, act.holds) == (w.OP_SET, word, says, holds)


def test_a_gang_whose_members_name_their_positions_the_other_way_round() -> None:
    head = valley.HEAD.replace("entry: {positions: [A, B]", "entry: {positions: [B, A]")
    sentences = Sentences(Numbering(valley.layout_of("", head)))
    acts = [(act.op, act.mask) for act in sentences.act("throw ends to B")]
    assert acts == [(w.OP_THROW_A, 2), (w.OP_THROW_B, 1)]
    assert sentences.condition("ends to B").bits == ((w.W_POSITION, 3, 1), (w.W_KNOWN, 3, 3))


@pytest.mark.parametrize(
    ("what", "text", "words"),
    [
        ("event", "N1 hits", "unknown 'hits'; with N1 there is: N1 hit, N1 opens, N1 rearmed, N1 at rest"),
        ("event", "N1 hits", "did you mean 'N1 hit'?"),
        ("event", "N1 closed", "is a condition, and here an event is wanted"),
        ("event", "Yard track held", "is no event"),
        ("event", "", "here an event is wanted"),
        ("condition", "CALLL out", "unknown 'CALLL'"),
        ("condition", "CALLL out", "did you mean 'CALL out'?"),
        ("condition", "sidng in servce", "unknown 'sidng', 'servce'"),
        ("condition", "sidng in servce", "did you mean 'siding in service'?"),
        ("condition", "N1 hit", "is an event, and here a condition is wanted"),
        ("condition", "pull in CALL", "is an act, and here a condition is wanted"),
        ("condition", "ends not known", "with ends there is: ends known, ends to A, ends to B"),
        ("act", "pul in CALL", "did you mean 'pull in CALL'?"),
        ("act", "throw ends to C", "with ends there is: throw ends to A, throw ends to B"),
        ("act", "throw yard to B", "with yard there is: throw yard to straight, throw yard to diverging"),
        ("act", "pull in FULL", "follows its pulled_in_while (line 38)"),
        ("act", "light L2", "shows 'H goes' by itself"),
        ("act", "note hello", "double quotes"),
        ("act", 'note ""', "0 characters"),
        ("act", f'note "{"x" * 61}"', "61 characters"),
        ("act", 'caution "x" hold Yard track', "has no block"),
        ("act", 'caution "x" hold Yrd', "there is no place 'Yrd'"),
        ("act", 'fault "x" hold H', "only a caution may"),
    ],
)
def test_sentences_that_are_none(what: str, text: str, words: str) -> None:
    read = {"event": SENTENCES.event, "condition": SENTENCES.condition, "act": SENTENCES.act}[what]
    with pytest.raises(SentenceError) as raised:
        read(text)
    assert words in str(raised.value)
    assert str(raised.value).count(";") >= 2  # what is wrong; what is allowed; what to do


def test_a_sentence_with_two_meanings_is_refused() -> None:
    head = valley.HEAD.replace("on: in service", "on: in in").replace("CALL: {}", "CALL: {}\n  siding in: {}")
    layout = valley.layout_of("", head)
    with pytest.raises(SentenceError, match="can be read in two ways"):
        Sentences(Numbering(layout)).condition("siding in in")
