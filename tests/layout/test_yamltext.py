"""Stage 1: what is YAML, by the rules of YAML 1.2, and what is refused with its line."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout.base import SMALL, complaints, line_of, loaded, only, spoiled
from reedway.layout.load import load
from reedway.layout.yamltext import FILE_KIB_MAX, TOLD_MAX, Mapping, Scalar, Sequence, Tree, parse
from reedway.problems import LayoutError

# YAML 1.2.2, example 10.9 "Core Tag Resolution" (yaml.org/spec/1.2.2).
EXAMPLE_10_9 = b"""\
A null: null
Also a null: # Empty
Not a null: ""
Booleans: [ true, True, false, FALSE ]
Integers: [ 0, 0o7, 0x3A, -19 ]
Floats: [ 0., -0.0, .5, +12e03, -2E+05 ]
Also floats: [ .inf, -.Inf, +.INF, .NAN ]
"""


def kinds(node: Tree) -> list[str]:
    if isinstance(node, Sequence):
        return [kind for item in node.items for kind in kinds(item)]
    assert isinstance(node, Scalar)
    return [node.plain_kind]


def test_values_are_what_the_yaml_standard_says() -> None:
    found = {key.text: kinds(node) for key, node in parse("x", EXAMPLE_10_9).entries}
    assert found == {
        "A null": ["null"],
        "Also a null": ["null"],
        "Not a null": ["str"],
        "Booleans": ["bool"] * 4,
        "Integers": ["int"] * 4,
        "Floats": ["float"] * 5,
        "Also floats": ["float"] * 4,
    }


@pytest.mark.parametrize(
    "word", ["on", "off", "yes", "no", "y", "n", "On", "NO", "1:30", "12:30:45", "2026-11-25"]
)
def test_what_yaml_1_1_took_for_something_else_is_text(word: str) -> None:
    tree = parse("x", f"{word}: {word}\n".encode())
    key, value = tree.entries[0]
    assert (key.text, key.plain_kind, kinds(value)) == (word, "str", ["str"])


def test_every_key_and_value_knows_its_line() -> None:
    text = b"a: 1\n\n# nothing\nb:\n  c: [x,\n    y]\n  d: {e: f}\n"
    lines: dict[str, int] = {}

    def walk(node: Tree) -> None:
        if isinstance(node, Scalar):
            lines[node.text] = node.line
        elif isinstance(node, Sequence):
            for item in node.items:
                walk(item)
        else:
            for key, value in node.entries:
                walk(key)
                walk(value)

    walk(parse("x", text))
    expected = {word: text.decode()[: text.decode().index(word)].count("\n") + 1 for word in "a1bcxydef"}
    assert lines == {**expected, "a": 1, "d": 7, "e": 7}


def test_a_byte_order_mark_and_line_ends_of_windows_are_tolerated() -> None:
    plain = loaded(SMALL)
    dos = SMALL.replace("\n", "\r\n")
    assert loaded("\ufeff" + SMALL).name == plain.name
    assert loaded(dos).sha256 == plain.sha256
    assert only(spoiled("confirm" if "confirm" in dos else "3 s", "3", dos)).line == line_of("3 s")


def test_missing_file_folder_and_strange_path(tmp_path: Path) -> None:
    for path, says in ((tmp_path / "no.yaml", "no such file"), (tmp_path, "this is a folder")):
        with pytest.raises(LayoutError, match=says) as error:
            load(str(path))
        assert error.value.complaints[0].line == 1
    with pytest.raises(LayoutError, match="cannot be read"):
        load("a\0b")


def test_a_file_may_be_as_large_as_the_limit_and_no_larger(tmp_path: Path) -> None:
    path = tmp_path / "big.yaml"
    filler = "# " + "x" * 97 + "\n"
    room = FILE_KIB_MAX * 1024 - len(SMALL.encode())
    text = SMALL + filler * (room // 100)
    text += "#" * (FILE_KIB_MAX * 1024 - len(text))
    path.write_text(text)
    assert load(str(path)).name == "Lindholt loop"
    path.write_text(text + "#")
    with pytest.raises(LayoutError, match=f"larger than {FILE_KIB_MAX} KiB"):
        load(str(path))


@pytest.mark.parametrize(
    ("data", "line", "says"),
    [
        (b"", 1, "empty"),
        (b"  \n\n", 1, "empty"),
        (b"# only\n# comments\n", 1, "nothing but comments"),
        (b"reedway: 1\nlayout: L\xe4rche\n", 2, "not UTF-8 (byte 0xE4)"),
        ("reedway: 1\n".encode("utf-16"), 1, "not UTF-8"),
        ("reedway: 1\n".encode("utf-16-le"), 1, "U+0000"),
        (b"reedway: 1\nlayout: a\x1bb\n", 2, "U+001B"),
        ("reedway: 1\nlayout: a\u2028b\n".encode(), 2, "U+2028"),
        (b"\x89PNG\r\n\x1a\n", 1, "not UTF-8"),
        (b'{"reedway_log":1}\n', 1, "this is a session log, no layout file; see it with: reedway report"),
        (b"- a\n- b\n", 1, "is no layout"),
        (b"hello\n", 1, "'hello' is no layout"),
        (b"reedway: 1\n---\nlayout: x\n", 2, "second document"),
        (b"reedway: 1\n...\nlayout: x\n", 2, "document ends here"),
        (b" reedway: 1\nlayout: x\n", 1, "moved in"),
        (b"reedway: 1\n? [a, b]\n: x\n", 2, "where a key should"),
        (b"a: " + b"[" * 100 + b"]" * 100, 1, "levels deep"),
        (b"a: " + b"[" * 100_000, 1, "levels deep"),
        (b"- " * 100_000, 1, "levels deep"),
        (b"%YAML 1.1\n%YAML 1.1\n---\na: 1\n", 2, "directive"),
        (b"%YAML 3.0\n---\na: 1\n", 1, "directive"),
        (b"a: !e!x 1\n", 1, "tag"),
    ],
)
def test_refused_with_line(data: bytes, line: int, says: str) -> None:
    complaint = only(data)
    assert says in complaint.message
    assert complaint.line == line


def test_everything_wrong_with_the_yaml_comes_at_once() -> None:
    text = spoiled("3 s", "&x 3 s").replace("4 s", "*x").replace("board: pico", "board: !!str pico")
    text = text.replace("relays:\n", "relays:\n  CALL: {}\n")
    found = [(c.line, c.message.split(";")[0]) for c in complaints(text)]
    assert found == [
        (3, "tag !!str"),
        (6, "anchor &x"),
        (line_of("  CALL: {}") + 1, f"'CALL' is there twice (first in line {line_of('  CALL: {}')})"),
        (line_of("4 s") + 1, "alias *x"),
    ]


def test_tabs_are_all_told_and_too_many_are_counted() -> None:
    found = complaints("\n".join("\ta: 1" for _ in range(500)))
    assert [c.line for c in found[:3]] == [1, 2, 3]
    assert found[-1].message == "a tab here and in 299 lines after it; put spaces there"


@pytest.mark.parametrize(
    "data",
    [
        b"".join(b"a%d: b\n" % i for i in range(45_000)),
        b"a: [" + b"b, " * 150_000 + b"]",
        b"reedway: 1\nrules:\n" + b"".join(b"  - {at: N1 hit, do: [a]}\n" for _ in range(15_000)),
    ],
)
def test_a_file_of_rubbish_is_refused_in_a_few_seconds(data: bytes) -> None:
    began = time.monotonic()
    found = complaints(data)
    assert len(found) <= TOLD_MAX + 1
    assert "values; no layout needs that" in found[-1].message
    assert time.monotonic() - began < 15  # about 2 s on an idle machine


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("layout: Lindholt", "layout Lindholt", "has no colon"),
        ("layout: Lindholt", "layout:Lindholt", "a space comes after the colon"),
        ("layout: Lindholt", "layout: Lindholt: the", "two colons"),
        ("layout: Lindholt", 'layout: "Lindholt', "quotation mark"),
        ("layout: Lindholt", "layout: 'Lindholt", "quotation mark"),
        ("layout: Lindholt loop", 'layout: "a\\qb"', "backslash"),
        ("layout: Lindholt", "layout: @Lindholt", "no value begins with @"),
        ("layout: Lindholt", "layout: `Lindholt", "no value begins with `"),
        ("layout: Lindholt", "layout: %Lindholt", "no value begins with %"),
        ("layout: Lindholt", "layout: *", "* or &"),
        ("layout: Lindholt", "layout: | Lindholt", "nothing may follow |"),
        ("layout: Lindholt", "layout: [Lindholt", "[ without ]"),
        ("layout: Lindholt", "layout: ] Lindholt", "too many"),
        ("  N1: {terminal: sensor 1}", "  N1: {terminal: sensor 1", "{ without }"),
        ("  N1: {terminal: sensor 1}", "  N1: {terminal: sensor 1}}", "does not fit"),
        ("  N1: {terminal: sensor 1}", " N1: {terminal: sensor 1}", "column"),
        ("  N2:", "   N2:", "column"),
        ("  ends: [exit, entry]", "  ends: [exit entry", "[ without ]"),
        ("  CALL: {}", "  CALL {}", "not 'CALL {}'"),
        ("  let out: 4 s", "  let out 4 s", "NAME: 4 s"),
        ("    relays_in: [CALL]", "   relays_in: [CALL]", "column"),
    ],
)
def test_syntax_errors_in_plain_words_at_the_right_line(old: str, new: str, says: str) -> None:
    complaint = only(spoiled(old, new))
    assert complaint.line == line_of(old)
    assert says in complaint.message
    for jargon in ("scanning", "mapping", "scalar", "token", "block end"):
        assert jargon not in complaint.message


ALPHABET = "abN12 \n\n:-[]{},'\"#|>&*!?%@`\t~\\.0"


@settings(max_examples=400, deadline=None)
@given(st.text(ALPHABET, max_size=80), st.integers(0, len(SMALL)))
def test_no_text_brings_anything_but_complaints_with_lines(rubbish: str, at: int) -> None:
    text = SMALL[:at] + rubbish + SMALL[at:]
    try:
        loaded(text)
    except LayoutError as error:
        last = text.count("\n") + 1
        assert all(1 <= c.line <= last and c.message for c in error.complaints)


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=60))
def test_no_bytes_bring_anything_but_complaints(rubbish: bytes) -> None:
    for data in (rubbish, SMALL.encode() + rubbish):
        try:
            tree = parse("x", data)
        except LayoutError as error:
            assert error.complaints
        else:
            assert isinstance(tree, Mapping)
