"""Stage 2, whole file: the tree to entries of the sections, by the table of keys; collects all complaints."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from reedway.layout import keytypes as kinds
from reedway.layout.keys import SECTIONS, TOP
from reedway.layout.keytypes import Key, Section
from reedway.layout.near import did_you_mean, listed, nearest
from reedway.layout.refused import refused
from reedway.layout.values import Wrong, default_of, read
from reedway.layout.yamltext import TOLD_MAX, Mapping, Scalar, Sequence, Tree
from reedway.problems import Complaint


@dataclass
class Entry:
    """One sensor, one rule or one plain section; `values` has every key, written or by default."""

    name: str
    line: int
    values: dict[str, Any] = field(default_factory=dict)
    lines: dict[str, int] = field(default_factory=dict)  # of the keys that are written

    def __getitem__(self, key: str) -> Any:
        return self.values[key]

    def line_of(self, key: str) -> int:
        return self.lines.get(key, self.line)


Entries = dict[str, list[Entry]]


class Reader:
    """Reads one file's tree into `entries`, each section in file order; what is wrong into `complaints`."""

    def __init__(self, path: str) -> None:
        self.path = path
        self.complaints: list[Complaint] = []
        self.entries: Entries = {section.name: [] for section in SECTIONS}
        self._common: dict[str, Any] = {}

    def complain(self, line: int, message: str) -> None:
        if len(self.complaints) < TOLD_MAX:
            self.complaints.append(Complaint(self.path, line, message))

    def read_file(self, root: Mapping) -> None:
        """All sections; `defaults` first, as the others lean on it."""
        written = {key.text: (key, node) for key, node in root.entries}
        for name, (key, _) in list(written.items()):
            if name not in TOP:
                self._unknown(key, "a layout file", list(TOP))
                del written[name]
        for group in {section.group for section in SECTIONS if section.group in written}:
            written |= self._open_group(group, written.pop(group)[1])
        for section in sorted(SECTIONS, key=lambda section: section.name != "defaults"):
            if section.name in written:
                self._read_section(section, *written[section.name])
            elif section.required:
                example = f"{section.name}: {section.keys[0].example}"
                self._missing(root.line, section.name, "a layout file", example, root)
            elif section.shape == kinds.KEYS and not any(key.required for key in section.keys):
                self._read_section(section, Scalar(section.name, root.line), Mapping([], root.line))

    def _open_group(self, group: str, node: Tree) -> dict[str, tuple[Scalar, Tree]]:
        """The sections that stand under one key."""
        inside = {section.name: section for section in SECTIONS if section.group == group}
        if _nothing(node):
            return {}
        if not isinstance(node, Mapping):
            self.complain(node.line, f"{group}: sections are needed; allowed are {listed(inside)}; add one")
            return {}
        for key, _ in node.entries:
            if key.text not in inside:
                self._unknown(key, group, list(inside))
        return {key.text: (key, value) for key, value in node.entries if key.text in inside}

    def _read_section(self, section: Section, key: Scalar, node: Tree) -> None:
        if section.shape == kinds.VALUE:
            self._read_single(section, Entry(section.name, key.line), node)
        elif section.shape == kinds.KEYS:
            entry = self._read_keys(section, section.name, key.line, node)
            if section.name == "defaults":
                self._common = {k: entry.values[k] for k in entry.lines if k in entry.values}
            self.entries[section.name].append(entry)
        elif section.shape == kinds.LIST:
            self._read_list(section, key, node)
        else:
            self._read_named(section, key, node)

    def _read_named(self, section: Section, key: Scalar, node: Tree) -> None:
        """`name: ...` for each thing of the owner's."""
        if _nothing(node):
            return
        if not isinstance(node, Mapping):
            self.complain(
                node.line,
                f"{section.name}: names and what belongs to them are needed, not {_shown(node)}; "
                f"{_entry_example(section)}",
            )
            return
        self._count(section, [name.line for name, _ in node.entries])
        for name, value in node.entries:
            if section.shape == kinds.NAMED_VALUE:
                self._read_single(section, Entry(name.text, name.line), value)
            else:
                self.entries[section.name].append(self._read_keys(section, name.text, name.line, value))

    def _read_list(self, section: Section, key: Scalar, node: Tree) -> None:
        if _nothing(node):
            return
        if not isinstance(node, Sequence):
            self.complain(
                node.line,
                f"{section.name}: a list is needed, not {_shown(node)}; "
                f"each {section.one} begins with a hyphen; write - at: {section.keys[0].example}",
            )
            return
        self._count(section, [item.line for item in node.items])
        for item in node.items:
            self.entries[section.name].append(self._read_keys(section, "", item.line, item))

    def _count(self, section: Section, lines: list[int]) -> None:
        if section.count_max and len(lines) > section.count_max:
            self.complain(
                lines[section.count_max],
                f"{section.name}: {len(lines)} are more than fit; allowed are {section.count_max}; "
                f"take {len(lines) - section.count_max} out",
            )

    def _read_single(self, section: Section, entry: Entry, node: Tree) -> None:
        """A section or entry that is one value."""
        key = section.keys[0]
        entry.lines[""] = node.line
        label = section.name if section.shape == kinds.VALUE else f"{section.one} {entry.name}"
        try:
            entry.values[""] = read(key, node)
        except Wrong as why:
            self.complain(why.line, f"{label}: {why}")
        self.entries[section.name].append(entry)

    def _read_keys(self, section: Section, name: str, line: int, node: Tree) -> Entry:
        entry = Entry(name, line)
        keys = {key.name: key for key in section.keys}
        label = f"{section.one} {name}" if section.shape == kinds.NAMED else section.one
        node = Mapping([], line) if _nothing(node) else node
        if not isinstance(node, Mapping):
            self.complain(
                node.line,
                f"{label}: keys and values are needed, not {_shown(node)}; {_entry_example(section)}",
            )
            return entry
        for key, value in node.entries:
            if key.text not in keys:
                self._unknown(key, _a(label), list(keys))
                continue
            entry.lines[key.text] = value.line
            self._read_value(entry, keys[key.text], value, f"{key.text} of {label}")
        for key_name, known in keys.items():
            if key_name not in entry.lines:
                self._fill(entry, known, label, node)
        return entry

    def _read_value(self, entry: Entry, key: Key, node: Tree, label: str) -> None:
        try:
            entry.values[key.name] = read(key, node)
        except Wrong as why:
            self.complain(why.line, f"{label}: {why}")

    def _missing(self, line: int, name: str, where: str, example: str, group: Mapping) -> None:
        """Complain of a missing key, unless it is there under a name that was taken for a slip of it."""
        if not any(nearest(key.text, [name]) for key, _ in group.entries):
            self.complain(line, f"{where}: the key '{name}' is missing; it is needed; add: {example}")

    def _fill(self, entry: Entry, key: Key, label: str, group: Mapping) -> None:
        if key.required:
            self._missing(entry.line, key.name, label, f"{key.name}: {key.example}", group)
        elif key.common and key.name in self._common:
            entry.values[key.name] = self._common[key.name]
        else:
            entry.values[key.name] = default_of(key)

    def _unknown(self, key: Scalar, where: str, known: list[str]) -> None:
        if len(self.complaints) >= TOLD_MAX:
            return  # looking for the nearest takes its time
        why = refused(key.text, where)
        if why:
            self.complain(key.line, f"'{key.text}' is no key of {where}: {why}")
            return
        space = " (a space comes after a colon)" if ":" in key.text else ""
        self.complain(
            key.line,
            f"'{key.text}' is no key of {where}{space}; allowed are {listed(known, 30)}; "
            f"{did_you_mean(key.text, known, 'remove it or use one of these')}",
        )


def _a(label: str) -> str:
    return label if " " in label else f"a {label}"


def _nothing(node: Tree) -> bool:
    return isinstance(node, Scalar) and node.plain_kind == "null"


def _shown(node: Tree) -> str:
    if isinstance(node, Scalar):
        return f"'{node.text[:40]}'"
    return "a list" if isinstance(node, Sequence) else "keys"


def _entry_example(section: Section) -> str:
    """`write for example N1: {terminal: sensor 1}`."""
    key = next((key for key in section.keys if key.required), section.keys[0])
    if section.shape == kinds.NAMED_VALUE:
        return f"write for example NAME: {key.example}"
    pair = f"{key.name}: {key.example}"
    return (
        f"write for example {pair}" if section.shape != kinds.NAMED else f"write for example NAME: {{{pair}}}"
    )
