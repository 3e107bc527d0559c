"""A search of the firmware's source for what would stop the one-shot or its clock."""

import ast
from pathlib import Path

import pytest

FIRMWARE = Path(__file__).parents[2] / "firmware"
SOURCES = sorted(
    [*FIRMWARE.glob("*.py"), *FIRMWARE.rglob("reedboard/**/*.py"), *FIRMWARE.rglob("reedlogic/*.py")]
)

# Called as a method or function of any name before the dot.
BANNED_CALLS = {
    "remove_program": "the one-shot's program goes and a pin stays as it is",
    "restart": "the one-shot's counters are lost in mid-pulse",
    "exec": "an instruction put into the state machine can raise any pin",
    "freq": "the clock decides how long a pulse is",
    "lightsleep": "the clocks of the state machines stop",
    "deepsleep": "the clocks of the state machines stop",
    "dormant": "the clocks stop",
    "soft_reset": "pins stay as they are and boot.py comes later than with a hard reset",
    "disable_irq": "nothing here needs it, and forgotten it stops the clock of the loop",
    "Timer": "the watchdog is fed by completed scans only",
    "PWM": "an output that goes on by itself",
}


def calls(tree: ast.AST) -> list[tuple[int, str, ast.Call]]:
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            found.append((node.lineno, name, node))
    return found


def complaints(source: str) -> list[str]:
    """What is banned in one module, as `line: why`."""
    tree = ast.parse(source)
    found = []
    for line, name, call in calls(tree):
        if name in BANNED_CALLS:
            found.append(f"{line}: {name}: {BANNED_CALLS[name]}")
        if name == "active" and (not call.args or ast.unparse(call.args[0]) not in ("1", "True")):
            found.append(f"{line}: active: a state machine is only ever started")
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module in ("machine", "rp2"):
            for alias in node.names:
                if alias.name in BANNED_CALLS:
                    found.append(f"{node.lineno}: import of {alias.name}: {BANNED_CALLS[alias.name]}")
    return found


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(FIRMWARE)))
def test_nothing_in_the_firmware_can_stop_a_pulse_from_ending(path: Path) -> None:
    allowed = {"restart"} if path.parent.name == "reedlogic" else set()  # timers of the logic, no machine
    found = [text for text in complaints(path.read_text()) if text.split(": ")[1] not in allowed]
    assert found == []


def test_each_file_that_the_interpreter_runs_turns_break_in_off_first() -> None:
    # MicroPython lets Ctrl-C in anew for each of the two: shared/runtime/pyexec.c, parse_compile_execute
    for name in ("boot.py", "main.py"):
        tree = ast.parse((FIRMWARE / name).read_text())
        assert [ast.unparse(node) for node in tree.body[1:3]] == [
            "import micropython",
            "micropython.kbd_intr(-1)",
        ]


def test_there_is_something_to_search() -> None:
    assert {"oneshot.py", "boot.py", "main.py", "board.py"} <= {path.name for path in SOURCES}


@pytest.mark.parametrize(
    "line",
    [
        "sm.active(0)",
        "sm.active(False)",
        "sm.active(running)",
        "rp2.PIO(0).remove_program(prog)",
        "sm.restart()",
        "sm.exec('set(pins, 1)')",
        "machine.freq(48_000_000)",
        "machine.lightsleep(10)",
        "from machine import lightsleep",
        "machine.Timer(period=1)",
        "machine.soft_reset()",
    ],
)
def test_the_search_finds_each_ban(line: str) -> None:
    assert complaints(line)


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(FIRMWARE)))
def test_no_class_of_the_firmware_has_a_property(path: Path) -> None:
    """With one, MicroPython looks through the class and those above at every store."""
    tree = ast.parse(path.read_text())
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
    assert not [f.name for f in functions if any("property" in ast.unparse(d) for d in f.decorator_list)]
