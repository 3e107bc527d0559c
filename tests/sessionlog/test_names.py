"""Every record goes into the log by name and comes back as the same numbers."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedlogic import words as w
from reedway.sessionlog.kinds import KIND_WORDS
from reedway.sessionlog.names import Codec, UnknownName
from sessionlog.made import NAMES

CODEC = Codec(NAMES)


@given(
    t=st.integers(0, 1 << 40),
    kind=st.sampled_from(sorted(KIND_WORDS)),
    which=st.integers(0, 127),
    value=st.integers(0, (1 << 18) - 1),
)
def test_any_record_survives_the_log(t: int, kind: int, which: int, value: int) -> None:
    if kind == w.R_MODE:
        which = 0  # the logic writes nothing else
    fields = json.loads(CODEC.line(t, kind, which, value))
    assert list(fields) == ["t", "kind", "name", "value"]
    assert fields["t"] == t
    assert CODEC.by_number(fields["kind"], fields["name"], fields["value"]) == (kind, which, value)


@pytest.mark.parametrize(
    ("record", "line"),
    [
        ((1200, w.R_HIT, 0, 0), '{"t":1200,"kind":"hit","name":"N1","value":0}'),
        ((0, w.R_EDGE, 1, 1), '{"t":0,"kind":"edge","name":"Ö sensor","value":1}'),
        ((5, w.R_PULSE_END, 2, 0), '{"t":5,"kind":"pulse end","name":"exit to B","value":0}'),
        ((5, w.R_NOTE, 0, 0), '{"t":5,"kind":"note","name":"said \\"so\\"","value":0}'),
        ((5, w.R_NOTE, 2, 0), '{"t":5,"kind":"note","name":"twice (2)","value":0}'),
        ((5, w.R_PULSE, 1, 80), '{"t":5,"kind":"pulse","name":"#1","value":80}'),
        ((5, w.R_FAULT, 0, w.F_UNSETTLED), '{"t":5,"kind":"fault","name":"CALL in (line 12)","value":1}'),
        ((5, w.R_ORDER, w.O_START, w.NONE), '{"t":5,"kind":"order","name":"start","value":63}'),
        ((5, w.R_ORDER, w.O_START, 0), '{"t":5,"kind":"order","name":"start three trains","value":0}'),
        ((5, w.R_ORDER, w.O_HOLD, 0), '{"t":5,"kind":"order","name":"hold H","value":0}'),
        ((5, w.R_ORDER, w.O_GO_ON, 0), '{"t":5,"kind":"order","name":"go on","value":0}'),
        ((5, w.R_ORDER, w.O_GO, 1), '{"t":5,"kind":"order","name":"go on (2)","value":0}'),
        ((5, w.R_ORDER, w.O_THROW, 3), '{"t":5,"kind":"order","name":"throw entry","value":1}'),
        ((5, w.R_ORDER, w.O_FEED, 1), '{"t":5,"kind":"order","name":"feed Hold","value":1}'),
        ((5, w.R_ORDER, w.O_STOP | 64, 0), '{"t":5,"kind":"order","name":"stop, by button","value":0}'),
        ((5, w.R_CAUTION, 1, w.C_REST), '{"t":5,"kind":"caution","name":"Ö sensor","value":1}'),
        ((5, w.R_CLASH, 2, w.W_RELAY + 1), '{"t":5,"kind":"clash","name":"R32","value":1}'),
        ((5, w.R_MODE, 0, w.M_FAULT), '{"t":5,"kind":"mode","name":"fault","value":3}'),
        ((5, w.R_LATE, 0, 40), '{"t":5,"kind":"late","name":"","value":40}'),
    ],
)
def test_lines_are_written_to_the_letter(record: tuple[int, int, int, int], line: str) -> None:
    assert CODEC.line(*record) == line


def test_an_unknown_name_is_told_with_the_nearest_one() -> None:
    with pytest.raises(UnknownName, match="the layout has no 'Go on swich'; did you mean go on switch"):
        CODEC.by_number("hit", "Go on swich", 0)
    with pytest.raises(UnknownName, match="there is no order 'halt'"):
        CODEC.by_number("order", "halt", 0)
