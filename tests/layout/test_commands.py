"""`check` and `new` as the owner runs them: exit codes, what goes where, and JSON."""

from __future__ import annotations

import importlib
import json
import os
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from layout.base import CONFIG, EXAMPLES, SMALL, line_of, spoiled
from reedway import __version__, cli, shipped
from reedway.layout import commands
from reedway.layout.near import did_you_mean
from reedway.layout.new import KINDS
from reedway.problems import Complaint, ReedwayError, told_once
from reedway.typed import typed

Capture = pytest.CaptureFixture[str]
HOST = Path(cli.__file__).parent


def test_every_example_is_good(capsys: Capture) -> None:
    assert cli.main(["check", *map(str, EXAMPLES)]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    assert [line for line in captured.out.splitlines() if line.endswith(": good")] == [
        f"{path}: good" for path in EXAMPLES
    ]


def test_a_good_file_is_told_in_two_lines(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "my.yaml"
    path.write_text(SMALL)
    assert cli.main(["check", str(path)]) == 0
    out = capsys.readouterr().out.splitlines()
    assert out[:2] == [
        f"{path}: good",
        "  2 sensors, 1 switch, 2 turnouts, 1 gang, 1 block, 1 place, 1 relay, 1 timer, 1 rule, 1 start",
    ]
    # 2 sensors, 4 coils, 1 feed, 3 of the panel's register and the arm line; counted by hand
    assert out[2].startswith("  Pico: 11 of 26 pins used; free: GPIO 4, ")
    assert all(line.startswith(f"{path}:") and ": advice: " in line for line in out[3:])


def test_complaints_go_to_the_error_stream_and_good_files_are_told_all_the_same(
    tmp_path: Path, capsys: Capture
) -> None:
    good, bad = tmp_path / "good.yaml", tmp_path / "bad.yaml"
    good.write_text(SMALL)
    bad.write_text(spoiled("rearm: 3 s", "rearm: 3").replace("4 s", "-4 s"))
    assert cli.main(["check", str(bad), str(good)]) == 1
    captured = capsys.readouterr()
    assert f"{good}: good" in captured.out
    first, second, _how_many = captured.err.splitlines()
    assert first.startswith(f"{bad}:{line_of('rearm')}: rearm of sensor N2: '3' has no unit")
    assert second.startswith(f"{bad}:{line_of('4 s')}: timer let out: '-4 s' is negative")


def test_json_lists_file_line_and_message(tmp_path: Path, capsys: Capture) -> None:
    good, bad = tmp_path / "good.yaml", tmp_path / "bad.yaml"
    good.write_text(SMALL)
    bad.write_text(spoiled("[throw ends to B, pull in CALL]", "[throw ends to C, pull in CALLS]"))
    assert cli.main(["check", "--json", str(good), str(bad)]) == 1
    captured = capsys.readouterr()
    assert captured.err == ""
    told = json.loads(captured.out)
    assert [(c["file"], c["line"]) for c in told["complaints"]] == [(str(bad), line_of("do:"))] * 2
    assert [file["good"] for file in told["files"]] == [True, False]
    assert told["files"][0]["has"]["sensors"] == 2
    used = told["files"][0]["pins_used"]
    assert len(used) + len(told["files"][0]["pins_free"]) == 26
    assert all(set(one) == {"file", "line", "message"} for one in told["advice"])


def test_rules_are_checked_too(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "my.yaml"
    path.write_text(spoiled("  - at: N1 hit\n", "  - at: N1 hit\n    do: [drop out CALL]\n  - at: N1 hit\n"))
    assert cli.main(["check", str(path)]) == 1
    assert f"{path}:" in capsys.readouterr().err


@pytest.mark.parametrize("flag", ["--schema", "--limits", "--json-schema"])
def test_the_tables_are_printed_as_text_and_as_json(flag: str, capsys: Capture) -> None:
    assert cli.main(["check", flag]) == 0
    assert "refresh_every" in capsys.readouterr().out
    assert cli.main(["check", flag, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert "refresh_every" in json.dumps(data)


def test_check_without_a_file_is_a_wrong_command_line(capsys: Capture) -> None:
    with pytest.raises(SystemExit) as stop:
        cli.main(["check"])
    assert stop.value.code == 2
    assert "which FILE?" in capsys.readouterr().err


@pytest.mark.parametrize("kind", KINDS)
def test_new_writes_a_commented_file_that_passes_check(kind: str, tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "my layout.yaml"
    assert cli.main(["new", kind, str(path)]) == 0
    assert capsys.readouterr().out.endswith(f"say: reedway check {typed(path)}\n")
    text = path.read_text(encoding="utf-8")
    assert text == (CONFIG / KINDS[kind]).read_text(encoding="utf-8")
    assert sum(line.lstrip().startswith("#") for line in text.splitlines()) >= 5
    assert cli.main(["check", str(path)]) == 0
    capsys.readouterr()


def test_new_never_overwrites(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "mine.yaml"
    path.write_text("mine")
    assert cli.main(["new", "two-trains", str(path)]) == 1
    assert path.read_text() == "mine"
    assert capsys.readouterr().err == (
        f"{path}: is there already and is never overwritten; choose another name\n"
    )
    assert cli.main(["new", "two-trains", str(tmp_path / "no" / "x.yaml")]) == 1
    assert "cannot be written (No such file or directory)" in capsys.readouterr().err
    link = tmp_path / "link.yaml"
    link.symlink_to(tmp_path / "nowhere.yaml")
    assert cli.main(["new", "two-trains", str(link)]) == 1
    assert not (tmp_path / "nowhere.yaml").exists()


def test_new_of_an_unknown_kind_is_a_wrong_command_line(tmp_path: Path, capsys: Capture) -> None:
    with pytest.raises(SystemExit) as stop:
        cli.main(["new", "four-trains", str(tmp_path / "x.yaml")])
    assert stop.value.code == 2
    assert "coil-protector" in capsys.readouterr().err


def test_new_says_what_it_wrote_as_json(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "x.yaml"
    assert cli.main(["new", "sensor-logger", str(path), "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {"file": str(path), "kind": "sensor-logger"}


def test_the_shipped_files_are_found_or_a_repair_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert shipped.shipped("config") == CONFIG
    packaged = tmp_path / "reedway"
    (packaged / "_config").mkdir(parents=True)
    monkeypatch.setattr(shipped, "_PACKAGE", packaged)
    assert shipped.shipped("config") == packaged / "_config"
    monkeypatch.setattr(shipped, "_CHECKOUT", tmp_path)
    with pytest.raises(
        ReedwayError, match=r"in the folder of Reedway with: \S+ -m pip install --force-reinstall \.$"
    ):
        shipped.shipped("firmware")


def test_version_and_help_answer(capsys: Capture) -> None:
    with pytest.raises(SystemExit) as stop:
        cli.main(["--version"])
    assert (stop.value.code, capsys.readouterr().out) == (0, f"reedway {__version__}\n")
    assert cli.main([]) == 0
    overview = capsys.readouterr().out
    assert max(map(len, overview.splitlines())) <= cli.HELP_COLUMNS
    parser = cli.build_parser()
    for question, parsers in parser.groups:
        assert question in overview
        for name, sub in parsers.items():
            line = next(line for line in overview.splitlines() if line.startswith(f"  {name} "))
            assert len(line) > 20, f"{name} has no description"
            assert "example" in sub.format_help(), f"{name} has no examples"
            assert "--json" in sub.format_help(), f"{name} has no --json"


@pytest.mark.parametrize(
    ("error", "code", "says"),
    [
        (ReedwayError("the log is torn"), 1, "the log is torn\n"),
        (KeyboardInterrupt(), 130, "stopped\n"),
    ],
)
def test_errors_end_in_one_line_and_a_code(
    error: BaseException, code: int, says: str, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    def fail(_: str) -> None:
        raise error

    monkeypatch.setattr(commands, "check_file", fail)
    assert cli.main(["check", "x.yaml"]) == code
    assert capsys.readouterr().err == says


def test_nothing_is_imported_before_a_ctrl_c_is_a_ctrl_c(
    monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    code = "import sys, reedway.cli; print([m for m in sys.modules if m.count('.') > 1 and 'reedway' in m])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"

    def interrupted(_: str) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(importlib, "import_module", interrupted)
    assert (cli.main(["check", "x.yaml"]), capsys.readouterr().err) == (130, "stopped\n")


def test_a_closed_pipe_is_no_error() -> None:
    script = "import sys; from reedway.cli import main; sys.exit(main(['check', '--schema']))"
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run([sys.executable, "-c", script], stdout=writer, stderr=subprocess.PIPE, check=False)
    os.close(writer)
    assert (done.returncode, done.stderr) == (cli.PIPE_CLOSED, b"")


def test_a_terminal_without_the_letter_shows_another() -> None:
    script = "import sys; from reedway.cli import main; sys.exit(main(['check', '\u00e4.yaml']))"
    env = {**os.environ, "PYTHONIOENCODING": "ascii"}
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, env=env, check=False)
    assert done.returncode == 1
    assert b"?.yaml:1: there is no such file" in done.stderr


def test_python_dash_m_is_the_same() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "reedway", "--version"], capture_output=True, text=True, check=True
    )
    assert done.stdout == f"reedway {__version__}\n"


def test_a_slip_that_is_as_near_to_two_names_is_told_with_both() -> None:
    assert did_you_mean("NI hit", ["N2 hit", "N1 hit", "Mill stops"]) == "did you mean N2 hit or N1 hit?"
    assert did_you_mean("Mil", ["N2", "N1", "Mill"]) == "did you mean Mill?"
    assert did_you_mean("zzz", ["N2", "N1"]) == "known are N2, N1"


def test_check_says_how_many_mistakes_it_has_seen_so_far(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "bad.yaml"
    path.write_text("sensors: 3\n", encoding="utf-8")
    assert cli.main(["check", str(path)]) == 1
    last = capsys.readouterr().err.splitlines()[-1]
    assert last.startswith(f"{path}: 4 mistakes so far; mend and check again")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["chek", "my.yaml"], "reedway: error: there is no command 'chek'; did you mean check?"),
        (["zzz", "--help"], "reedway: error: there is no command 'zzz'; reedway --help lists the commands"),
        (["check", "--limts"], "reedway check: error: there is no option '--limts'; did you mean --limits?"),
        (
            ["check", "--limts=3"],
            "reedway check: error: there is no option '--limts=3'; did you mean --limits?",
        ),
        (
            ["run", "a.yaml", "--port=x"],
            "reedway run: error: there is no option '--port=x'; see reedway run --help",
        ),
        (["explain", "a.yaml", "b.yaml"], "reedway explain: error: 'b.yaml' is one argument too many"),
    ],
)
def test_a_slip_in_the_command_line_is_told_with_what_is_near(
    words: list[str], says: str, capsys: Capture
) -> None:
    with pytest.raises(SystemExit) as stop:
        cli.main(words)
    assert stop.value.code == 2  # as argparse does, and the shells
    assert capsys.readouterr().err.splitlines()[-1] == says


def test_one_slip_in_four_rules_has_the_long_advice_once(tmp_path: Path, capsys: Capture) -> None:
    text = (CONFIG / "three-trains-go-sensor.yaml").read_text(encoding="utf-8")
    lines = [n for n, line in enumerate(text.splitlines(), 1) if "siding in service" in line]
    assert len(lines) == 4
    path = tmp_path / "my.yaml"
    path.write_text(text.replace("siding in service", "sidng in service"), encoding="utf-8")
    assert cli.main(["check", str(path)]) == 1
    told = capsys.readouterr().err.splitlines()
    assert [one.startswith(f"{path}:{n}: ") for one, n in zip(told, lines, strict=False)] == [True] * 4
    assert [one.count("a condition is for example") for one in told] == [1, 0, 0, 0, 0]
    assert all(one.endswith("unknown 'sidng'; did you mean 'siding in service'?") for one in told[1:4])
    assert cli.main(["check", "--json", str(path)]) == 1
    rows = json.loads(capsys.readouterr().out)["complaints"]
    assert [row["line"] for row in rows] == lines
    assert all("a condition is for example" in row["message"] for row in rows)


def test_what_is_left_of_advice_that_was_told_says_where() -> None:
    advice = "write it in ink, with a ruler and a quiet hand, from left to right"
    two = [Complaint("a.yaml", n, f"{what} is wrong; {advice}") for n, what in ((3, "this"), (7, "that"))]
    assert [one.message for one in told_once(two)] == [
        f"this is wrong; {advice}",
        "that is wrong; as at line 3",
    ]
    assert [one.message for one in told_once([two[0], two[0]])] == [f"this is wrong; {advice}"] * 2
    short = [Complaint("a.yaml", n, "wrong; write 3 ms") for n in (3, 7)]
    assert told_once(short) == short


def test_a_path_is_printed_as_it_has_to_be_typed(monkeypatch: pytest.MonkeyPatch) -> None:
    assert (typed("my.yaml"), typed(Path("my layout.yaml"))) == ("my.yaml", "'my layout.yaml'")
    assert shlex.split("reedway check " + typed("it's mine.yaml"))[-1] == "it's mine.yaml"
    monkeypatch.setattr(sys, "platform", "win32")
    assert (typed("my.yaml"), typed("my layout.yaml")) == ("my.yaml", '"my layout.yaml"')
