"""What a YAML syntax error means in plain words, and the line where the owner has to look."""

from __future__ import annotations

import re

import yaml


def syntax_complaint(error: yaml.MarkedYAMLError, lines: list[str]) -> tuple[int, str]:
    """(line, message): the parser often notices a fault a line or more after the place to mend."""
    problem = error.problem or ""
    context = error.context or ""
    at = error.problem_mark.line if error.problem_mark else 0
    began = error.context_mark.line if error.context_mark else at
    at = min(at, len(lines) - 1)
    line, message = _say(problem, context, at, min(began, len(lines) - 1), lines)
    return line + 1, message


def _say(problem: str, context: str, at: int, began: int, lines: list[str]) -> tuple[int, str]:
    if "mapping values are not allowed" in problem:
        return _stray_colon(at, lines)
    if "could not find expected ':'" in problem:
        text = _shown(lines[began])
        what = (
            _COLON_TIGHT if re.search(r":\S", text) else "a key needs a colon and a space; write key: value"
        )
        return began, f"'{text}' is no key with a value; {what}"
    if problem.startswith("expected ',' or"):
        return _open_bracket(problem, at, began, lines)
    if "quoted scalar" in context or "unexpected end of stream" in problem:
        return (
            began,
            f"a quotation mark in '{_shown(lines[began])}' is not closed; each needs a second; close it",
        )
    if "found unknown escape" in problem or "escape sequence" in problem:
        return at, f"a backslash in '{_shown(lines[at])}'; between \" \" it has a meaning; use ' ' instead"
    if "cannot start any token" in problem:
        sign = problem.split("'")[1]
        return at, f"'{_shown(lines[at])}': no value begins with {sign}; put the value between ' '"
    if "block scalar" in context:
        return at, f"'{_shown(lines[at])}': nothing may follow | in its line; begin the text in the next line"
    if "anchor" in context or "alias" in context:
        return at, f"'{_shown(lines[at])}': no value begins with * or &; put the value between ' '"
    if "directive" in context or "directive" in problem or "incompatible" in problem:
        return at, f"'{_shown(lines[at])}': a layout file has no directives; remove the line"
    if "tag" in context or "tag" in problem:
        return at, f"'{_shown(lines[at])}': a layout file has no tags (!); leave it out or use ' '"
    if "node content" in problem:
        return _no_content(at, lines)
    return _indent(at, lines)


_COLON_TIGHT = "a space comes after the colon; write key: value"


def _stray_colon(at: int, lines: list[str]) -> tuple[int, str]:
    """`a: b: c` in one line; or a line deeper than its neighbours; or no colon in the line before."""
    if len(re.findall(r":(?:\s|$)", _bare(lines[at]))) > 1:
        return at, (
            f"'{_shown(lines[at])}' has two colons; one key and one value stand in a line; "
            "put a value that has a colon between ' '"
        )
    before = _meaningful_before(at, lines)
    if before is not None and ":" not in _bare(lines[before]) and not _bare(lines[before]).startswith("- "):
        return (
            before,
            f"'{_shown(lines[before])}' has no colon; a key needs one; write {_shown(lines[before])}:",
        )
    if (
        before is not None
        and re.search(r":\S", lines[before])
        and not re.search(r":(\s|$)", _bare(lines[before]))
    ):
        return before, f"'{_shown(lines[before])}' is no key with a value; {_COLON_TIGHT}"
    return _indent(at, lines)


def _open_bracket(problem: str, at: int, began: int, lines: list[str]) -> tuple[int, str]:
    """A list or group that does not end: blame its first line when what follows is no part of it."""
    close = "]" if "']'" in problem else "}"
    opened = "[" if close == "]" else "{"
    if at > began and _depth(lines[at]) <= _depth(lines[began]):
        return began, f"'{_shown(lines[began])}' has {opened} without {close}; close it"
    if lines[at].count(opened) + lines[began].count(opened) and at == began:
        return at, (
            f"'{_shown(lines[at])}' is no proper {'list' if close == ']' else 'group'}; "
            f"a comma stands between two entries, {close} at the end; see where one is missing"
        )
    return (
        at,
        f"'{_shown(lines[at])}': a comma or {close} is missing (the {opened} is in line {began + 1}); add it",
    )


def _no_content(at: int, lines: list[str]) -> tuple[int, str]:
    return at, f"'{_shown(lines[at])}': a value is missing before a sign; look for a comma, ] or }} too many"


def _indent(at: int, lines: list[str]) -> tuple[int, str]:
    return at, (
        f"'{_shown(lines[at])}' does not fit under the line before; keys of one group begin in one column; "
        "see how far this line is moved in"
    )


def _meaningful_before(at: int, lines: list[str]) -> int | None:
    for number in range(at - 1, -1, -1):
        if _bare(lines[number]):
            return number
    return None


def _bare(line: str) -> str:
    """Without comment and surrounding spaces."""
    return re.sub(r"(^|\s)#.*$", "", line).strip()


def _shown(line: str) -> str:
    text = _bare(line) or line.strip()
    return text if len(text) <= 50 else text[:47] + "..."


def _depth(line: str) -> int:
    return len(line) - len(line.lstrip(" "))
