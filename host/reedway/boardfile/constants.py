"""Constants of the firmware put in place before it is compiled: smaller, faster, of the same meaning.

MicroPython puts only a module's own constants in place. Those that one module imports from another cost a
look-up each time and a name on the heap each, so `build` writes their numbers into the text that it compiles.
Lines keep their numbers.
"""

from __future__ import annotations

import ast
from pathlib import Path


def constants_of(module: Path) -> dict[str, int]:
    """The `NAME = const(number)` of one module; the number may be an expression of numbers."""
    found: dict[str, int] = {}
    for node in ast.parse(module.read_text(encoding="utf-8")).body:
        if not isinstance(node, ast.Assign) or not isinstance(node.value, ast.Call):
            continue
        call, target = node.value, node.targets[0]
        if isinstance(call.func, ast.Name) and call.func.id == "const" and isinstance(target, ast.Name):
            found[target.id] = int(eval(compile(ast.Expression(call.args[0]), str(module), "eval"), {}))
    return found


def place_constants(module: Path) -> str:
    """The text of a module in which every constant imported from a sibling stands as its number."""
    text = module.read_text(encoding="utf-8")
    tree = ast.parse(text)
    known: dict[str, int] = {}
    changes: list[tuple[ast.stmt | ast.expr, str]] = []
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module and (source := _imported(module, node)):
            constants = constants_of(source)
            kept = [alias for alias in node.names if alias.name not in constants or alias.asname]
            if len(kept) < len(node.names):
                known.update({a.name: constants[a.name] for a in node.names if a not in kept})
                changes.append((node, _import(node, kept)))
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load) and node.id in known:
            changes.append((node, str(known[node.id])))
    return _replace(text, changes)


def _imported(module: Path, node: ast.ImportFrom) -> Path | None:
    """The file that a `from .words import` or `from reedlogic.words import` reads."""
    if node.level == 1:
        path = module.parent / f"{node.module}.py"
    else:
        path = module.parent.parent / (str(node.module).replace(".", "/") + ".py")
    return path if path.is_file() else None


def _import(node: ast.ImportFrom, kept: list[ast.alias]) -> str:
    """What is left of an import, with the line ends it had."""
    ends = "\n" * ((node.end_lineno or node.lineno) - node.lineno)
    if not kept:
        return "pass" + ends
    names = ", ".join(a.name if a.asname is None else f"{a.name} as {a.asname}" for a in kept)
    return f"from {'.' * node.level}{node.module} import {names}{ends}"


def _replace(text: str, changes: list[tuple[ast.stmt | ast.expr, str]]) -> str:
    lines = text.splitlines(keepends=True)
    starts = [0]
    for line in lines:
        starts.append(starts[-1] + len(line.encode("utf-8")))
    data = text.encode("utf-8")
    spans = [
        (starts[n.lineno - 1] + n.col_offset, starts[(n.end_lineno or 0) - 1] + (n.end_col_offset or 0), new)
        for n, new in changes
    ]
    for start, end, new in sorted(spans, reverse=True):
        data = data[:start] + new.encode("utf-8") + data[end:]
    return data.decode("utf-8")
