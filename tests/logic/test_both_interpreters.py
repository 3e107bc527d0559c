"""A hundred random sessions give the same bytes on CPython and on MicroPython."""

from pathlib import Path

import pytest

from logic import on_micropython
from logic.drive import play
from logic.runs import case
from reedlogic.ring import JUMP_MS_MAX

HOUR_MS = 3_600_000


def cases(first: int, count: int) -> list[tuple]:
    """Every fifth one with days of quiet between, and timers of hours."""
    made = []
    for seed in range(first, first + count):
        plan, session = case(seed, idles=0 if seed % 5 else JUMP_MS_MAX - 100_000)
        if not seed % 5:
            plan = (*plan[:9], tuple(HOUR_MS + ms for ms in plan[9]), *plan[10:])
        made.append((plan, session))
    return made


def test_a_hundred_sessions_are_the_same_to_the_byte(tmp_path: Path) -> None:
    made = cases(40_000, 100)
    path = tmp_path / "cases.txt"
    path.write_text("".join(f"{one!r}\n" for one in made))
    here = "".join(
        "case\n" + "".join("%d %d %d %d\n" % record for record in play(plan, session))
        for plan, session in made
    )
    there = on_micropython.run(on_micropython.HERE / "play_file.py", str(path))
    assert there.count("case\n") == 100
    assert here.count("\n") > 20_000
    assert there.encode() == here.encode()


@pytest.mark.parametrize("native", ["", on_micropython.NATIVE_HERE])
def test_compiled_as_for_a_board_they_are_the_same_too(tmp_path: Path, native: str) -> None:
    """`build` puts the constants in place and compiles the hot modules to instructions: the same records."""
    made = cases(41_000, 10)
    path = tmp_path / "cases.txt"
    path.write_text("".join(f"{one!r}\n" for one in made))
    from_source = on_micropython.run(on_micropython.HERE / "play_file.py", str(path))
    firmware = on_micropython.compiled(tmp_path, on_micropython.HERE / "play_file.py", native)
    assert on_micropython.run("play_file", str(path), firmware=firmware) == from_source
