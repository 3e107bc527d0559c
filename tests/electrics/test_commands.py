"""`coils`, `magnets`, `wiring` from the command line, with and without --json, and `magnets` as a report."""

import json

import pytest

from electrics import made
from reedway import cli
from reedway.boardfile.compile import compile_layout
from reedway.electrics import limits, magnetreport
from reedway.layout.load import load
from reedway.problems import LayoutError, ReedwayError


@pytest.fixture
def file(tmp_path):
    def write(electrics=None, example="two-trains"):
        path = tmp_path / "my.yaml"
        text = made.source_of(example) + (made.section() if electrics is None else electrics)
        path.write_text(text, encoding="utf-8")
        return str(path)

    return write


def run(capsys, *words):
    code = cli.main(words)
    return code, capsys.readouterr().out


def test_coils(file, capsys):
    code, out = run(capsys, "coils", file())
    assert (code, "will survive: yes" in out) == (0, True)
    code, out = run(capsys, "coils", file(), "--json")
    assert code == 0
    assert {row["turnout"] for row in json.loads(out)["turnouts"]} == {"exit", "entry"}
    weak = made.section(coil="{resistance: 40 ohm, copper: 14 g, throws_at: 30 V}")
    assert run(capsys, "coils", file(weak))[0] == 1


def test_magnets(file, capsys):
    code, out = run(capsys, "magnets", file())
    assert code == 0
    for words in ("sure hit:         yes", "one hit a pass:   yes", "pacemakers", "reed's own steel"):
        assert words in out
    code, out = run(capsys, "magnets", file(), "--json")
    data = json.loads(out)
    assert (code, data["not_described"], data["passes"][0]["good"]) == (0, [], True)
    far = made.section(magnet=made.MAGNET.replace("6 mm to 9 mm", "6 mm to 40 mm"))
    code, out = run(capsys, "magnets", file(far))
    assert (code, "sure hit:         NO" in out) == (1, True)


def test_wiring_and_its_drawing(file, capsys, tmp_path):
    drawing = tmp_path / "my.svg"
    code, out = run(capsys, "wiring", file(), "--svg", str(drawing))
    assert (code, "parts, by generic type" in out) == (0, True)
    assert drawing.read_text(encoding="utf-8").startswith("<svg ")
    assert out.endswith(f"written: {drawing}\n")
    code, out = run(capsys, "wiring", file(made.section(sensor="{level: 5 V}")), "--json")
    assert code == 1
    assert "5 V would come to a pin" in json.loads(out)["refused"][0]["message"]
    assert json.loads(out)["refused"][0]["line"] > 1
    with pytest.raises(SystemExit):
        cli.main(["wiring"])


def test_a_drawing_that_cannot_be_written_is_one_line(file, capsys, tmp_path):
    assert cli.main(["wiring", file(), "--svg", str(tmp_path / "no" / "my.svg")]) == 1
    assert capsys.readouterr().err.count("\n") == 1


@pytest.mark.parametrize("example", ["two-trains", "three-trains-go-sensor", "three-trains-interlocked"])
def test_the_examples_as_shipped(example, capsys, tmp_path):
    path = str(made.CONFIG / f"{example}.yaml")
    for command in ("coils", "magnets", "wiring"):
        code, out = run(capsys, command, path, "--json")
        data = json.loads(out)
        assert code == 0, command
        assert not data.get("not_described"), command
        assert not data.get("refused"), command
    layout = load(path)
    plan = compile_layout(layout).plan
    wanted = [(turnout.pulses, turnout.cool_ms) for turnout in limits.tighten(layout).turnouts]
    assert [row[6:8] for row in plan[7]] == wanted
    drawing = tmp_path / "drawing.svg"
    assert run(capsys, "wiring", path, "--svg", str(drawing))[0] == 0
    assert "</svg>" in drawing.read_text(encoding="utf-8")


def test_without_electrics_the_commands_say_what_to_measure(file, capsys):
    for command, words in (
        ("coils", "Measure and add"),
        ("magnets", "Measure on the bench"),
        ("wiring", "none"),
    ):
        code, out = run(capsys, command, file(""))
        assert (code, words in out) == (0, True), command


def test_report_takes_height_side_and_turning_together():
    calm = magnetreport.passes(made.layout())[0]
    wide = made.section(
        magnet=made.MAGNET[:-1] + ", aside: 6 mm, play: 2 mm}", sensor=made.REED[:-1] + ", aside: 5 mm}"
    )
    turned = magnetreport.passes(made.layout(wide))[0]
    assert turned.aside_mm == (0, 13)  # 5 + 6 + 2
    assert turned.length_mm[0] < calm.length_mm[0]
    assert magnetreport.operating_lengths_mm(made.layout())["N1", "head magnet"] == calm.length_mm


def test_report_notes():
    upright = made.section(
        magnet=made.MAGNET.replace("along", "vertical"), sensor="{operates: 2 mT, releases: 1 mT}"
    )
    one = magnetreport.passes(made.layout(upright))[0]
    assert one.closings[1] >= 2
    assert any("closes it twice" in note for note in one.notes)
    hall = made.section(sensor="{kind: hall, operates: 3 mT, releases: 2 mT, lies: along}")
    assert any("turned engine" in note for note in magnetreport.passes(made.layout(hall))[0].notes)


def test_a_bench_measurement_that_cannot_be_is_a_complaint():
    wrong = made.section(sensor=made.REED.replace("opens_at: 11 mm", "opens_at: 2 mm"))
    with pytest.raises(LayoutError, match="measure again"):
        magnetreport.passes(made.layout(wrong))


def test_a_missing_library_is_one_line(monkeypatch):
    import builtins

    real = builtins.__import__

    def gone(name, *args, **kwargs):
        if name == "magpylib":
            raise ImportError("No module named 'magpylib'", name="magpylib")
        return real(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", gone)
    with pytest.raises(ReedwayError, match=r'type: \S+ -m pip install "magpylib>=5.1"$'):
        magnetreport.passes(made.layout())


def test_build_says_what_it_tightens_and_refuses_what_is_unsafe(file, capsys, tmp_path):
    hot = made.section(source=made.PLAIN, around="{warmest: 50 °C}")
    code, out = run(capsys, "build", file(hot), "--out", str(tmp_path / "board"))
    assert (code, "build takes pulses 4, cool" in out) == (0, True)
    unsafe = made.section(coil="{resistance: 1 ohm, copper: 1 g}", source=made.PLAIN)
    assert cli.main(["build", file(unsafe), "--out", str(tmp_path / "other")]) == 1
    assert "puts 19.3 J into a coil of 0.385 J/K" in capsys.readouterr().err
    assert not (tmp_path / "other").exists()
