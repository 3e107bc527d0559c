"""Constants of the firmware put in place before it is compiled: smaller, faster, of the same meaning.

MicroPython puts in place only what a module itself declares with const(), and keeps even those names. Every
other constant costs a look-up each time, and every name a place on the heap, so `build` writes the numbers
into the text that it compiles and leaves their names out. Lines keep their numbers. A module of nothing but
constants stays as it is: no module on the board imports it any more.
"""

from __future__ import annotations

import ast
import re
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path

CONSTANT = re.compile(r"_?[A-Z][A-Z0-9_]*")
PLAIN_END = 1 << 30  # a number that no word of the board's processor holds is an object: once is enough
ARITHMETIC = (ast.Constant, ast.BinOp, ast.UnaryOp, ast.operator, ast.unaryop, ast.Load)


def constants_of(module: Path) -> dict[str, int]:
    """The whole numbers that one module gives names in capitals, once and for all."""
    return _constants(module, module.read_text(encoding="utf-8")).own


def place_constants(module: Path) -> str:
    """The text of a module in which every constant, its own or a sibling's, stands as its number."""
    found = _constants(module, module.read_text(encoding="utf-8"))
    if not any(isinstance(node, (ast.FunctionDef, ast.ClassDef)) for node in found.tree.body):
        return found.text
    known = found.imported | found.own
    changes: list[tuple[ast.stmt | ast.expr | ast.arg, str]] = [
        (node, "pass" + _ends(node)) for node, names in found.assigned if names and set(names) <= set(known)
    ]
    gone = {id(part) for node, _ in changes for part in ast.walk(node)}
    uses = [n for n in ast.walk(found.tree) if isinstance(n, ast.Name) and id(n) not in gone]
    unused = set(known) if "const" in (n.id for n in uses) else {*known, "const"}
    for node in ast.walk(found.tree):
        if isinstance(node, ast.ImportFrom) and _imported(module, node):
            kept = [alias for alias in node.names if alias.name not in unused or alias.asname]
            if len(kept) < len(node.names):
                changes.append((node, _import(node, kept)))
        elif isinstance(node, ast.Try) and "const" in unused and _is_shim(node):
            changes.append((node, "pass" + _ends(node)))
    for name in uses:
        if name.id in known:
            number = known[name.id]
            changes.append((name, str(number) if number >= 0 else f"({number})"))
    inside = {id(part) for node, _ in changes for part in ast.walk(node)}
    changes += [(node, name) for node, name in _short_arguments(found.tree) if id(node) not in inside]
    return _replace(found.text, changes)


def _short_arguments(tree: ast.Module) -> Iterator[tuple[ast.expr | ast.arg, str]]:
    """Arguments that are given by place as p0, p1, ...: a compiled function keeps their names, too."""
    for function in ast.walk(tree):
        if not isinstance(function, ast.FunctionDef):
            continue
        given = function.args.args[: len(function.args.args) - len(function.args.defaults)]
        short = {a.arg: f"p{i}" for i, a in enumerate(given) if a.arg != "self"}
        for node in ast.walk(function):
            if isinstance(node, ast.arg) and node.arg in short:
                yield node, short[node.arg]
            elif isinstance(node, ast.Name) and node.id in short:
                yield node, short[node.id]


class _Constants:
    """A module read: `own` and `imported` numbers by name, and the statements that give names in capitals."""

    def __init__(self, module: Path, text: str) -> None:
        self.text = text
        self.tree = ast.parse(text)
        self.imported: dict[str, int] = {}
        self.own: dict[str, int] = {}
        self.assigned: list[tuple[ast.stmt, list[str]]] = []
        for node in ast.walk(self.tree):
            if isinstance(node, ast.ImportFrom) and (source := _imported(module, node)):
                theirs = constants_of(source)
                self.imported |= {a.name: theirs[a.name] for a in node.names if a.name in theirs}
        stored = Counter(
            n.id for n in ast.walk(self.tree) if isinstance(n, ast.Name) and isinstance(n.ctx, ast.Store)
        )
        for node in self.tree.body:
            if not isinstance(node, ast.Assign):
                continue
            pairs = list(_pairs(node))
            for name, value in pairs:
                number = self._number(value)
                if number is not None and CONSTANT.fullmatch(name) and stored[name] == 1:
                    self.own[name] = number
            self.assigned.append((node, [name for name, _ in pairs]))

    def _number(self, value: ast.expr) -> int | None:
        """What a sum of numbers and known names comes to; None for anything else."""
        declared = False
        if isinstance(value, ast.Call) and isinstance(value.func, ast.Name) and value.func.id == "const":
            declared, value = True, value.args[0]
        known = self.imported | self.own
        for part in ast.walk(value):
            is_known = isinstance(part, ast.Name) and part.id in known
            if not is_known and not isinstance(part, ARITHMETIC):
                return None
        number = eval(compile(ast.Expression(value), "constants", "eval"), {}, known)
        return number if type(number) is int and (declared or -PLAIN_END <= number < PLAIN_END) else None


@cache
def _constants(module: Path, text: str) -> _Constants:
    """Read once: half the modules import the same few."""
    return _Constants(module, text)


def _pairs(node: ast.Assign) -> Iterator[tuple[str, ast.expr]]:
    """Each name that is given a value: `A = 1`, and `A, B = 1, 2`."""
    target, value = node.targets[0], node.value
    if len(node.targets) > 1:
        return
    if isinstance(target, ast.Name):
        yield target.id, value
    elif isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
        for name, item in zip(target.elts, value.elts, strict=True):
            if isinstance(name, ast.Name):
                yield name.id, item


def _is_shim(node: ast.Try) -> bool:
    """The `try: from micropython import const` of modules that run on both interpreters."""
    return ast.unparse(node.body[0]) == "from micropython import const"


def _imported(module: Path, node: ast.ImportFrom) -> Path | None:
    """The file that a `from .words import` or `from reedlogic.words import` reads."""
    if node.level == 1:
        path = module.parent / f"{node.module}.py"
    else:
        path = module.parent.parent / (str(node.module).replace(".", "/") + ".py")
    return path if path.is_file() else None


def _ends(node: ast.stmt) -> str:
    """The line ends within a statement."""
    return "\n" * ((node.end_lineno or node.lineno) - node.lineno)


def _import(node: ast.ImportFrom, kept: list[ast.alias]) -> str:
    """What is left of an import, with the line ends it had."""
    if not kept:
        return "pass" + _ends(node)
    names = ", ".join(a.name if a.asname is None else f"{a.name} as {a.asname}" for a in kept)
    return f"from {'.' * node.level}{node.module or ''} import {names}{_ends(node)}"


def _replace(text: str, changes: list[tuple[ast.stmt | ast.expr | ast.arg, str]]) -> str:
    lines = text.splitlines(keepends=True)
    starts = [0]
    for line in lines:
        starts.append(starts[-1] + len(line.encode("utf-8")))
    data = text.encode("utf-8")
    spans = []
    for node, new in changes:
        start, end = starts[node.lineno - 1] + node.col_offset, (node.end_lineno or 0) - 1
        if isinstance(node, ast.arg):  # without its annotation
            stop = start + len(node.arg)
        else:
            stop = starts[end] + (node.end_col_offset or 0)
        spans.append((start, stop, new))
    for start, end, new in sorted(spans, reverse=True):
        data = data[:start] + new.encode("utf-8") + data[end:]
    return data.decode("utf-8")
