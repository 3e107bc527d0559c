"""Reads the sentences of rules: looks each up among all that this layout knows, or says what was meant."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable
from typing import Generic, TypeVar

from reedlogic import words as w
from reedway.boardfile import grammar
from reedway.boardfile.grammar import Act, Condition, Event
from reedway.boardfile.numbering import Numbering
from reedway.layout.near import did_you_mean, listed, nearest_all

T = TypeVar("T")
TEXT_LENGTH_MAX = 60
RELAY_VERBS = ("pull in", "drop out")
LAMP_VERBS = ("light", "darken")
_QUOTED = re.compile(r'(note|caution|fault) "([^"]*)"(?: hold (.+))?', re.IGNORECASE)
_UNQUOTED = re.compile(r"(note|caution|fault)\b", re.IGNORECASE)
EXAMPLES_MAX = 5
MENDED_MAX = 30  # ways to mend a sentence that are looked at


class SentenceError(ValueError):
    """A sentence that nobody can carry out; its text says what is wrong, what is allowed and what to do."""


def plain(text: str) -> str:
    """A sentence for looking up: small letters, single spaces."""
    return " ".join(text.lower().split())


class Table(Generic[T]):
    """All sentences of one class, each with its meaning."""

    def __init__(self, what: str, sentences: Iterable[tuple[str, T]]) -> None:
        self.what = what
        self.meanings: dict[str, T] = {}
        self.written: dict[str, str] = {}
        self.two_ways: set[str] = set()
        for text, meaning in sentences:
            key = plain(text)
            if key in self.meanings and self.meanings[key] != meaning:
                self.two_ways.add(key)
            self.meanings.setdefault(key, meaning)
            self.written.setdefault(key, text)

    def examples(self) -> str:
        """A few sentences of different make."""
        by_make: dict[str, str] = {}
        for text in self.written.values():
            words = text.split()
            by_make.setdefault(words[0] if self.what == "act" else words[-1], text)
        some = list(by_make.values())[:EXAMPLES_MAX]
        if not some:
            return f"this layout has nothing for {_an(self.what)}"
        return f"{_an(self.what)} is for example {', '.join(some)}"

    def about(self, name: str) -> list[str]:
        """The sentences that name this thing."""
        return [text for key, text in self.written.items() if f" {plain(name)} " in f" {key} "]

    def get(self, text: str) -> T | None:
        key = plain(text)
        if key in self.two_ways:
            raise SentenceError(
                f"'{text}' can be read in two ways; a sentence must have one meaning; "
                f"rename one of the two things or positions"
            )
        return self.meanings.get(key)


class Sentences:
    """What the sentences of one layout mean."""

    def __init__(self, numbering: Numbering) -> None:
        self.numbering = numbering
        self.events = Table[Event]("event", ((e.text, e) for e in grammar.events(numbering)))
        self.conditions = Table[Condition]("condition", ((c.text, c) for c in grammar.conditions(numbering)))
        simple = ((act.text, (act,)) for act in grammar.acts(numbering))
        throws = ((text, tuple(acts)) for text, acts in grammar.throws(numbering))
        self.acts = Table[tuple[Act, ...]]("act", [*simple, *throws])

    def event(self, text: str) -> Event:
        found = self.events.get(text)
        if found is None:
            raise SentenceError(self._unknown(text, self.events))
        return found

    def condition(self, text: str) -> Condition:
        found = self.conditions.get(text)
        if found is None:
            raise SentenceError(self._unknown(text, self.conditions))
        return found

    def act(self, text: str) -> tuple[Act, ...]:
        """The acts of one sentence: throwing a gang may be two, one for each direction."""
        quoted = _QUOTED.fullmatch(" ".join(text.split()))
        if quoted:
            return (self._message(text, quoted[1].lower(), quoted[2].strip(), quoted[3]),)
        if _UNQUOTED.match(text.strip()) and self.acts.get(text) is None:
            raise SentenceError(
                f"'{text}' is no act; its words go in double quotes, and only a caution may hold a place; "
                f'write for example caution "look at H" or caution "look at H" hold H'
            )
        found = self.acts.get(text)
        if found is None:
            self._not_to_be_acted_on(text)
            raise SentenceError(self._unknown(text, self.acts))
        return found

    def _not_to_be_acted_on(self, text: str) -> None:
        """A follower relay and a lamp that shows something by itself have no acts; say why."""
        padded = f"{plain(text)} "
        layout = self.numbering.layout
        for relay in layout.relays:
            if relay.follows is not None and padded in (f"{v} {plain(relay.name)} " for v in RELAY_VERBS):
                raise SentenceError(
                    f"'{text}': relay {relay.name} follows its pulled_in_while (line {relay.line}); "
                    f"no rule may pull it in or drop it out; remove this act or pulled_in_while"
                )
        for lamp in layout.lamps:
            if lamp.shows and padded in (f"{v} {plain(lamp.name)} " for v in LAMP_VERBS):
                raise SentenceError(
                    f"'{text}': lamp {lamp.name} shows '{lamp.shows}' by itself (line {lamp.line}); "
                    f"no rule may light or darken it; remove this act or shows"
                )

    def _message(self, text: str, verb: str, says: str, place: str | None) -> Act:
        if not says or len(says) > TEXT_LENGTH_MAX or not says.isprintable():
            raise SentenceError(
                f"the words of this {verb} are {len(says)} characters; "
                f"1 to {TEXT_LENGTH_MAX} printable ones are allowed; change them"
            )
        if place is None:
            word = {"note": w.W_NOTE, "caution": w.W_CAUTION, "fault": w.W_FAULT}[verb]
            return Act(f'{verb} "{says}"', w.OP_SET, word, 0, says)
        if verb != "caution":
            raise SentenceError(
                f"'{text}': a {verb} holds no place; only a caution may; remove 'hold {place}'"
            )
        index = self.place_that_can_be_held(place)
        name = self.numbering.layout.places[index].name
        return Act(f'caution "{says}" hold {name}', w.OP_SET, w.W_CAUTION, 0, says, name)

    def place_that_can_be_held(self, name: str) -> int:
        """Index of a place that has a block."""
        numbering = self.numbering
        index = numbering.places.get(plain(name))
        places = [place.name for place in numbering.layout.places if numbering.place_block(place) is not None]
        if index is None:
            raise SentenceError(
                f"there is no place '{name}'; places with a block: {listed(places) or 'none'}; "
                f"{did_you_mean(name, places)}"
            )
        if numbering.place_block(numbering.layout.places[index]) is None:
            raise SentenceError(
                f"place {name} has no block, so nothing can hold a train there; "
                f"places with a block: {listed(places) or 'none'}; give {name} a block"
            )
        return index

    def _unknown(self, text: str, table: Table[T]) -> str:
        """One message for a sentence that is not in its table: every unknown word, and what was meant."""
        if not text.strip():
            return f"here {_an(table.what)} is wanted; {table.examples()}; write one or remove it"
        named = self._named(text)
        allowed = table.about(named) if named else []
        if allowed:
            about = f"with {named} there is: {listed(allowed, 8)}"
        else:
            about = f"{named} has no {table.what}" if named else table.examples()
        for other in (self.events, self.conditions, self.acts):
            if other is not table and plain(text) in other.meanings:
                wanted = f"here {_an(table.what)} is wanted"
                return f"'{text}' is {_an(other.what)}, and {wanted}; {about}; choose one"
        unknown = unknown_words(text, table.meanings)
        meant = nearest_sentences(plain(text), [plain(t) for t in allowed], 0.3) if allowed else []
        meant = meant or nearest_sentences(plain(text), table.meanings, 0.6)
        wrong = f"'{text}' is no {table.what}"
        if unknown:
            wrong += ": unknown " + ", ".join(f"'{word}'" for word in unknown)
        written = " or ".join(f"'{table.written[one]}'" for one in meant)
        act = f"did you mean {written}?" if meant else "change it to one of these"
        return f"{wrong}; {about}; {act}"

    def _named(self, text: str) -> str | None:
        """The thing that the sentence names: the longest name in it."""
        padded = f" {plain(text)} "
        return max((n for n in self.numbering.names() if f" {plain(n)} " in padded), key=len, default=None)


def _an(word: str) -> str:
    return ("an " if word[0] in "aeiou" else "a ") + word


def unknown_words(text: str, known: Iterable[str]) -> list[str]:
    """Words of the sentence that no sentence of this class has."""
    vocabulary = {word for sentence in known for word in sentence.split()}
    return [word for word in text.split() if word.lower() not in vocabulary]


def nearest_sentences(text: str, known: Iterable[str], cutoff: float) -> list[str]:
    """The sentences most likely meant, those equally near together: first word by word, then as a whole."""
    sentences = list(known)
    vocabulary = sorted({word for sentence in sentences for word in sentence.split()})
    near = [
        [word] if word in vocabulary else nearest_all(word, vocabulary, 0.5) or [word]
        for word in text.split()
    ]
    mended = [" ".join(words) for words in itertools.islice(itertools.product(*near), MENDED_MAX)]
    found = [sentence for sentence in mended if sentence in sentences]
    return found[:3] or (nearest_all(mended[0], sentences, cutoff) if mended else [])
