"""Constants put in place for the board: no name of a sibling's constant is left, lines keep their numbers."""

import ast
from collections.abc import Iterator
from pathlib import Path
from types import CodeType

import pytest

from reedway.boardfile import constants
from reedway.boardfile.constants import constants_of, place_constants
from reedway.resources import firmware_folder

MODULES = sorted(p for room in ("reedlogic", "reedboard") for p in (firmware_folder() / room).glob("*.py"))


@pytest.mark.parametrize("module", MODULES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_lines_keep_their_numbers_and_no_name_is_left(module: Path) -> None:
    before, after = module.read_text(encoding="utf-8"), place_constants(module)
    assert after.count("\n") == before.count("\n")
    known = constants_of(module) | constants_of(firmware_folder() / "reedlogic" / "words.py")
    has_code = "class " in before or "def " in before.replace("def const", "")
    if has_code:
        names = {node.id for node in ast.walk(ast.parse(after)) if isinstance(node, ast.Name)}
        assert not names & set(known)
    functions = [(n.name, n.lineno) for n in _functions(before)]
    assert functions == [(n.name, n.lineno) for n in _functions(after)]
    for name, source in _imports(module, after):
        assert source.exists() and name in _defined(place_constants(source)), name


def _functions(text: str) -> list[ast.FunctionDef]:
    """All but the shim of const(), which goes with the last use of it."""
    return [n for n in ast.walk(ast.parse(text)) if isinstance(n, ast.FunctionDef) and n.name != "const"]


def _imports(module: Path, text: str) -> list[tuple[str, Path]]:
    """Each name that a module imports from one of ours, and that one's file."""
    found = []
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.ImportFrom) and (node.level or str(node.module).startswith("reed")):
            room = module.parent if node.level else firmware_folder()
            source = room / (str(node.module).replace(".", "/") + ".py")
            found += [(alias.name, source) for alias in node.names]
    return found


def _defined(text: str) -> set[str]:
    """The names at the top of a module."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
            found.add(node.name)
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            found.add(node.id)
        elif isinstance(node, ast.ImportFrom):
            found |= {alias.name for alias in node.names}
    return found


def test_numbers_are_those_of_the_sibling(tmp_path: Path) -> None:
    (tmp_path / "words.py").write_text("A = const(3)\nB = const(1 << 4)\nplain = 5\n")
    module = tmp_path / "user.py"
    module.write_text(
        "from .words import (\n    A,\n    B,\n    plain,\n)\n\ndef f():\n    print(A, B, plain, 'A', x.A)\n"
    )
    placed = "from .words import plain\n\n\n\n\n\ndef f():\n    print(3, 16, plain, 'A', x.A)\n"
    assert place_constants(module) == placed


def test_a_modules_own_numbers_go_too_and_what_is_no_constant_stays(tmp_path: Path) -> None:
    module = tmp_path / "user.py"
    module.write_text(
        "A, B = 1, -2\nC = const(A << 4 | 1)  # why\nBIG = 0xD0000000\nKNOWN = C if x else 2\nTWICE = 1\n"
        "FLAG = False\ndef f(a=C):\n    global TWICE\n    TWICE = 3\n    return A - B + BIG + KNOWN\n"
    )
    assert place_constants(module) == (
        "pass\npass  # why\nBIG = 0xD0000000\nKNOWN = 17 if x else 2\nTWICE = 1\n"
        "FLAG = False\ndef f(a=17):\n    global TWICE\n    TWICE = 3\n    return 1 - (-2) + BIG + KNOWN\n"
    )
    assert constants_of(module) == {"A": 1, "B": -2, "C": 17}


def test_a_module_of_nothing_but_constants_keeps_its_names(tmp_path: Path) -> None:
    module = tmp_path / "words.py"
    module.write_text("A = const(3)\nB = const(A + 1)\n")
    assert place_constants(module) == module.read_text()
    assert constants_of(module) == {"A": 3, "B": 4}


def test_arguments_given_by_place_lose_their_names_and_those_with_defaults_keep_them(tmp_path: Path) -> None:
    module = tmp_path / "user.py"
    module.write_text(
        "class A:\n    def f(self, first: int, second=1):\n        return first.first + second + self.first\n"
        "\n\ndef g(first, other):\n    return [first for _ in other], lambda: other\n"
    )
    assert place_constants(module) == (
        "class A:\n    def f(self, p1: int, second=1):\n        return p1.first + second + self.first\n"
        "\n\ndef g(p0, p1):\n    return [p0 for _ in p1], lambda: p1\n"
    )


def without_argument_names(text: str) -> str:
    return constants._replace(text, list(constants._short_arguments(ast.parse(text))))


def compiled(text: str) -> CodeType:
    """The text, compiled without its annotations, in which arguments are named."""
    tree = ast.parse(text)
    for node in ast.walk(tree):
        if isinstance(node, ast.arg):
            node.annotation = None
        elif isinstance(node, ast.FunctionDef):
            node.returns = None
    return compile(tree, "module", "exec")


def shapes(code: CodeType) -> Iterator[tuple]:
    """All that a function does, its locals and arguments by number."""
    inner = [constant for constant in code.co_consts if isinstance(constant, CodeType)]
    plain = [constant for constant in code.co_consts if not isinstance(constant, CodeType)]
    locals_of = len(code.co_varnames), len(code.co_cellvars), len(code.co_freevars)
    yield code.co_name, code.co_code, code.co_names, plain, code.co_argcount, locals_of
    for one in inner:
        yield from shapes(one)


@pytest.mark.parametrize("module", MODULES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_without_the_names_of_its_arguments_a_function_does_the_same(module: Path) -> None:
    text = module.read_text(encoding="utf-8")
    assert list(shapes(compiled(text))) == list(shapes(compiled(without_argument_names(text))))


@pytest.mark.parametrize(
    "text",
    [
        "def f(a):\n    p0 = 3\n    return p0 + a\n",
        "a = 1\ndef f(a, b=a):\n    return a + b\n",
        "def f(a):\n    try:\n        return a\n    except ValueError as a:\n        return a\n",
        "def f(a):\n    def g():\n        nonlocal a\n        a = 2\n    g()\n    return a\n",
    ],
)
def test_that_would_notice_what_the_renaming_does_not_understand(text: str) -> None:
    try:
        after = compiled(without_argument_names(text))
    except SyntaxError:
        return
    assert list(shapes(after)) != list(shapes(compiled(text)))


def test_no_function_of_the_firmware_is_given_by_name_what_lost_its_name() -> None:
    placed = {
        argument.arg
        for module in MODULES
        for function in _functions(module.read_text(encoding="utf-8"))
        for argument in function.args.args[: len(function.args.args) - len(function.args.defaults)]
    }
    calls = [
        (module.name, keyword.arg)
        for module in MODULES
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and not _is_the_interpreters(node)
        for keyword in node.keywords
    ]
    assert not [(name, keyword) for name, keyword in calls if keyword in placed]


def _is_the_interpreters(node: ast.Call) -> bool:
    """Of the machine's modules: `Pin(...)`, `rp2.StateMachine(...)` and the like."""
    return ast.unparse(node.func).split(".")[0] in ("Pin", "rp2", "machine", "time")
