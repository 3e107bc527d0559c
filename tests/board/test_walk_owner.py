"""The talk of a walk: only an empty line goes on, and what was asked can be said again."""

from __future__ import annotations

import io

import pytest

from reedway.board.walking.owner import Owner, Turn, broken


def test_what_is_not_an_empty_line_starts_no_pulse() -> None:
    out = io.StringIO()
    owner = Owner(io.StringIO("no\nN2\n\n"), out)
    owner.ready("One pulse comes when you press Enter.")
    assert out.getvalue().count("an empty line (Enter) when it is so") == 2


def test_a_word_still_turns() -> None:
    with pytest.raises(Turn) as turn:
        Owner(io.StringIO("hm\nagain\n"), io.StringIO()).ready("Take every train off.")
    assert turn.value.word == "again"


def test_a_question_is_said_again_until_it_is_answered() -> None:
    out = io.StringIO()
    owner = Owner(io.StringIO("2\n"), out)
    owner.tell("Where do the points lie?")
    owner.say_again()
    assert out.getvalue() == "Where do the points lie?\n" * 2
    assert owner.ask("Which lamp is lit?", ("P1", "P2")) == "P2"
    before = out.getvalue()
    owner.say_again()
    assert out.getvalue() == before + "\n"


def test_lines_break_between_words_and_stay_indented() -> None:
    assert broken("  wave a magnet over sensor N1", 20) == "  wave a magnet over\n  sensor N1"
    assert broken("", 20) == ""
