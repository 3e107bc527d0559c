"""Constants put in place for the board: no name of a sibling's constant is left, lines keep their numbers."""

import ast
from pathlib import Path

import pytest

from reedway.boardfile.constants import constants_of, place_constants
from reedway.resources import firmware_folder

MODULES = sorted((firmware_folder() / "reedlogic").glob("*.py"))


@pytest.mark.parametrize("module", MODULES, ids=lambda path: path.stem)
def test_lines_keep_their_numbers_and_no_name_is_left(module: Path) -> None:
    before, after = module.read_text(encoding="utf-8"), place_constants(module)
    assert after.count("\n") == before.count("\n")
    imported = constants_of(firmware_folder() / "reedlogic" / "words.py")
    if module.stem != "words":
        names = {node.id for node in ast.walk(ast.parse(after)) if isinstance(node, ast.Name)}
        assert not names & set(imported) - {"const"}
    functions = [(n.name, n.lineno) for n in ast.walk(ast.parse(before)) if isinstance(n, ast.FunctionDef)]
    assert functions == [
        (n.name, n.lineno) for n in ast.walk(ast.parse(after)) if isinstance(n, ast.FunctionDef)
    ]


def test_numbers_are_those_of_the_sibling(tmp_path: Path) -> None:
    (tmp_path / "words.py").write_text("A = const(3)\nB = const(1 << 4)\nplain = 5\n")
    module = tmp_path / "user.py"
    module.write_text("from .words import (\n    A,\n    B,\n    plain,\n)\n\nprint(A, B, plain, 'A', x.A)\n")
    assert place_constants(module) == "from .words import plain\n\n\n\n\n\nprint(3, 16, plain, 'A', x.A)\n"
