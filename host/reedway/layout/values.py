"""Stage 2, one value: turns what stands at a key into what the key's kind says, or complains."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from reedway.durations import NotATime, as_written, parse_ms
from reedway.electrics import units
from reedway.layout import keytypes as kinds
from reedway.layout.keys import DRAWING_COLUMNS_MAX, DRAWING_LINES_MAX
from reedway.layout.keytypes import Key
from reedway.layout.model import Text
from reedway.layout.near import did_you_mean
from reedway.layout.yamltext import Mapping, Scalar, Sequence, Tree

Complain = Callable[[int, str], None]
LIST_MAX = 60  # entries of one list
SENTENCE_LETTERS_MAX = 200
MAY_FOLD = (kinds.TEXT, kinds.SENTENCE, kinds.SENTENCES, kinds.NAMES)
YES, NO = ("true", "yes"), ("false", "no")


class Wrong(ValueError):
    """The value cannot be used; the message says what is wrong, what is allowed, what to do."""

    def __init__(self, line: int, message: str) -> None:
        super().__init__(message)
        self.line = line


def read(key: Key, node: Tree) -> Any:
    """The value of `key` written at `node`; raises Wrong."""
    return _READERS[key.kind](key, node)


def default_of(key: Key) -> Any:
    """The key's own default as a value; None where it has none."""
    if not key.default:
        return None
    if key.kind == kinds.WORDS:
        words = key.default.strip("[]").split(", ")
        return read(key, Sequence([Scalar(word, 0) for word in words], 0))
    return read(key, Scalar(key.default, 0))


def limits_of(key: Key) -> str:
    """`5 ms to 250 ms`, `1 to 20`, `pico, pico2`; "" where nothing limits it."""
    if key.kind == kinds.TIME:
        span = f"{as_written(key.low)} to {as_written(key.high)}"
        return f"{span} or never" if key.or_never else span
    if key.kind == kinds.COUNT:
        return f"{key.low} to {key.high}" if key.high > key.low else f"only {key.low}"
    if key.kind == kinds.TEXT:
        return f"up to {key.high} letters"
    if key.kind == kinds.DRAWING:
        return f"up to {DRAWING_LINES_MAX} lines of {DRAWING_COLUMNS_MAX} characters"
    if key.kind == kinds.YES_NO:
        return "true, false"
    if key.kind in units.KINDS:
        return units.limits(key.words)
    return ", ".join(key.words)


def _plain(key: Key, node: Tree) -> str:
    """The text of a single value."""
    what = f"write for example {key.name}: {key.example}"
    if isinstance(node, Mapping):
        inner = node.entries[0][0].text if node.entries else "{}"
        raise Wrong(
            node.line,
            f"keys stand here ('{inner}'), one {_one(key)} is allowed; {what}; put ' ' around a colon",
        )
    if isinstance(node, Sequence):
        raise Wrong(node.line, f"a list stands here, one {_one(key)} is allowed; {what}")
    if not node.text.strip() or node.plain_kind == "null":
        raise Wrong(node.line, f"the value is missing; {what}")
    if node.folded and key.kind not in MAY_FOLD:
        shown = " ".join(node.text.split())[:50]
        raise Wrong(
            node.line, f"'{shown}...' goes on in the next line; one line is allowed; is a key missing there?"
        )
    return " ".join(node.text.split())


def _one(key: Key) -> str:
    return {kinds.NAMES: "name", kinds.SENTENCES: "sentence", kinds.WORDS: "word"}.get(
        key.kind, key.kind.replace("two terminals", "terminal").replace("one of", "word")
    )


def _text(key: Key, node: Tree) -> Text:
    text = _plain(key, node)
    if len(text) > SENTENCE_LETTERS_MAX:
        raise Wrong(
            node.line, f"'{text[:30]}...' is too long; allowed are {SENTENCE_LETTERS_MAX} letters; cut it"
        )
    return Text(text, node.line)


def _free_text(key: Key, node: Tree) -> Text:
    text = _plain(key, node)
    if len(text) > key.high:
        raise Wrong(
            node.line, f"'{text[:30]}...' has {len(text)} letters; allowed are {key.high}; write it shorter"
        )
    return Text(text, node.line)


def _time(key: Key, node: Tree) -> int:
    """Milliseconds; 0 for never."""
    text = _plain(key, node)
    if key.or_never and text == "never":
        return 0
    try:
        time_ms = parse_ms(text)
    except NotATime as why:
        also = "; or write never" if key.or_never else ""
        raise Wrong(node.line, f"{why}{also}") from None
    if not key.low <= time_ms <= key.high:
        side = f"is over the ceiling of {as_written(key.high)}" if time_ms > key.high else "is too short"
        why_high = f" ({key.why_high})" if key.why_high and time_ms > key.high else ""
        do = "write a shorter time" if time_ms > key.high else "write a longer time"
        raise Wrong(node.line, f"'{text}' {side}{why_high}; allowed are {limits_of(key)}; {do}")
    return time_ms


def _count(key: Key, node: Tree) -> int:
    text = _plain(key, node)
    if not re.fullmatch(r"[0-9]{1,6}", text):
        raise Wrong(
            node.line,
            f"'{text}' is not a whole number; allowed are {limits_of(key)}; write for example {key.example}",
        )
    if not key.low <= int(text) <= key.high:
        raise Wrong(
            node.line,
            f"'{text}' is out of range; allowed are {limits_of(key)}; write for example {key.example}",
        )
    return int(text)


def _yes_no(key: Key, node: Tree) -> bool:
    text = _plain(key, node)
    if text.lower() not in YES + NO:
        raise Wrong(
            node.line, f"'{text}' is neither true nor false; allowed are true, false; write one of them"
        )
    return text.lower() in YES


def _choice(key: Key, node: Tree) -> Text:
    text = _plain(key, node)
    if text not in key.words:
        advice = did_you_mean(text, key.words, "write one of these")
        raise Wrong(node.line, f"'{text}' is not known here; allowed are {limits_of(key)}; {advice}")
    return Text(text, node.line)


def _gpio(key: Key, node: Tree) -> int:
    text = _plain(key, node)
    form = re.fullmatch(r"GPIO ?([0-9]{1,2})", text)
    if form is None:
        number = re.search(r"[0-9]{1,2}", text)
        what = f"GPIO {number[0]}" if number else key.example
        raise Wrong(node.line, f"'{text}' is no pin; a pin is GPIO and its number; write for example {what}")
    return int(form[1])


def _drawing(key: Key, node: Tree) -> Text:
    if not isinstance(node, Scalar):
        _plain(key, node)
    assert isinstance(node, Scalar)
    lines = node.text.rstrip("\n").split("\n")
    if len(lines) > DRAWING_LINES_MAX:
        raise Wrong(
            node.line + DRAWING_LINES_MAX + 1,
            f"the drawing has {len(lines)} lines; allowed are {DRAWING_LINES_MAX}; leave some out",
        )
    for number, text in enumerate(lines):
        if len(text) > DRAWING_COLUMNS_MAX:
            raise Wrong(
                node.line + node.block + number,
                f"'{text.strip()[:30]}...' is {len(text)} characters wide; "
                f"allowed are {DRAWING_COLUMNS_MAX}; draw it narrower",
            )
    return Text("\n".join(lines), node.line + node.block)


def _items(key: Key, node: Tree) -> list[Text]:
    """A list of names or sentences; one alone may stand without brackets."""
    if isinstance(node, Mapping):
        _plain(key, node)
    if isinstance(node, Scalar):
        return [_text(key, node)]
    assert isinstance(node, Sequence)
    if len(node.items) > LIST_MAX:
        raise Wrong(node.line, f"{len(node.items)} entries; allowed are {LIST_MAX}; divide it")
    return [_text(key, item) for item in node.items]


def _pair(key: Key, node: Tree) -> list[Text]:
    items = _items(key, node)
    if len(items) != 2:
        shown = ", ".join(item.text for item in items)
        line = items[2].line if len(items) > 2 else node.line
        raise Wrong(
            line, f"[{shown}] has {len(items)} entries; needed are two; write for example {key.example}"
        )
    return items


def _contacts(key: Key, node: Tree) -> list[tuple[Text, Text]]:
    if not isinstance(node, Mapping):
        shown = node.text if isinstance(node, Scalar) else "a list"
        raise Wrong(node.line, f"'{shown}' says no position; write for example {key.name}: {key.example}")
    return [(Text(position.text, position.line), _text(key, contact)) for position, contact in node.entries]


def _amount(key: Key, node: Tree) -> Any:
    """A value with a unit other than of time, as a number in its base unit."""
    try:
        return units.parse(key.kind, key.words, key.example, _plain(key, node))
    except units.NotAnAmount as why:
        raise Wrong(node.line, str(why)) from None


_READERS: dict[str, Callable[[Key, Tree], Any]] = {
    kinds.TIME: _time,
    kinds.COUNT: _count,
    kinds.YES_NO: _yes_no,
    kinds.CHOICE: _choice,
    kinds.TEXT: _free_text,
    kinds.DRAWING: _drawing,
    kinds.NAME: _text,
    kinds.NAMES: _items,
    kinds.WORD: _text,
    kinds.WORDS: _pair,
    kinds.TERMINAL: _text,
    kinds.TERMINALS: _pair,
    kinds.GPIO: _gpio,
    kinds.SENTENCE: _text,
    kinds.SENTENCES: _items,
    kinds.CONTACTS: _contacts,
    **dict.fromkeys(units.KINDS, _amount),
}
