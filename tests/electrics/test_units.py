"""Values with units in the layout file: right ones become numbers, wrong ones complaints with their line."""

import pytest

from electrics import made
from reedway.electrics import units
from reedway.electrics.fuses import Fuse
from reedway.electrics.keys import SECTIONS
from reedway.layout.values import default_of, read
from reedway.layout.yamltext import Scalar
from reedway.problems import LayoutError

OHM = ("ohm", "0.1 ohm", "10 kohm")


@pytest.mark.parametrize(
    ("words", "text", "value"),
    [
        (OHM, "4.5 ohm", 4.5),
        (OHM, "4.5 Ω", 4.5),
        (OHM, "4.7kohm", 4700),
        (("uF", "1 uF", "1000000 uF"), "4700 µF", 4700),
        (("uF", "1 uF", "1000000 uF"), "4.7 mF", 4700),
        (("mm", "0.1 mm", "1 m"), "1.5 cm", 15),
        (("°C", "-30 °C", "70 °C"), "-5 °C", -5),
        (("mT", "0.1 mT", "100 mT"), "30 G", 3),
        (("m/s", "1 mm/s", "3 m/s"), "20 cm/s", 0.2),
    ],
)
def test_amounts(words, text, value):
    assert units.parse(units.AMOUNT, words, "", text) == pytest.approx(value)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("4.5", "has no unit; units are ohm"),
        ("4.5 V", "is a voltage, not a resistance"),
        ("4.5 furlong", "the unit 'furlong', which is not known"),
        ("4,5 ohm", "a point, not a comma"),
        ("warm", "is not a resistance"),
        ("0.01 ohm", "out of range; allowed are 0.1 ohm to 10 kohm"),
        ("20 kohm", "out of range"),
        ("nan ohm", "is not a resistance"),
        ("1e3 ohm", "is not a resistance"),
    ],
)
def test_wrong_amounts(text, says):
    with pytest.raises(units.NotAnAmount, match=says):
        units.parse(units.AMOUNT, OHM, "4.5 ohm", text)


def test_other_kinds():
    span = ("mT", "0.1 mT", "100 mT")
    assert units.parse(units.SPAN, span, "", "1.5 mT to 3 mT") == (1.5, 3)
    assert units.parse(units.SPAN, span, "", "2 mT") == (2, 2)
    size = ("mm", "0.5 mm", "200 mm")
    assert units.parse(units.SIZE, size, "", "6 x 20 mm") == (6, 20)
    assert units.parse(units.SIZE, size, "", "2 × 1 x 0.5 cm") == (20, 10, 5)
    assert units.parse(units.GAUGE, (), "", "0.5 mm²") == 0.5
    assert units.parse(units.GAUGE, (), "", "24 AWG") == pytest.approx(0.2047, abs=1e-4)
    assert units.parse(units.FUSE, (), "", "T 1 A") == Fuse("T", 1.0)
    assert units.parse(units.FUSE, (), "", "F 500 mA") == Fuse("F", 0.5)


@pytest.mark.parametrize(
    ("kind", "text", "says"),
    [
        (units.SPAN, "3 mT to 1 mT", "goes down"),
        (units.SIZE, "6 mm", "is no size"),
        (units.GAUGE, "0.5 mm", "no wire gauge"),
        (units.GAUGE, "50 AWG", "10 AWG to 34 AWG"),
        (units.GAUGE, "10 mm2", "out of range"),
        (units.FUSE, "1 A", "is no fuse"),
        (units.FUSE, "Q 1 A", "is no fuse"),
        (units.FUSE, "T 20 A", "no sheet"),
    ],
)
def test_wrong_other_kinds(kind, text, says):
    with pytest.raises(units.NotAnAmount, match=says):
        units.parse(kind, ("mT", "0.1 mT", "100 mT"), "6 x 20 mm", text)


def test_every_key_takes_its_example_and_its_default():
    seen = 0
    for section in SECTIONS:
        for key in section.keys:
            if key.kind in units.KINDS:
                read(key, Scalar(key.example, 1))
                default_of(key)
                seen += 1
    assert seen > 40


def test_wrong_units_are_complaints_with_their_lines():
    text = made.section(
        coil="{resistance: 4.5 V, copper: 14}", magnet="{shape: ball, size: 6 mm, height: 6 s}"
    )
    with pytest.raises(LayoutError) as error:
        made.layout(text)
    found = error.value.complaints
    lines = (made.source_of("two-trains") + text).splitlines()
    for complaint in found:
        assert any(part in lines[complaint.line - 1] for part in ("point coil", "head magnet")), str(
            complaint
        )
    said = "\n".join(complaint.message for complaint in found)
    for words in ("is a voltage", "has no unit", "'ball'", "is no size", "'6 s' has the unit 's'"):
        assert words in said


def test_unknown_names_and_sections_are_complaints():
    text = made.section(coil="{resistance: 4.5 ohm, in: [exitt]}") + "  magnet: {}\n"
    with pytest.raises(LayoutError, match="did you mean magnets"):
        made.layout(text)
    with pytest.raises(LayoutError, match="did you mean exit"):
        made.layout(made.section(coil="{resistance: 4.5 ohm, in: [exitt]}"))


@pytest.mark.parametrize(
    ("value", "text"),
    [(1.684, "1.68 V"), (0.000406, "0.000406 V"), (1367.2, "1367 V"), (0, "0 V"), (10, "10 V")],
)
def test_shown(value, text):
    assert units.shown(value, "V") == text


def test_shown_without_end():
    assert units.shown(float("inf"), "s") == "without end"
