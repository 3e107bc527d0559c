"""Dependencies point inward: host -> reedlogic <- reedboard; reedlogic imports only itself."""

import pytest

from house import source

# Of MicroPython's own the board may import this; reedlogic only the shimmed const(), arrays, and for the type
# checker the shimmed Any. `pins` is generated.
BOARD_MODULES = {"machine", "micropython", "rp2", "time", "sys", "os", "gc", "uctypes", "array", "select"}
LOGIC_MODULES = {"reedlogic", "micropython", "array", "typing"}
# The host uses the decisions as they are and never touches a pin.
HOST_FORBIDDEN = {"machine", "rp2", "micropython", "uctypes", "reedboard"}


def outside(folder: str, allowed: set[str]) -> list[str]:
    return [
        f"{source.name(path)}:{line}: {module}"
        for path in source.files(folder)
        for line, module in source.imports(path)
        if module.split(".")[0] not in allowed
    ]


def test_the_logic_imports_only_itself() -> None:
    assert source.files("firmware/reedlogic"), "no logic found"
    assert outside("firmware/reedlogic", LOGIC_MODULES) == []


def test_the_board_imports_the_logic_and_the_port_only() -> None:
    assert outside("firmware/reedboard", BOARD_MODULES | {"reedlogic", "reedboard", "pins"}) == []


def test_boot_and_main_import_no_more() -> None:
    for path in sorted((source.ROOT / "firmware").glob("*.py")):
        allowed = BOARD_MODULES | {"reedlogic", "reedboard"}
        wrong = [module for _, module in source.imports(path) if module.split(".")[0] not in allowed]
        if path.stem == "boot":  # of ours the pads only, and last: tests/board/test_boot.py
            ours = [module for _, module in source.imports(path) if module.startswith("reed")]
            assert ours == ["reedboard.pads"]
        assert wrong == [], path


def test_the_host_touches_no_pin() -> None:
    wrong = [
        f"{source.name(path)}:{line}: {module}"
        for path in source.files("host")
        for line, module in source.imports(path)
        if module.split(".")[0] in HOST_FORBIDDEN
    ]
    assert wrong == []


def test_the_host_uses_the_logic_itself() -> None:
    """There is no second copy of the rules in host/: somebody there imports reedlogic's controller."""
    used = {module for path in source.files("host") for _, module in source.imports(path)}
    if not (source.ROOT / "host/reedway/replay/runner.py").exists():
        pytest.skip("the runner is not written yet")
    assert any(module.startswith("reedlogic.controller") for module in used)


def test_the_walk_sees_a_forbidden_import(tmp_path, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    """The walk itself can fail: a planted file with a clock is found."""
    planted = tmp_path / "firmware" / "reedlogic" / "bad.py"
    planted.parent.mkdir(parents=True)
    planted.write_text('"""Bad."""\nfrom . import ring\nfrom ..reedboard import pins\nimport time\n')
    monkeypatch.setattr(source, "ROOT", tmp_path)
    assert [module for _, module in source.imports(planted)] == ["reedlogic", "reedboard", "time"]
