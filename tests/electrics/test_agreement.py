"""What the section says must agree; nothing that passes check makes a command fall over."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from electrics import made
from reedway.electrics import coilreport, diagram, limits, wiring
from reedway.electrics.keys import SECTIONS
from reedway.layout import keytypes as kinds
from reedway.layout.keytypes import Key
from reedway.problems import LayoutError


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (made.section(around="{slowest: 1 m/s, fastest: 0.5 m/s}"), "the slowest train is faster"),
        (made.section(around="{coldest: 40 °C, warmest: 10 °C}"), "coldest is warmer"),
        (made.section(magnet="{shape: block, size: 6 x 20 mm, height: 8 mm}"), "a block has 3 sizes"),
        (
            made.section(magnet="{shape: cylinder, size: 6 x 6 x 20 mm, height: 8 mm}"),
            "a cylinder has 2 sizes",
        ),
        (made.section(sensor="{operates: 2 mT, releases: 3 mT}"), "a sensor releases at less"),
        (
            made.section(sensor="{operates: 2 mT to 4 mT, releases: 1 mT to 5 mT}"),
            "a sensor releases at less",
        ),
        (made.section(sensor="{operates: 2 mT}"), "operates and releases come together"),
        (made.section(sensor="{closes_at: 2 mm}"), "come together; add what is missing"),
        (made.section(coil="{resistance: 8 ohm, ac_current: 3 A}"), "measure both again"),
    ],
)
def test_what_does_not_agree_is_a_complaint(text, words):
    with pytest.raises(LayoutError, match=words) as error:
        made.layout(text)
    line = (made.source_of("two-trains") + text).splitlines()[error.value.complaints[0].line - 1]
    assert any(part in line for part in ("surroundings", "head magnet", "small reed", "point coil"))


def test_one_part_for_each_thing():
    twice = made.section(coil="{resistance: 4 ohm, in: [exit]}").replace(
        "  magnets:", "    other coil: {resistance: 5 ohm, in: [exit, entry]}\n  magnets:"
    )
    with pytest.raises(LayoutError, match="coil part other coil: 'exit' has coil part point coil already"):
        made.layout(twice)
    rest = made.section(coil="{resistance: 4 ohm}").replace(
        "  magnets:", "    other coil: {resistance: 5 ohm}\n  magnets:"
    )
    with pytest.raises(LayoutError, match="all that no other names have"):
        made.layout(rest)


def values(key: Key) -> st.SearchStrategy[str]:
    """Texts for a key: its example, its default and its limits."""
    texts = [key.example, *([key.default] if key.default else [])]
    if key.kind == kinds.CHOICE:
        texts = list(key.words)
    elif key.kind == "value with a unit":
        texts += list(key.words[1:])
    elif key.kind == "value or span":
        texts += [key.words[1], f"{key.words[1]} to {key.words[2]}"]
    elif key.kind == "wire gauge":
        texts += ["0.02 mm2", "34 AWG", "6 mm2"]
    elif key.kind == "fuse":
        texts += ["F 125 mA", "UL 10 A", "F 10 A"]
    elif key.kind == "size":
        texts += ["0.5 x 0.5 mm", "200 x 200 mm", "20 x 10 x 5 mm"]
    return st.sampled_from(texts)


FIXED = {"in": "[exit]", "feeds": "[capacitor]", "measured_with": "part of magnets", "ac_current": "1 mA"}
AROUND = (
    {},
    {"warmest": "70 °C", "coldest": "-30 °C", "slowest": "1 mm/s", "fastest": "3 m/s"},
    {"warmest": "0 °C", "coldest": "0 °C", "slowest": "2 m/s", "fastest": "2 m/s"},
)
POINTS = (
    ("3 mT", "2 mT"),
    ("1 mT to 100 mT", "0.05 mT to 90 mT"),
    ("0.1 mT", "0.1 mT"),
    ("100 mT", "100 mT"),
)


def made_to_agree(draw, name: str, pairs: dict[str, str]) -> None:
    """Keys that the loader wants together, or in order."""
    if name == "surroundings":
        pairs.clear()
        pairs.update(draw(st.sampled_from(AROUND)))
    if name == "coil_parts" and "ac_current" in pairs:
        pairs["ac_voltage"] = "50 V"
    if name == "magnets":
        pairs["size"] = "0.5 x 200 mm" if pairs["shape"] == "cylinder" else "20 x 10 x 5 mm"
    if name == "sensor_parts":
        pairs.pop("of", None)
        if {"operates", "releases"} & set(pairs):
            pairs["operates"], pairs["releases"] = draw(st.sampled_from(POINTS))
        if {"measured_with", "closes_at", "opens_at"} & set(pairs):
            pairs["measured_with"] = "part of magnets"
            pairs["closes_at"], pairs["opens_at"] = draw(
                st.sampled_from((("0 mm", "150 mm"), ("10 mm", "11 mm")))
            )


@st.composite
def sections(draw):
    """An electrics section of any keys, each with a value that the loader takes."""
    lines = ["electrics:"]
    for section in SECTIONS:
        pairs = {}
        for key in section.keys:
            if key.required or draw(st.booleans()):
                pairs[key.name] = FIXED.get(key.name) or draw(values(key))
        made_to_agree(draw, section.name, pairs)
        pairs.pop("meets", None)
        if section.name == "feed_parts":
            pairs.pop("of", None)
        text = "{" + ", ".join(f"{key}: {value}" for key, value in pairs.items()) + "}"
        lines += (
            [f"  {section.name}: {text}"]
            if section.shape == kinds.KEYS
            else [f"  {section.name}:", f"    part of {section.name}: {text}"]
        )
    return "\n".join(lines) + "\n"


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(sections())
def test_nothing_that_loads_makes_a_command_fall_over(text):
    layout = made.layout(text)
    coilreport.text(layout)
    coilreport.as_json(layout)
    found = wiring.wire(layout)
    wiring.text(found)
    assert diagram.drawing(found).endswith("</svg>\n")
    try:
        limits.tighten(layout)
    except LayoutError as error:
        assert "allowed are" in str(error)
