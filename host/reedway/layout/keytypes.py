"""What the table of keys is made of: kinds of value, shapes of a section, one key, one section."""

from __future__ import annotations

from dataclasses import dataclass

# Kinds of value.
TIME = "time"  # a number with a unit
COUNT = "whole number"  # a whole number
YES_NO = "yes or no"
CHOICE = "one of"  # of `words`
TEXT = "text"
DRAWING = "drawing"  # several lines after |
NAME = "name"  # of something in the section `refers`
NAMES = "list of names"
WORD = "word"  # a name that the owner makes up here
WORDS = "two words"
TERMINAL = "terminal"
TERMINALS = "two terminals"
GPIO = "GPIO"
SENTENCE = "sentence"
SENTENCES = "list of sentences"
CONTACTS = "position: contact"

# Shapes of a section.
VALUE = "value"  # name: value
KEYS = "keys"  # keys and values
NAMED = "named"  # a name of the owner's, then keys and values
NAMED_VALUE = "named value"  # a name of the owner's, then a value
LIST = "list"  # a list of keys and values


@dataclass(frozen=True)
class Key:
    """One key: its kind, what it is for, an example, its default and its limits."""

    name: str
    kind: str
    example: str
    help: str
    default: str = ""  # as it would be written; "" is none
    required: bool = False
    low: int = 0
    high: int = 0  # TIME in ms; TEXT in letters
    words: tuple[str, ...] = ()
    refers: str = ""
    or_never: bool = False
    common: bool = False  # its default can be changed in `defaults:`
    why_high: str = ""  # where the ceiling comes from


@dataclass(frozen=True)
class Section:
    """One key at the left margin of the file."""

    name: str
    one: str  # what one entry is called
    shape: str
    help: str
    keys: tuple[Key, ...]  # VALUE and NAMED_VALUE: the one that says what the value is
    count_max: int = 0  # 0: its entries take no room of their own
    required: bool = False
    group: str = ""  # the key at the left margin under which it stands, if not its own


def terminal(example: str) -> Key:
    """The key every wired thing has."""
    return Key("terminal", TERMINAL, example, "where it is wired", required=True)
