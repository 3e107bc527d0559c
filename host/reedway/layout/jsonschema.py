"""The table of keys as a JSON Schema (draft 2020-12), for editors that complete and check YAML."""

from __future__ import annotations

from typing import Any

from reedway.electrics import units
from reedway.layout import keytypes as kinds
from reedway.layout.keys import BY_NAME, NAME_LETTERS_MAX, SECTIONS, TOP
from reedway.layout.keytypes import Key, Section
from reedway.layout.values import limits_of

Schema = dict[str, Any]
_TIME = r"^\s*([0-9]+(\.[0-9]+)?|\.[0-9]+)\s*(ms|s|min|h)\s*$"
_NAME: Schema = {"type": ["string", "number"]}  # YAML reads the name 7 as a number
_LIST: Schema = {"anyOf": [{"type": "array", "items": {"type": ["string", "number"]}}, _NAME]}


def json_schema() -> Schema:
    """The schema of a whole layout file."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Reedway layout file",
        "type": "object",
        "additionalProperties": False,
        "required": [section.name for section in SECTIONS if section.required],
        "properties": {name: _top(name) for name in TOP},
    }


def _top(name: str) -> Schema:
    """One key at the left margin: a section, or a group of them."""
    if name in BY_NAME:
        return _section(BY_NAME[name])
    inside = {section.name: _section(section) for section in SECTIONS if section.group == name}
    return {"type": ["object", "null"], "additionalProperties": False, "properties": inside}


def _section(section: Section) -> Schema:
    described: Schema = {"description": section.help}
    if section.shape == kinds.VALUE:
        return {**_value(section.keys[0]), "description": f"{section.help}: {section.keys[0].help}"}
    if section.shape == kinds.KEYS:
        return {**described, **_group(section, or_nothing=not any(key.required for key in section.keys))}
    if section.shape == kinds.LIST:
        items = {"maxItems": section.count_max, "items": _group(section, or_nothing=False)}
        return {**described, "type": ["array", "null"], **items}
    one = _value(section.keys[0]) if section.shape == kinds.NAMED_VALUE else _group(section, or_nothing=True)
    named: Schema = {
        "type": ["object", "null"],
        "propertyNames": {"maxLength": NAME_LETTERS_MAX},
        "additionalProperties": one,
    }
    if section.count_max:
        named["maxProperties"] = section.count_max
    return {**described, **named}


def _group(section: Section, or_nothing: bool) -> Schema:
    """Keys and values; nothing at all where no key is needed."""
    required = [key.name for key in section.keys if key.required]
    schema: Schema = {
        "type": ["object", "null"] if or_nothing and not required else "object",
        "additionalProperties": False,
        "properties": {key.name: _value(key) for key in section.keys},
    }
    if required:
        schema["required"] = required
    if section.shape == kinds.LIST:
        schema["oneOf"] = [{"required": ["at"]}, {"required": ["as_soon_as"]}]
    return schema


def _value(key: Key) -> Schema:
    limits = limits_of(key)
    notes = [
        key.help,
        f"allowed: {limits}" if limits else "",
        f"default: {key.default}" if key.default else "",
    ]
    described: Schema = {"description": "; ".join(note for note in notes if note), "examples": [key.example]}
    return {**described, **_type(key)}


def _type(key: Key) -> Schema:
    if key.kind == kinds.TIME:
        pattern = f"{_TIME}|^never$" if key.or_never else _TIME
        return {"type": "string", "pattern": pattern}
    if key.kind == kinds.COUNT:
        return {"type": "integer", "minimum": key.low, "maximum": key.high}
    if key.kind == kinds.YES_NO:
        return {"enum": [True, False, "yes", "no"]}
    if key.kind == kinds.CHOICE:
        return {"enum": list(key.words)}
    if key.kind == kinds.TEXT:
        return {"type": ["string", "number"], "maxLength": key.high}
    if key.kind == kinds.DRAWING:
        return {"type": "string"}
    if key.kind == kinds.GPIO:
        return {"type": "string", "pattern": "^GPIO ?[0-9]{1,2}$"}
    if key.kind in units.KINDS:
        return {"type": "string"}
    if key.kind in (kinds.NAMES, kinds.SENTENCES):
        return _LIST
    if key.kind in (kinds.WORDS, kinds.TERMINALS):
        return {"type": "array", "minItems": 2, "maxItems": 2, "items": _NAME}
    if key.kind == kinds.CONTACTS:
        return {"type": "object", "minProperties": 1, "maxProperties": 2, "additionalProperties": _NAME}
    return _NAME
