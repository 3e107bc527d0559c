"""The logic holds no floats and no dicts, formats no text, and catches nothing; nobody catches everything."""

import ast

from house import source

ALLOCATING = (ast.Dict, ast.DictComp, ast.Set, ast.SetComp, ast.JoinedStr, ast.Lambda, ast.GeneratorExp)
CALLS = {"float", "dict", "set", "frozenset", "print", "open", "enumerate", "sorted", "round", "input"}


def offences(path) -> list[str]:  # type: ignore[no-untyped-def]
    found = []
    for node in ast.walk(source.tree(path)):
        what = ""
        if isinstance(node, ast.Constant) and isinstance(node.value, float | complex):
            what = f"float {node.value}"
        elif isinstance(node, ALLOCATING):
            what = type(node).__name__
        elif isinstance(node, ast.BinOp | ast.AugAssign) and isinstance(node.op, ast.Div):
            what = "true division"
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in CALLS:
            what = f"{node.func.id}()"
        elif isinstance(node, ast.Attribute) and node.attr in ("bit_length", "format", "items", "zfill"):
            what = f".{node.attr}"
        if what:
            found.append(f"{source.name(path)}:{node.lineno}: {what}")
    return found


def test_no_floats_dicts_or_text_in_the_logic() -> None:
    paths = source.files("firmware/reedlogic")
    assert paths
    assert [offence for path in paths for offence in offences(path)] == []


def test_offences_are_seen(tmp_path, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    planted = tmp_path / "bad.py"
    planted.write_text('"""Bad."""\nx = 1.5\ny = {1: 2}\nz = 3 / 2\nw = f"{x}"\nv = float(3)\n')
    monkeypatch.setattr(source, "ROOT", tmp_path)
    assert len(offences(planted)) == 5


def catches_all(handler: ast.ExceptHandler) -> bool:
    if handler.type is None:
        return True
    names = {n.id for n in ast.walk(handler.type) if isinstance(n, ast.Name)}
    return bool(names & {"Exception", "BaseException"})


def test_nobody_catches_everything() -> None:
    caught = []
    for folder in source.FOLDERS:
        for path in source.files(folder):
            for node in ast.walk(source.tree(path)):
                if isinstance(node, ast.ExceptHandler):
                    names = (
                        [n.id for n in ast.walk(node.type) if isinstance(n, ast.Name)] if node.type else [""]
                    )
                    if {"", "Exception", "BaseException"} & set(names):
                        caught.append(f"{source.name(path)}:{node.lineno}")
    assert caught == []
