"""The logic holds no floats and no dicts, formats no text, and catches nothing; nobody catches everything."""

import ast
import re

import pytest

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


CATCHES_ALL = re.compile(r"^\s*except\s*(\*\s*)?(:|.*\b(Base)?Exception\b)")


def test_nobody_catches_everything() -> None:
    caught = []
    for folder in source.FOLDERS:
        for path in source.files(folder):
            for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
                if CATCHES_ALL.match(line):
                    caught.append(f"{source.name(path)}:{number}")
    assert caught == []


@pytest.mark.parametrize("line", ["except:", "  except Exception:", "except (A, BaseException) as e:"])
def test_such_a_line_is_seen(line: str) -> None:
    assert CATCHES_ALL.match(line) and not CATCHES_ALL.match("except (OSError, MyException) as error:")


def bare_parts(path) -> list[str]:  # type: ignore[no-untyped-def]
    """Parts of a plan taken by number; words.py has a name for each."""
    found = []
    for node in ast.walk(source.tree(path)):
        if isinstance(node, ast.Subscript) and isinstance(node.slice, ast.Constant):
            whole = getattr(node.value, "attr", getattr(node.value, "id", ""))
            if whole == "plan" and isinstance(node.slice.value, int):
                found.append(f"{source.name(path)}:{node.lineno}")
    return found


def test_the_host_takes_parts_of_a_plan_by_name() -> None:
    assert [one for path in source.files("host") for one in bare_parts(path)] == []


def test_a_bare_number_is_seen(tmp_path, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    planted = tmp_path / "bad.py"
    planted.write_text(
        '"""Bad."""\na = plan[7]\nb = self.plan[0][1]\nc = plan[w.PLAN_TIMERS][2]\nd = row[1]\n'
    )
    monkeypatch.setattr(source, "ROOT", tmp_path)
    assert bare_parts(planted) == ["bad.py:2", "bad.py:3"]
