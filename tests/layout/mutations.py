"""Generated slips: each takes a good layout file and spoils one line the way a hand would."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass


@dataclass(frozen=True)
class Slip:
    """One spoiled file: the slip's kind, its text, where a complaint belongs and what it has to name."""

    kind: str
    text: str
    line: int
    lines: frozenset[int]  # right lines
    words: tuple[str, ...]  # a complaint names one of these
    single: bool = True  # a slip within one line


Lines = list[str]
_TIME = re.compile(r"\b([0-9.]+) (ms|s|min|h)\b")
_TERMINAL = re.compile(r"\b(sensor|coil|feed|panel|lamp|supply) ([0-9]+)\b")
_KEY = re.compile(r"([A-Za-z_][\w -]*?):(?= |$)")


def code(line: str) -> str:
    """The line without comment."""
    return re.sub(r"(^|\s)#.*$", "", line).rstrip()


def _drawing(lines: Lines) -> set[int]:
    """Numbers of the lines inside `drawing: |`, where anything may stand."""
    inside: set[int] = set()
    open_ = False
    for number, line in enumerate(lines):
        if line.startswith("drawing:"):
            open_ = True
        elif open_ and line and not line.startswith(" "):
            open_ = False
        elif open_:
            inside.add(number)
    return inside


def targets(lines: Lines, form: re.Pattern[str]) -> list[int]:
    """Line numbers from 0 with something of this form, outside comments and the drawing."""
    skip = _drawing(lines)
    return [n for n, line in enumerate(lines) if n not in skip and form.search(code(line))]


def _words(line: str) -> tuple[str, ...]:
    """What a complaint about this line may name: keys, values and names in it."""
    found = re.findall(r"[A-Za-z0-9_][\w'.-]*", code(line))
    return tuple(sorted({word for word in found if len(word) > 1 or word.isalnum()}, key=len, reverse=True))


def _mentions(lines: Lines, line: str) -> set[int]:
    """Lines (from 1) that use the name defined in `line`."""
    key = _KEY.search(code(line).strip())
    if not key:
        return set()
    name = re.escape(key[1].strip().lower())
    return {n + 1 for n, other in enumerate(lines) if re.search(rf"\b{name}\b", other.lower())}


def _parents(lines: Lines, number: int) -> set[int]:
    """Lines (from 1) of the groups that line `number` (from 0) stands in."""
    found = set()
    depth = len(lines[number]) - len(lines[number].lstrip())
    for above in range(number - 1, -1, -1):
        text = code(lines[above])
        if text and len(text) - len(text.lstrip()) < depth:
            found.add(above + 1)
            depth = len(text) - len(text.lstrip())
    return found


Change = Callable[[random.Random, Lines, int], "tuple[str, tuple[str, ...]] | None"]


def _replace(form: re.Pattern[str], new: Callable[[random.Random, re.Match[str]], str]) -> Change:
    """A slip at one match in the line."""

    def change(rng: random.Random, lines: Lines, number: int) -> tuple[str, tuple[str, ...]] | None:
        text = code(lines[number])
        matches = list(form.finditer(text))
        if not matches:
            return None
        match = rng.choice(matches)
        put = new(rng, match)
        changed = text[: match.start()] + put + text[match.end() :]
        return (changed, (put, *_words(changed))) if changed != text else None

    return change


def _slip_of_the_pen(rng: random.Random, word: str) -> str:
    """Letters swapped, left out or doubled."""
    if len(word) < 3:
        return word + "x"
    at = rng.randrange(1, len(word) - 1)
    return rng.choice(
        (word[:at] + word[at + 1 :], word[:at] + word[at] + word[at:], word[:at] + "q" + word[at + 1 :])
    )


_ANY = re.compile(r"\S")
_SENTENCE = re.compile(r"(?<=[\[,:-] )([A-Za-z0-9][\w ]*[\w])(?=[,\]]|$)")

# kind -> (what the line must have, the slip)
IN_LINE: dict[str, tuple[re.Pattern[str], Change]] = {
    "rename a key": (_KEY, _replace(_KEY, lambda r, m: _slip_of_the_pen(r, m[1]) + ":")),
    "unknown unit": (
        _TIME,
        _replace(_TIME, lambda r, m: f"{m[1]} {r.choice(['sec', 'V', 'm', 'mm', 'us'])}"),
    ),
    "drop a unit": (_TIME, _replace(_TIME, lambda r, m: m[1])),
    "negative": (_TIME, _replace(_TIME, lambda r, m: f"-{m[1]} {m[2]}")),
    "too long": (_TIME, _replace(_TIME, lambda r, m: f"{m[1]}00000 h")),
    "comma": (_TIME, _replace(_TIME, lambda r, m: f"{m[1]},5 {m[2]}")),
    "unknown terminal": (_TERMINAL, _replace(_TERMINAL, lambda r, m: f"{m[1]} {r.choice(['0', '99', 'x'])}")),
    "wrong terminal": (
        _TERMINAL,
        _replace(_TERMINAL, lambda r, m: {"sensor": "coil 9", "lamp": "feed 2"}.get(m[1], "lamp 29")),
    ),
    "no colon": (_KEY, _replace(_KEY, lambda r, m: m[1])),
    "no space after colon": (re.compile(r": \w"), _replace(re.compile(r": (?=\w)"), lambda r, m: ":")),
    "no closing bracket": (re.compile(r"[]}]$"), _replace(re.compile(r"[]}]$"), lambda r, m: "")),
    "no opening bracket": (re.compile(r"[{\[]"), _replace(re.compile(r"[{\[]"), lambda r, m: "")),
    "open quote": (re.compile(r": \w"), _replace(re.compile(r": (?=\w)"), lambda r, m: ': "')),
    "two colons": (_KEY, _replace(_KEY, lambda r, m: f"{m[1]}::")),
    "tab": (re.compile(r"^ +\S"), _replace(re.compile(r"^ +"), lambda r, m: "\t")),
    "one column out": (re.compile(r"^  +[A-Za-z]"), _replace(re.compile(r"^ "), lambda r, m: "")),
    "anchor": (re.compile(r": \w"), _replace(re.compile(r": (?=\w)"), lambda r, m: ": &one ")),
    "alias": (re.compile(r": \w+$"), _replace(re.compile(r": \w+$"), lambda r, m: ": *one")),
    "tag": (re.compile(r": \w"), _replace(re.compile(r": (?=\w)"), lambda r, m: ": !!str ")),
    "slip in a sentence": (_SENTENCE, _replace(_SENTENCE, lambda r, m: _slip_of_the_pen(r, m[1]))),
    "unknown name": (_SENTENCE, _replace(_SENTENCE, lambda r, m: "Nowhere")),
    "value missing": (re.compile(r": \w+$"), _replace(re.compile(r": \w+$"), lambda r, m: ":")),
    "list for a value": (
        re.compile(r": \w+$"),
        _replace(re.compile(r": (\w+)$"), lambda r, m: f": [{m[1]}, x]"),
    ),
    "keys for a value": (
        re.compile(r": \w+$"),
        _replace(re.compile(r": (\w+)$"), lambda r, m: f": {{{m[1]}: x}}"),
    ),
    "odd character": (_KEY, _replace(_KEY, lambda r, m: f"{m[1]}\x07:")),
}


def in_line_slips(rng: random.Random, text: str, kind: str, count: int) -> Iterator[Slip]:
    """`count` slips of one kind, each in another line as far as there are enough."""
    lines = text.split("\n")
    form, change = IN_LINE[kind]
    numbers = targets(lines, form)
    rng.shuffle(numbers)
    for number in numbers[:count]:
        changed = change(rng, lines, number)
        if changed is None:
            continue
        spoiled = [*lines[:number], changed[0], *lines[number + 1 :]]
        right = {number + 1}
        if "rename" in kind or "slip" in kind or "unknown name" in kind:  # a definition: its uses complain
            right |= _mentions(lines, lines[number])
        yield Slip(kind, "\n".join(spoiled), number + 1, frozenset(right), changed[1])


def whole_line_slips(rng: random.Random, text: str, count: int) -> Iterator[Slip]:
    """Lines left out and lines twice."""
    lines = text.split("\n")
    numbers = targets(lines, _ANY)
    for number in rng.sample(numbers, min(count, len(numbers))):
        less = [*lines[:number], *lines[number + 1 :]]
        near = {
            number - 1,
            number,
            number + 1,
            number + 2,
            1,
            *_parents(lines, number),
            *_mentions(less, lines[number]),
        }
        first_key = next(n for n, line in enumerate(less, 1) if code(line))
        words = (
            *_words(lines[number]),
            *(w for n in (number - 1, number) if n < len(less) for w in _words(less[n])),
        )
        yield Slip("line left out", "\n".join(less), number + 1, frozenset(near | {first_key}), words, False)
    for number in rng.sample(numbers, min(count, len(numbers))):
        more = [*lines[: number + 1], *lines[number:]]
        right = frozenset({number + 1, number + 2})
        words = (*_words(lines[number]), *(_words(more[number + 2]) if number + 2 < len(more) else ()))
        yield Slip("line twice", "\n".join(more), number + 2, right, words)


def pin_slips(rng: random.Random, text: str, count: int) -> Iterator[Slip]:
    """One terminal for two things."""
    lines = text.split("\n")
    numbers = targets(lines, re.compile(r"terminal: (sensor|panel|lamp|feed) [0-9]+"))
    pairs = [
        (a, b)
        for a in numbers
        for b in numbers
        if a != b and _TERMINAL.search(lines[a])[1] == _TERMINAL.search(lines[b])[1]  # type: ignore[index]
    ]
    for a, b in rng.sample(pairs, min(count, len(pairs))):
        taken = _TERMINAL.search(lines[b])
        assert taken
        changed = _TERMINAL.sub(taken[0], lines[a], count=1)
        spoiled = [*lines[:a], changed, *lines[a + 1 :]]
        yield Slip("pin used twice", "\n".join(spoiled), a + 1, frozenset({a + 1, b + 1}), (taken[0],))


def all_slips(seed: int, text: str, per_kind: int) -> Iterator[Slip]:
    """Every kind of slip in one file."""
    rng = random.Random(seed)
    for kind in IN_LINE:
        yield from in_line_slips(rng, text, kind, per_kind)
    yield from whole_line_slips(rng, text, per_kind * 3)
    yield from pin_slips(rng, text, per_kind)
