"""The project's Python files, parsed once for all house tests."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
FOLDERS = ("firmware", "host", "tests")


@cache
def files(folder: str) -> tuple[Path, ...]:
    """All Python files below a folder of the repository, in order."""
    return tuple(sorted(p for p in (ROOT / folder).rglob("*.py") if "__pycache__" not in p.parts))


@cache
def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"), str(path))


def name(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def imports(path: Path) -> list[tuple[int, str]]:
    """(line, absolute module) of every import; a relative one is spelled out."""
    package = path.relative_to(ROOT).with_suffix("").parts[1:-1]  # below firmware/ or host/
    found = []
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Import):
            found += [(node.lineno, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            parts = list(package[: len(package) + 1 - node.level]) if node.level else []
            found.append((node.lineno, ".".join([*parts, *([node.module] if node.module else [])])))
    return found
