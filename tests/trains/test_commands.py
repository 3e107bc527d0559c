"""`reedway plan`: tables, JSON, exit codes, and drawings in which no words overlap."""

from __future__ import annotations

import itertools
import json
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from reedway.cli import main
from reedway.trains.drawing import sheet
from reedway.trains.planning import plan
from reedway.trains.sheet import levels, width_of
from trains.valley import VALLEY, loaded, spoiled

SVG = "{http://www.w3.org/2000/svg}"
SIZES = {  # of drawings: as they are, short, long, with much to be said, with marks close together
    "plain": (),
    "short": (("length: 2.2 m", "length: 1.3 m"),),
    "long": (("length: 2.2 m", "length: 60 m"), ("beyond: 1 m, next_spot: 700 mm", "beyond: 40 m")),
    "next": (("clear_of: exit, beyond: 1 m, ", ""),),
    "close": (("fouling_point: 20 mm", "fouling_point: 1 mm"), ("beyond_gap: 50 mm", "beyond_gap: 1 mm")),
    "names": (("  railcar:\n", "  a train with the longest name:\n"),),
}


def file_with(tmp_path: Path, *changes: tuple[str, str]) -> str:
    path = tmp_path / "my.yaml"
    path.write_text(spoiled(*changes), encoding="utf-8")
    return str(path)


def test_exit_codes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", file_with(tmp_path)]) == 0
    assert "Everything planned will do." in capsys.readouterr().out
    bad = file_with(tmp_path, ("beyond_gap: 50 mm", "beyond_gap: 76 mm"))
    assert main(["plan", bad]) == 1
    said = capsys.readouterr().out
    line = VALLEY[: VALLEY.index("  N1: {place")].count("\n") + 1
    assert f"line {line}: N1: the magnet of the goods train may stand over it: 1 mm" in said
    assert main(["plan", file_with(tmp_path, ("magnet: 60 mm", "magnet: 1 m"))]) == 1
    assert "my.yaml:" in capsys.readouterr().err


def test_the_verdict_does_not_gainsay_the_notes(capsys: pytest.CaptureFixture[str]) -> None:
    """Of the two trains a late throw lets noses pass the mark: the last line says so too."""
    example = Path(__file__).parents[2] / "config" / "two-trains.yaml"
    assert main(["plan", str(example)]) == 0
    said = capsys.readouterr().out
    assert "lets noses pass the mark" in " ".join(said.split())
    assert said.splitlines()[-1].endswith("not so in the cases of the notes above.")


def test_nothing_to_plan_says_what_to_add(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "my.yaml"
    path.write_text(VALLEY[: VALLEY.index("vehicles:")], encoding="utf-8")
    assert main(["plan", str(path)]) == 1
    said = capsys.readouterr().out
    assert "trains and spots are missing" in said
    example = said[said.index("vehicles:") : said.index("The figures")]
    path.write_text(VALLEY[: VALLEY.index("vehicles:")] + example, encoding="utf-8")
    assert main(["plan", str(path)]) in (0, 1)  # the example can be read as it stands
    assert "At rest" in capsys.readouterr().out


def test_json_is_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "plans"
    assert main(["plan", file_with(tmp_path), "--json", "--drawings", str(folder)]) == 0
    data = json.loads(capsys.readouterr().out)
    assert {"stands", "passings", "sensors", "problems", "notes", "missing", "drawings"} <= set(data)
    assert sorted(path.name for path in folder.iterdir()) == ["1-N1.svg", "2-N2.svg", "3-N3.svg"]
    assert len(data["drawings"]) == 3


def test_a_folder_that_cannot_be_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert main(["plan", file_with(tmp_path), "--drawings", str(tmp_path / "file")]) == 1
    said = capsys.readouterr().err
    assert said.count("\n") == 1 and "cannot be written" in said


def test_a_scale_that_is_none(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as why:
        main(["plan", file_with(tmp_path), "--scale", "0"])
    assert why.value.code == 2


ODD = {  # layouts that are allowed and have little in them
    "never stops": (
        VALLEY[: VALLEY.index("blocks:")]
        + VALLEY[VALLEY.index("vehicles:") : VALLEY.index("lengths:")].replace(
            "when_cut: runs on so far\n    run_on: 45 mm to 60 mm", "when_cut: never stops"
        )
        + "spots:\n  N1: {next_spot: 900 mm}\n"
    ),
    "no magnets": VALLEY.replace(", magnet: 60 mm", "").replace(
        "magnet: 30 mm, magnet_fits: 9 mm to 99 mm", ""
    ),
    "nobody stands": VALLEY.replace("dead_end: 500 mm}", "dead_end: 500 mm, trains: []}"),
    "no spots": VALLEY[: VALLEY.index("spots:")],
    "spots only": VALLEY[: VALLEY.index("vehicles:")] + "spots:\n  N1: {next_spot: 900 mm}\n",
    "longer than all": VALLEY.replace("length: 300 mm", "length: 2 m").replace("270 mm,", "2 m,"),
}


@pytest.mark.parametrize("odd", ODD)
def test_odd_layouts_are_planned_all_the_same(
    odd: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "my.yaml"
    path.write_text(ODD[odd], encoding="utf-8")
    for more in ([], ["--json", "--drawings", str(tmp_path / "plans")]):
        assert main(["plan", str(path), *more]) in (0, 1)
        said = capsys.readouterr()
        assert said.out and not said.err
    for drawn in (tmp_path / "plans").iterdir():
        assert ET.parse(drawn).getroot().tag == f"{SVG}svg"


@pytest.mark.parametrize("kind", SIZES)
def test_no_words_overlap_and_all_are_on_the_page(kind: str) -> None:
    found = plan(loaded(spoiled(*SIZES[kind])), {})
    for site in found.sites:
        page, svg = sheet(found, site)
        root = ET.fromstring(svg)
        wide, high = float(root.attrib["width"]), float(root.attrib["height"])
        assert len(page.boxes) > 10
        for left, top, right, bottom in page.boxes:
            assert left >= 0 and top >= 0 and right <= wide and bottom <= high, (kind, site.sensor)
        for one, other in itertools.combinations(page.boxes, 2):
            apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
            assert apart, (kind, site.sensor, one, other)


def test_the_drawing_is_to_scale() -> None:
    """Ticks and cars by the same scale: a car of 130 mm is 130 mm long on the axis."""
    found = plan(loaded(), {})
    _, svg = sheet(found, found.site("N1"))
    root = ET.fromstring(svg)
    texts = [(e.text or "", float(e.attrib["x"])) for e in root.iter(f"{SVG}text")]
    ticks = {words: x for words, x in texts if words.lstrip("-").isdigit()}
    px = (ticks["400"] - ticks["-1600"]) / 2000
    boxes = root.iter(f"{SVG}rect")
    cars = [float(e.attrib["width"]) for e in boxes if e.attrib.get("stroke") == "#000000"]
    assert sum(abs(width - 130 * px) < 0.11 for width in cars) == 6
    words = " ".join(words for words, _ in texts)
    assert "mm from the gap; trains run to the right" in words
    assert "N1 serves all from -765 mm to 75 mm" in words


def test_labels_of_one_level_do_not_overlap() -> None:
    labels = [(100.0, "gap"), (104.0, "N1"), (130.0, "far end"), (400.0, "mark")]
    on = levels(labels, 13)
    for (one, other), (i, j) in zip(
        itertools.combinations(labels, 2), itertools.combinations(on, 2), strict=True
    ):
        if i == j:
            assert abs(one[0] - other[0]) >= (width_of(one[1]) + width_of(other[1])) / 2
    assert len(set(on)) > 1 and on[3] == 0
