"""Stage 1: the bytes of a layout file to a small tree in which every key and value knows its line."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml
from yaml.events import AliasEvent, StreamEndEvent
from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from reedway.layout.yamlwords import quote_open, syntax_complaint
from reedway.problems import Complaint, LayoutError
from reedway.typed import typed

FILE_KIB_MAX = 512
BEGIN = "begin with: reedway: 1; or write one with: reedway new two-trains my.yaml"
LOG_HEAD = b'{"reedway_log"'
VALUES_MAX = 20_000  # a file with 900 rules of six sentences has about 15,000
DEPTH_MAX = 12  # the deepest value of a layout file lies five deep
TOLD_MAX = 200  # complaints of one stage; whoever mends these sees the others next time


@dataclass(frozen=True)
class Scalar:
    """One value as it was written; `plain_kind` is what YAML 1.2 takes an unquoted one for."""

    text: str
    line: int
    plain_kind: str = "str"  # "str", "int", "float", "bool" or "null"
    block: bool = False  # written with | or >
    folded: bool = False  # goes on over several lines without | or >


@dataclass(frozen=True)
class Sequence:
    items: list[Tree]
    line: int


@dataclass(frozen=True)
class Mapping:
    entries: list[tuple[Scalar, Tree]]
    line: int


Tree = Scalar | Sequence | Mapping


@dataclass
class Source:
    """A layout file's bytes and text, before anybody looked at what is in it."""

    path: str
    data: bytes
    text: str = ""
    complaints: list[Complaint] = field(default_factory=list)

    def complain(self, line: int, message: str) -> None:
        if len(self.complaints) < TOLD_MAX:
            self.complaints.append(Complaint(self.path, line, message))

    def refuse(self, line: int, message: str) -> LayoutError:
        """The error for what cannot be read on from; it carries the complaints so far."""
        return LayoutError([*self.complaints, Complaint(self.path, line, message)])


class CoreLoader(yaml.SafeLoader):
    """YAML 1.2 core rules: on, off, yes, no are words, 1:30 is text; without anchors and tags."""

    yaml_implicit_resolvers: dict[str, Any] = {}
    source: Source
    depth = 0
    values = 0

    def compose_node(self, parent: Node | None, index: Any) -> Node:
        event = self.peek_event()
        start = event.start_mark
        line = start.line + 1
        if isinstance(event, AliasEvent):
            self.get_event()
            self.source.complain(line, f"alias *{event.anchor}; a layout file has none; write the value out")
            return ScalarNode("tag:yaml.org,2002:str", "", start, start)
        if getattr(event, "anchor", None) is not None:
            self.source.complain(line, f"anchor &{event.anchor}; a layout file has none; leave it out")
            event.anchor = None
        if getattr(event, "tag", None) is not None:
            shown = str(event.tag).replace("tag:yaml.org,2002:", "!!")
            self.source.complain(line, f"tag {shown}; a layout file has none; leave it out")
            event.tag = None
        self.values += 1
        if self.values > VALUES_MAX:
            raise self.source.refuse(
                line, f"more than {VALUES_MAX} values; no layout needs that; divide the file"
            )
        self.depth += 1
        if self.depth > DEPTH_MAX:
            raise self.source.refuse(
                line, f"more than {DEPTH_MAX} levels deep; no layout needs that; undo it"
            )
        node = super().compose_node(parent, index)
        self.depth -= 1
        assert node is not None
        return node

    def scan_flow_scalar(self, style: str) -> Any:
        """A quotation that goes on in the next line is one that was not closed."""
        token = super().scan_flow_scalar(style)
        if token.end_mark.line > token.start_mark.line:
            line = token.start_mark.line + 1
            raise self.source.refuse(line, quote_open(self.source.text.split("\n")[line - 1]))
        return token


for _kind, _form, _first in (
    ("bool", r"true|True|TRUE|false|False|FALSE", "tTfF"),
    ("null", r"~|null|Null|NULL|", ["~", "n", "N", ""]),
    ("int", r"[-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+", "-+0123456789"),
    ("float", r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?", "-+.0123456789"),
    ("float", r"[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)", "-+."),
):
    CoreLoader.add_implicit_resolver(
        f"tag:yaml.org,2002:{_kind}", re.compile(rf"^(?:{_form})$"), list(_first)
    )


def read_bytes(path: str) -> bytes:
    """The file's bytes; LayoutError says why not."""
    try:
        with Path(path).open("rb") as file:
            data = file.read(FILE_KIB_MAX * 1024 + 1)
    except FileNotFoundError:
        raise Source(path, b"").refuse(1, "there is no such file; give the path of a layout file") from None
    except IsADirectoryError:
        raise Source(path, b"").refuse(1, "this is a folder; give the path of a layout file") from None
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) else str(error)
        raise Source(path, b"").refuse(1, f"cannot be read ({why}); give the path of a layout file") from None
    if len(data) > FILE_KIB_MAX * 1024:
        raise Source(path, b"").refuse(
            1, f"larger than {FILE_KIB_MAX} KiB; no layout needs that; is it a layout file?"
        )
    return data


def parse(path: str, data: bytes) -> Mapping:
    """The tree of a whole layout file; LayoutError carries everything wrong with its YAML."""
    source = Source(path, data)
    if data.startswith(LOG_HEAD):
        raise source.refuse(
            1, f"this is a session log, no layout file; see it with: reedway report {typed(path)}"
        )
    _decode(source)
    _look_for_tabs(source)
    root = _compose(source)
    tree = _convert(source, root)
    if source.complaints:
        raise LayoutError(source.complaints)
    if not isinstance(tree, Mapping):
        shown = source.text.strip().splitlines()[0][:40]
        raise source.refuse(
            tree.line, f"'{shown}' is no layout; a layout file is keys and values; begin with: reedway: 1"
        )
    return tree


def _decode(source: Source) -> None:
    try:
        text = source.data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = source.data.count(b"\n", 0, error.start) + 1
        byte = source.data[error.start]
        raise source.refuse(
            line, f"not UTF-8 (byte 0x{byte:02X}); a layout file is UTF-8 text; save it as UTF-8"
        ) from None
    source.text = text.replace("\r\n", "\n").replace("\r", "\n")
    if not source.text.strip():
        raise source.refuse(1, f"the file is empty; {BEGIN}")
    found = re.search(r"[\x85\u2028\u2029]|" + CoreLoader.NON_PRINTABLE.pattern, source.text)
    if found:
        line = source.text.count("\n", 0, found.start()) + 1
        shown = source.text.split("\n")[line - 1].replace(found[0], "?").strip()[:40]
        raise source.refuse(
            line,
            f"'{shown}' has the character U+{ord(found[0]):04X}, which cannot be shown; "
            "allowed is printable text; remove it",
        )


def _look_for_tabs(source: Source) -> None:
    tabbed = [(number, text) for number, text in enumerate(source.text.split("\n"), 1) if "\t" in text]
    for number, text in tabbed[:TOLD_MAX]:
        shown = text.strip()[:40].replace("\t", " ")
        source.complain(number, f"a tab in '{shown}'; allowed are spaces; put spaces in its place")
    if len(tabbed) > TOLD_MAX:
        more = len(tabbed) - TOLD_MAX
        raise source.refuse(
            tabbed[TOLD_MAX][0], f"a tab here and in {more - 1} lines after it; put spaces there"
        )
    if tabbed:
        raise LayoutError(source.complaints)


def _compose(source: Source) -> Node:
    loader = CoreLoader(source.text)
    loader.source = source
    try:
        loader.get_event()  # start of the stream
        if loader.check_event(StreamEndEvent):
            raise source.refuse(1, f"nothing but comments; {BEGIN}")
        root = loader.compose_document()
        if not loader.check_event(StreamEndEvent):
            line = loader.peek_event().start_mark.line + 1
            raise source.refuse(
                line, "a second document begins (---); a layout file is one; remove this line"
            )
    except yaml.MarkedYAMLError as error:
        line, message = syntax_complaint(error, source.text.split("\n"))
        raise source.refuse(line, message) from None
    finally:
        loader.dispose()
    assert root is not None
    return root


def _convert(source: Source, node: Node) -> Tree:
    line = node.start_mark.line + 1
    if isinstance(node, ScalarNode):
        block = node.style in ("|", ">")
        folded = not block and node.end_mark is not None and node.end_mark.line > node.start_mark.line
        return Scalar(node.value, line, node.tag.rsplit(":", 1)[-1], block, folded)
    if isinstance(node, SequenceNode):
        return Sequence([_convert(source, item) for item in node.value], line)
    assert isinstance(node, MappingNode)
    entries: list[tuple[Scalar, Tree]] = []
    first_lines: dict[str, int] = {}
    for key_node, value_node in node.value:
        key, value = _convert(source, key_node), _convert(source, value_node)
        if not isinstance(key, Scalar):
            source.complain(
                key.line, "a list or group stands where a key should; a key is a word; write a word"
            )
            continue
        if key.text in first_lines:
            first = first_lines[key.text]
            source.complain(
                key.line,
                f"'{key.text}' is there twice (first in line {first}); allowed once; remove one",
            )
            continue
        first_lines[key.text] = key.line
        entries.append((key, value))
    return Mapping(entries, line)
