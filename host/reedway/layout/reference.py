"""The table of keys as text: what may stand in a layout file, and its limits."""

from __future__ import annotations

from reedway.boardfile.clash import AT_RULES_MAX, EVENTS_MAX, STANDING_MAX
from reedway.boardfile.rulewords import TEXTS_MAX
from reedway.boardfile.sentences import TEXT_LENGTH_MAX
from reedway.boardfile.terminals import COILS_MAX, PANEL_MAX, USABLE
from reedway.layout import keytypes as kinds
from reedway.layout.keys import NAME_LETTERS_MAX, SECTIONS
from reedway.layout.keytypes import Key, Section
from reedway.layout.values import SENTENCE_LETTERS_MAX, limits_of
from reedway.layout.yamltext import FILE_KIB_MAX

FILE_LIMITS = (
    ("size of a file", f"{FILE_KIB_MAX} KiB"),
    ("letters of a name", str(NAME_LETTERS_MAX)),
    ("letters of a sentence", str(SENTENCE_LETTERS_MAX)),
    ("letters of a note, caution or fault", str(TEXT_LENGTH_MAX)),
    ("all inputs on sensor terminals together", str(len(USABLE))),
    ("all inputs on panel terminals together", str(PANEL_MAX)),
    ("coils", str(COILS_MAX)),
    ("different notes, cautions, faults in rules", f"{TEXTS_MAX} each"),
    ("as_soon_as rules and followers together", str(STANDING_MAX)),
    ("at rules of one event", str(AT_RULES_MAX)),
    ("events that have rules", str(EVENTS_MAX)),
)
_UNITS = {kinds.TIME: "ms, s, min, h"}


def reference() -> str:
    """The layout-file reference for the terminal."""
    lines = [
        "A layout file is YAML: sections at the left margin, what belongs to one moved in by spaces.",
        "Names are yours: letters, digits, spaces and - _ ' ( ) . ; one name for one thing.",
        "Times have a unit: 80 ms, 1.6 s, 2 min, 1 h.",
    ]
    for section in SECTIONS:
        inside = f" (under {section.group}:)" if section.group else ""
        lines += ["", f"{section.name}:{_needed(section.required)}{inside}  {section.help}{_most(section)}"]
        example = _example(section)
        if section.group:
            example = [f"{section.group}:", *(f"  {line}" for line in example)]
        lines += [f"    {line}" for line in example]
        for key in section.keys:
            lines += _key_lines(section, key)
    return "\n".join(lines)


def _needed(required: bool) -> str:
    return " (needed)" if required else ""


def _most(section: Section) -> str:
    return f"; at most {section.count_max}" if section.count_max else ""


def _example(section: Section) -> list[str]:
    """How one entry looks."""
    key = section.keys[0]
    if section.shape == kinds.VALUE:
        return f"{section.name}: {key.example}".split("\n")
    if section.shape == kinds.NAMED_VALUE:
        name = {"terminals": "sensor 1", "gangs": "ends", "timers": "let out"}.get(section.name, "NAME")
        return [f"{section.name}:", f"  {name}: {key.example}"]
    needed = [key for key in section.keys if key.required] or [key]
    if section.shape == kinds.LIST:
        return [f"{section.name}:", f"  - at: {key.example}", *(f"    {k.name}: {k.example}" for k in needed)]
    pairs = ", ".join(f"{k.name}: {k.example}" for k in needed)
    return (
        [f"{section.name}: {{{pairs}}}"]
        if section.shape == kinds.KEYS
        else [
            f"{section.name}:",
            f"  NAME: {{{pairs}}}",
        ]
    )


def _key_lines(section: Section, key: Key) -> list[str]:
    if section.shape in (kinds.VALUE, kinds.NAMED_VALUE):
        name, example = "(value)", key.example.split("\n")[0]
    else:
        name, example = key.name, f"{key.name}: {key.example}"
    facts = [key.kind]
    if key.kind in _UNITS:
        facts.append(f"unit {_UNITS[key.kind]}")
    if key.required:
        facts.append("needed")
    if key.default:
        facts.append(f"default {key.default}")
    limits = limits_of(key)
    if limits:
        facts.append(f"allowed {limits}")
    return [f"  {name:<16}{key.help}", f"  {'':<16}  {'; '.join(facts)}; example {example}"]


def limit_rows() -> list[dict[str, str]]:
    """The one table of defaults and ceilings; a key that stands in several sections comes once."""
    rows: list[dict[str, str]] = []
    where: dict[Key, dict[str, str]] = {}
    for section in SECTIONS:
        for key in section.keys:
            if key.kind not in (kinds.TIME, kinds.COUNT) or section.name == "defaults":
                continue
            if key in where:
                where[key]["where"] += f", {section.name}"
                continue
            row = {"key": key.name, "where": section.name, "default": key.default, "allowed": limits_of(key)}
            where[key] = row
            rows.append(row)
    for section in SECTIONS:
        if section.count_max:
            rows.append(
                {
                    "key": f"number of {section.name}",
                    "where": "",
                    "default": "",
                    "allowed": str(section.count_max),
                }
            )
    rows += [{"key": what, "where": "", "default": "", "allowed": most} for what, most in FILE_LIMITS]
    return rows


def limits_table() -> str:
    """`check --limits` for the terminal."""
    lines = [f"{'what':<24}{'default':<10}{'allowed':<28}where"]
    for row in limit_rows():
        if row["where"]:
            lines.append(f"{row['key']:<24}{row['default'] or '-':<10}{row['allowed']:<28}{row['where']}")
    lines += ["", "at most"]
    lines += [f"  {row['key']:<56}{row['allowed']}" for row in limit_rows() if not row["where"]]
    lines += ["", "What the code limits, no file can raise."]
    return "\n".join(lines)
