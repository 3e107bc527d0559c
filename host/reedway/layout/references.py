"""Stage 3, between sections: names are names and unique, and what refers to one finds it."""

from __future__ import annotations

from collections.abc import Iterable

from reedway.layout import keytypes as kinds
from reedway.layout.agreement import check_agreement
from reedway.layout.entries import Entries, Entry
from reedway.layout.keys import BY_NAME, NAME_LETTERS_MAX, NAMING, SECTIONS
from reedway.layout.model import Text
from reedway.layout.near import did_you_mean, listed
from reedway.problems import Complaint

TAKEN = ("track power", "track feed")  # what these two sections are called in records and sentences
_MARKS = " -_'()."


def check_references(path: str, entries: Entries) -> list[Complaint]:
    """Every complaint of this stage. References are rewritten to the spelling of the name they mean."""
    return _Check(path, entries).run()


class _Check:
    def __init__(self, path: str, entries: Entries) -> None:
        self.path = path
        self.entries = entries
        self.found: list[Complaint] = []
        self.kind_of: dict[str, tuple[str, str]] = {}  # case-folded name -> section, name as written

    def run(self) -> list[Complaint]:
        self._names()
        for section in SECTIONS:
            for key in section.keys:
                if key.refers:
                    where = "" if section.shape == kinds.NAMED_VALUE else key.name
                    for entry in self.entries[section.name]:
                        self._refer(entry, where, key.refers, f"{section.one} {entry.name}")
        for entry in self.entries["switches"]:
            self._two_words(entry, f"switch {entry.name}", [entry["on"], entry["off"]])
        for entry in self.entries["turnouts"]:
            self._two_words(entry, f"turnout {entry.name}", entry["positions"])
        check_agreement(self.entries, self.complain)
        return self.found

    def complain(self, line: int, message: str) -> None:
        self.found.append(Complaint(self.path, line, message))

    def _names(self) -> None:
        first: dict[str, tuple[str, Entry]] = {}
        for section in NAMING:
            one = BY_NAME[section].one
            for entry in self.entries[section]:
                self._name(entry.name, entry.line, one)
                fold = entry.name.casefold()
                if fold in first:
                    other, before = first[fold]
                    as_also = "" if before.name == entry.name else f" '{before.name}' (case does not count)"
                    self.complain(
                        entry.line,
                        f"the name '{entry.name}' is taken by the {other}{as_also} in line {before.line}; "
                        "one name is for one thing; rename one of them",
                    )
                    continue
                first[fold] = (one, entry)
                self.kind_of[fold] = (section, entry.name)

    def _name(self, name: str, line: int, one: str) -> None:
        wrong = name_wrong(name)
        if wrong:
            self.complain(line, f"the {one} name '{name[:40]}' {wrong}")

    def _two_words(self, entry: Entry, label: str, words: Iterable[Text]) -> None:
        first, second = words
        for word in (first, second):
            wrong = name_wrong(word.text)
            if wrong:
                self.complain(word.line or entry.line, f"{label}: the word '{word}' {wrong}")
        if first.text.casefold() == second.text.casefold():
            self.complain(
                second.line or entry.line,
                f"{label}: '{first}' and '{second}' are one word; two are needed; rename one",
            )

    def _refer(self, entry: Entry, key: str, section: str, label: str) -> None:
        value = entry[key]
        where = f"{key} of {label}" if key else label
        if isinstance(value, Text):
            entry.values[key] = self._resolve(value, section, where)
        elif value and isinstance(value[0], tuple):
            entry.values[key] = [(position, self._resolve(name, section, where)) for position, name in value]
        elif value:
            resolved = [self._resolve(name, section, where) for name in value]
            entry.values[key] = resolved
            self._once(resolved, where)

    def _resolve(self, name: Text, section: str, where: str) -> Text:
        """The name in its own spelling; a complaint when there is none of that kind."""
        one = BY_NAME[section].one
        kind, spelled = self.kind_of.get(name.text.casefold(), ("", ""))
        if kind == section:
            return Text(spelled, name.line)
        known = [entry.name for entry in self.entries[section]]
        if kind:
            wrong = f"'{name}' is a {BY_NAME[kind].one}; a {one} is needed"
            advice = (
                f"known are {listed(known)}" if known else f"there is no {one} yet: add it under {section}"
            )
        else:
            wrong = f"there is no {one} '{name}'; it must stand under {section}"
            advice = did_you_mean(name.text, known) if known else f"add it under {section}"
        self.complain(name.line, f"{where}: {wrong}; {advice}")
        return name

    def _once(self, names: list[Text], where: str) -> None:
        seen: set[str] = set()
        for name in names:
            if name.text in seen:
                self.complain(name.line, f"{where}: '{name}' is there twice; allowed once; take one out")
            seen.add(name.text)


def name_wrong(name: str) -> str:
    """What is wrong with a name, what is allowed and what to do; "" when it is good."""
    if len(name) > NAME_LETTERS_MAX:
        return f"has {len(name)} letters; allowed are {NAME_LETTERS_MAX}; shorten it"
    if name.casefold() in TAKEN:
        return "is the name of something else in every layout; allowed is any other; rename it"
    bad = [letter for letter in name if not letter.isalnum() and letter not in _MARKS]
    if bad:
        return f"has the sign {bad[0]!r}; allowed are letters, digits, spaces and - _ ' ( ) . ; leave it out"
    if not name[:1].isalnum() or name != " ".join(name.split()):
        return "begins with a sign or has two spaces; a name begins with a letter or digit; write it so"
    return ""
