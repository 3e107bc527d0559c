"""The card and the label strips: every number of the board's own lamp, every terminal, to scale."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from pathlib import Path
from types import SimpleNamespace

import pytest

from reedboard import blink
from reedlogic import words as w
from reedway.boardfile.compile import Compiled
from reedway.cli import main
from reedway.electrics.labels import labels_svg
from reedway.electrics.wiring import wire
from reedway.layout.blinking import FAULTS, STEADY, codes
from reedway.layout.card import card_svg
from reedway.layout.checking import check_file

CONFIG = Path(__file__).parents[2] / "config"
LAYOUTS = sorted(CONFIG.glob("*.yaml"))
SVG = "{http://www.w3.org/2000/svg}"


def compiled(path: Path) -> Compiled:
    return check_file(str(path)).compiled


def lamp(**state: int) -> list[bool]:
    """The board's own lamp in that state of the logic, in slots of 0.2 s, for two minutes."""
    logic = SimpleNamespace(
        mode=state.get("mode", w.M_RUNNING),
        fault=state.get("fault", -1),
        resting=state.get("resting", 0),
        strayed=state.get("strayed", 0),
        unmoved=state.get("unmoved", 0),
        words=[0] * w.WORDS,
    )
    logic.words[w.W_CAUTION] = state.get("caution", 0)
    own = blink.Blink(logic)
    return [own.is_lit(slot * blink.SLOT_MS) for slot in range(600)]


def counted(slots: list[bool]) -> tuple[int, int]:
    """Two numbers as somebody counts them who begins to look at the end of a long dark time."""
    text = "".join("#" if lit else "." for lit in slots)
    dark = max(re.findall(r"\.+", text), key=len)
    flashes = text.split(dark)[1].split("." * blink.GAP)
    first, second = (part.count("#") for part in flashes if "#" in part)
    return first, second


def causes() -> list[int]:
    return [value for name, value in vars(w).items() if name.startswith("F_")]


@pytest.mark.parametrize("path", LAYOUTS, ids=lambda path: path.stem)
def test_each_number_of_the_lamp_is_on_the_card_with_its_name(path: Path) -> None:
    layout = compiled(path)
    names = layout.names
    wanted = {}
    for i, name in enumerate(names.inputs):
        if names.input_kinds[i] == "sensor":
            wanted[counted(lamp(resting=1 << i))] = name
    for i, (name, *_positions) in enumerate(names.turnouts):
        wanted[counted(lamp(strayed=1 << i))] = name
        wanted[counted(lamp(unmoved=1 << i))] = name
    for i, words in enumerate(names.cautions):
        wanted[counted(lamp(caution=1 << i))] = words
    for cause in causes():
        code = counted(lamp(mode=w.M_FAULT, fault=cause << 7 | 3))
        wanted[code] = " / ".join(names.faults) if cause == w.F_RULE and names.faults else FAULTS[cause]
    assert {(code.kind, code.number): code.name for code in codes(names)} == wanted
    texts = [one.text or "" for one in ET.fromstring(card_svg(layout)).iter(f"{SVG}text")]
    for (kind, number), name in wanted.items():
        at = texts.index(f"{kind} - {number}")
        assert name.split()[0] in texts[at + 1]


def test_several_things_at_once_show_the_first() -> None:
    everything = {"resting": 4, "strayed": 2, "unmoved": 1, "caution": 8}
    assert counted(lamp(mode=w.M_FAULT, fault=4 << 7, **everything)) == (5, 5)
    assert counted(lamp(**everything)) == (1, 3)
    del everything["resting"]
    assert counted(lamp(**everything)) == (2, 2)
    del everything["strayed"]
    assert counted(lamp(**everything)) == (3, 1)


def test_the_steady_states_are_as_the_card_says() -> None:
    text = {
        mode: "".join("#" if lit else "." for lit in lamp(mode=mode)) for mode in range(w.M_MAINTENANCE + 1)
    }
    said = dict(STEADY)
    assert set(text[w.M_RUNNING]) == {"#"} and "lit" in said
    assert text[w.M_STOPPED].startswith("#####....." * 9) and "1 s lit, 1 s dark" in said
    assert text[w.M_BEFORE].startswith(("#" + "." * 19) * 9) and "a short flash every 4 s" in said
    assert text[w.M_MAINTENANCE].startswith("#." * 99) and "flickers fast" in said


def test_the_card_tells_buttons_lamps_and_starts() -> None:
    svg = card_svg(compiled(CONFIG / "three-trains-pairs.yaml"))
    for words in (
        "hold Mill Halt",
        "the train at Mill Halt",
        "Mill Halt has its feed",
        "PULL THE PLUG",
    ):
        assert words in svg
    assert "track A, track B, Mill Halt" in svg


@pytest.mark.parametrize("path", LAYOUTS, ids=lambda path: path.stem)
def test_nothing_on_the_sheets_runs_over_its_edge_or_into_the_next_column(path: Path) -> None:
    layout = compiled(path).layout
    for sheet in (card_svg(compiled(path)), labels_svg(wire(layout))):
        root = ET.fromstring(sheet)
        assert root.get("width") == "210mm" and root.get("viewBox", "").startswith("0 0 210 ")
        high = float(root.get("viewBox", "").split()[3])
        for one in root.iter(f"{SVG}text"):
            x, y, size = (float(one.get(key, "0")) for key in ("x", "y", "font-size"))
            long = len(one.text or "") * 0.602 * size
            assert size >= 1.6  # legible in print
            if one.get("transform"):
                assert y - long > 0 and y < high
            else:
                assert x + long < 210 and y < high


@pytest.mark.parametrize("pitch_mm", [3.5, 5.08, 7.5])
def test_labels_are_to_scale_and_none_is_missing(pitch_mm: float) -> None:
    found = wire(compiled(CONFIG / "three-trains-pairs.yaml").layout)
    root = ET.fromstring(labels_svg(found, pitch_mm))
    texts = {one.text or "": one for one in root.iter(f"{SVG}text")}
    for one in found.terminals:
        assert any(text == one.terminal or text.startswith(f"{one.terminal} = ") for text in texts), one
    first, second = (
        float(texts[f"sensor {n} = {name}"].get("x", "0")) for n, name in ((1, "N1a"), (2, "N1b"))
    )
    assert second - first == pytest.approx(pitch_mm, abs=0.02)
    cut = [box for box in root.iter(f"{SVG}rect") if box.get("stroke-dasharray")]
    assert float(cut[0].get("width", "0")) == pytest.approx(10 * pitch_mm, abs=0.02)
    assert "coil 2 = exit to B" in texts and "GPIO 1 (pin 2)" in texts


def test_the_commands(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    layout = str(CONFIG / "three-trains-pairs.yaml")
    card, labels = tmp_path / "card.svg", tmp_path / "labels.svg"
    assert main(["explain", layout, "--card", str(card)]) == 0
    assert "20 blink codes" in capsys.readouterr().out
    assert main(["explain", layout, "--card", str(card), "--json"]) == 0
    assert {"kind": 1, "number": 2, "means": "magnet at rest on a sensor", "name": "N1b"} in json.loads(
        capsys.readouterr().out
    )["codes"]
    assert main(["wiring", layout, "--labels", str(labels), "--pitch", "3.81", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["labels"]["sensor 1"] == "sensor 1 = N1a GPIO 12 (pin 16)"
    assert card.read_text() and labels.read_text()
    assert main(["wiring", layout, "--labels", str(labels), "--pitch", "2"]) == 1
    assert "3.5 to 15 mm apart" in capsys.readouterr().err
    assert main(["explain", layout, "--card", str(tmp_path / "none" / "card.svg")]) == 1
    assert "cannot be written" in capsys.readouterr().err
