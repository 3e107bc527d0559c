"""What a YAML syntax error means in plain words, and the line where the owner has to look."""

from __future__ import annotations

import re

import yaml

# (what the parser says about the problem or its context, what we say): all at the parser's own line.
_PLAIN = (
    ("unknown escape", "'{}' has a backslash, which has a meaning between \" \"; use ' ' in their place"),
    ("escape sequence", "'{}' has a backslash, which has a meaning between \" \"; use ' ' in their place"),
    ("block scalar", "'{}': nothing may follow | in its line; begin the text in the next line"),
    ("an anchor", "'{}': no value begins with * or &; put the value between ' '"),
    ("an alias", "'{}': no value begins with * or &; put the value between ' '"),
    ("directive", "'{}': a layout file has no directives; remove the line"),
    ("incompatible", "'{}': a layout file has no directives; remove the line"),
    ("tag", "'{}': a layout file has no tags (!); leave it out or put the value between ' '"),
    ("node content", "'{}': a value is missing before a sign; look for a comma, ] or }} too many"),
)


def syntax_complaint(error: yaml.MarkedYAMLError, lines: list[str]) -> tuple[int, str]:
    """(line, message): the parser often notices a fault a line or more after the place to mend."""
    last = len(lines) - 1
    at = min(error.problem_mark.line, last) if error.problem_mark else 0
    began = min(error.context_mark.line, last) if error.context_mark else at
    line, message = _say(error.problem or "", error.context or "", at, began, lines)
    return line + 1, message


def _say(problem: str, context: str, at: int, began: int, lines: list[str]) -> tuple[int, str]:
    if "mapping values are not allowed" in problem:
        return _stray_colon(at, lines)
    if "could not find expected ':'" in problem:
        return began, _no_colon(_shown(lines[began]))
    if problem.startswith("expected ',' or"):
        return _open_bracket("]" if "']'" in problem else "}", at, began, lines)
    if "cannot start any token" in problem:
        sign = problem.split("'")[1]
        return at, f"'{_shown(lines[at])}': no value begins with {sign}; put the value between ' '"
    if "document start" in problem:
        return _second_document(at, lines)
    for said, ours in _PLAIN:
        if said in problem or said in context:
            return at, ours.format(_shown(lines[at]))
    if "quoted scalar" in context:
        return began, quote_open(lines[began])
    return _indent(at, lines, began)


def quote_open(line: str) -> str:
    """The complaint about a quotation mark without a second one in its line."""
    return f"a quotation mark in '{_shown(line)}' is not closed; its second stands in the same line; close it"


def _no_colon(shown: str) -> str:
    if re.search(r":\S", shown):
        return f"'{shown}' is no key with a value; a space comes after the colon; write key: value"
    return f"'{shown}' has no colon; a key and its value have one between them; write key: value"


def _stray_colon(at: int, lines: list[str]) -> tuple[int, str]:
    """`a: b: c` in one line; or a line deeper than its neighbours; or no colon in the line before."""
    if len(re.findall(r":(?:\s|$)", _bare(lines[at]))) > 1:
        return at, (
            f"'{_shown(lines[at])}' has two colons; one key and one value stand in a line; "
            "put a value that has a colon between ' '"
        )
    before = _meaningful_before(at, lines)
    if before is not None and _was_meant_as_key(before, at, lines):
        return before, _no_colon(_shown(lines[before]))
    return _indent(at, lines)


def _was_meant_as_key(before: int, at: int, lines: list[str]) -> bool:
    """A line without a colon; a list entry only where the next line goes on with its keys."""
    text = _bare(lines[before])
    if re.search(r":(\s|$)", text):
        return False
    return not text.startswith("- ") or _depth(lines[at]) == _depth(lines[before]) + 2


def _open_bracket(close: str, at: int, began: int, lines: list[str]) -> tuple[int, str]:
    """A list or group that does not end: blame its first line when what follows is no part of it."""
    opened = "[" if close == "]" else "{"
    if at > began and _depth(lines[at]) <= _depth(lines[began]):
        return began, f"'{_shown(lines[began])}' has {opened} without {close}; close it"
    if at > began:
        where = f"(the {opened} is in line {began + 1})"
        return at, f"'{_shown(lines[at])}': a comma or {close} is missing {where}; add it"
    return at, (
        f"'{_shown(lines[at])}' is no proper {'list' if close == ']' else 'group'}; "
        f"a comma stands between two entries, {close} at the end; see where one is missing"
    )


def _second_document(at: int, lines: list[str]) -> tuple[int, str]:
    """Something follows the outermost group: after `...`, or below a first key that is moved in."""
    end = next((n for n in range(at) if lines[n].startswith("...")), None)
    if end is not None:
        return end, "a document ends here (...) and another begins; a layout file is one; remove this line"
    first = next((n for n in range(at) if _bare(lines[n])), at)
    if _depth(lines[first]) > _depth(lines[at]):
        return (
            first,
            f"'{_shown(lines[first])}' is moved in; sections begin in the first column; move it there",
        )
    return _indent(at, lines)


def _indent(at: int, lines: list[str], began: int | None = None) -> tuple[int, str]:
    """Blame the line, or one a column from it (the one before, the group's first) that stands more alone."""
    depths = [_depth(line) for line in lines if _bare(line)]
    for other in (began, _meaningful_before(at, lines)):
        if other is not None and abs(_depth(lines[other]) - _depth(lines[at])) == 1:
            if depths.count(_depth(lines[other])) < depths.count(_depth(lines[at])):
                at = other
            break
    return at, (
        f"'{_shown(lines[at])}' does not fit under the line before; keys of one group begin in one column; "
        "see how far this line is moved in"
    )


def _meaningful_before(at: int, lines: list[str]) -> int | None:
    return next((number for number in range(at - 1, -1, -1) if _bare(lines[number])), None)


def _bare(line: str) -> str:
    """Without comment and surrounding spaces."""
    return re.sub(r"(^|\s)#.*$", "", line).strip()


def _shown(line: str) -> str:
    text = _bare(line) or line.strip()
    return text if len(text) <= 50 else text[:47] + "..."


def _depth(line: str) -> int:
    return len(line) - len(line.lstrip(" "))
