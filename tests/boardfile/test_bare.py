"""Functions marked `bare`: how they are compiled, and that they keep to what the compiler can do."""

import ast

import pytest

from reedway.boardfile.firmwarefiles import unmarked
from reedway.resources import firmware_folder

MODULES = sorted(p for room in ("reedlogic", "reedboard") for p in (firmware_folder() / room).glob("*.py"))
POINTERS = {"ptr8", "ptr16", "ptr32"}
TEXT = """\
from .bare import bare, ptr8, ptr32
from .tables import table

    @bare
    def f(words: ptr32, n: int, index: ptr8) -> int:
        return words[n]
"""


def bare_functions() -> list[tuple[str, ast.FunctionDef]]:
    return [
        (f"{module.stem}.{node.name}", node)
        for module in MODULES
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef) and "bare" in [ast.unparse(d) for d in node.decorator_list]
    ]


def test_for_a_processor_they_are_vipers_and_else_plain() -> None:
    assert unmarked(TEXT, "@micropython.viper") == TEXT.replace("@bare", "@micropython.viper").replace(
        "from .bare import bare, ptr8, ptr32", "pass"
    )
    plain = TEXT.replace("@bare", "").replace(": ptr32", "").replace(": ptr8", "")
    assert unmarked(TEXT, "") == plain.replace("from .bare import bare, ptr8, ptr32", "pass")


@pytest.mark.parametrize(("name", "function"), bare_functions(), ids=[name for name, _ in bare_functions()])
def test_they_use_numbers_and_tables_alone(name: str, function: ast.FunctionDef) -> None:
    """An attribute or a call is slow there, and what has no mark of its kind is an object."""
    for argument in function.args.args:
        assert argument.annotation and ast.unparse(argument.annotation) in POINTERS | {"int"}, name
    assert function.returns and ast.unparse(function.returns) == "int", name
    for node in ast.walk(function):
        assert not isinstance(node, ast.Attribute), f"{name}: {ast.unparse(node)}"
        if isinstance(node, ast.Call):
            assert ast.unparse(node.func) == "range", f"{name}: {ast.unparse(node)}"


def test_the_hot_loops_are_among_them() -> None:
    names = {name for name, _ in bare_functions()}
    assert {
        "rules.come_to_rest",
        "rules.fired_of",
        "journal.write",
        "receiver.parse",
        "oneshot.word",
    } <= names
