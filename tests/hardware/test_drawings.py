"""The schematics can be read: no text lies on another, none leaves the picture."""

from __future__ import annotations

import re
from itertools import combinations
from xml.etree import ElementTree

import pytest

from hardware.netlist import BY_NAME, HARDWARE, PINS

SVG = "{http://www.w3.org/2000/svg}"
LETTER_EM = 0.6  # mean width of a letter of a common sans-serif, rounded up


def texts(name: str) -> tuple[list[tuple[str, float, float, float, float]], list[float]]:
    """(words, left, top, right, bottom) of every text, and the picture's left, top, width, height."""
    root = ElementTree.parse(HARDWARE / "schematics" / f"{name}.svg").getroot()
    frame = [float(value) for value in (root.get("viewBox") or "").split()]
    found = []
    for node in root.iter(f"{SVG}text"):
        words = "".join(node.itertext()).strip()
        style = {**dict(node.attrib), **dict(re.findall(r"([\w-]+):\s*([^;]+)", node.get("style") or ""))}
        size = float(re.sub(r"[^\d.]", "", style.get("font-size", "11")) or 11)
        x, y = float(node.get("x") or 0), float(node.get("y") or 0)
        wide = len(words) * size * LETTER_EM
        left = {"middle": x - wide / 2, "end": x - wide}.get(style.get("text-anchor", "start"), x)
        found.append((words, left, y - size * 0.8, left + wide, y + size * 0.2))
    return found, frame


@pytest.mark.parametrize("name", BY_NAME)
def test_every_pin_of_a_register_is_drawn(name):
    """But its supply and ground, which every chip has; `output` and `input` are one of eight."""
    short = {"output": "out", "input": "in"}
    drawn = {words for words, *_ in texts(name)[0]}
    for _, part in BY_NAME[name].of_kind("register out", "register in"):
        pins = {short.get(pin, pin) for pin in PINS[part["is"]]} - {"supply", "ground"}
        assert pins <= drawn, pins - drawn


@pytest.mark.parametrize("name", BY_NAME)
def test_no_text_lies_on_another(name):
    found, (x, y, wide, high) = texts(name)
    assert len(found) >= len(BY_NAME[name].parts)
    for words, left, top, right, bottom in found:
        assert x <= left and right <= x + wide and y <= top and bottom <= y + high, words
    for one, other in combinations(found, 2):
        apart = one[3] <= other[1] or other[3] <= one[1] or one[4] <= other[2] or other[4] <= one[2]
        assert apart, (one, other)
