"""Every number with a unit in hardware/ has its source beside it or is computed again here."""

from __future__ import annotations

import re

import pytest

from hardware.computed import VALUES
from hardware.netlist import BY_NAME, HARDWARE

PAGES = (
    "README.md",
    "measuring.md",
    "coil-drivers.md",
    "arm-line.md",
    "sensors.md",
    "track-feeds.md",
    "panel.md",
    "by-hand.md",
    "first-power-up.md",
    "show-day.md",
)
UNITS = "V|mV|A|mA|uA|ms|us|s|ohm|kohm|Mohm|uF|nF|mm|mm2|W|J|°C|Hz|%|K|m/s|H|g|ohm/km|m"
NUMBER = re.compile(rf"(?<![\w.])(?!0 )\d+(?:\.\d+)?(?: to \d+(?:\.\d+)?)? ?(?:{UNITS})(?![\w/])")
MARK = re.compile(r"\[(=?[A-Za-z][A-Za-z0-9-]*)\](?!\()")


def text_of(page: str) -> str:
    return (HARDWARE / page).read_text(encoding="utf-8")


def blocks(page: str) -> list[str]:
    """Paragraphs, list items and rows of tables, each in one line; code blocks left out."""
    found: list[str] = [""]
    for line in text_of(page).split("\n"):
        code = line.startswith("    ") and not found[-1]
        if code or not line.strip():
            found.append("")
        elif not found[-1] or line.lstrip().startswith(("- ", "|", "#", "!", "**")):
            found.append(line)
        else:
            found[-1] += " " + line.strip()
    return [block for block in found if block]


def marks_of_sources() -> set[str]:
    return set(re.findall(r"^\| \[([A-Za-z0-9]+)\]", text_of("sources.md"), re.M))


@pytest.mark.parametrize("page", PAGES)
def test_every_number_has_a_mark(page):
    bare = [
        block
        for block in blocks(page)
        if NUMBER.search(re.sub(r"`[^`]*`", "", block)) and not MARK.search(block)
    ]
    assert bare == []


@pytest.mark.parametrize("page", PAGES)
def test_every_mark_is_known(page):
    known = marks_of_sources() | {f"={name}" for name in VALUES}
    used = set(MARK.findall(text_of(page)))
    assert used <= known, used - known


def test_every_computed_number_is_right():
    seen = set()
    for page in PAGES:
        for block in blocks(page):
            for match in MARK.finditer(block):
                if not match[1].startswith("="):
                    continue
                value, unit, decimals = VALUES[match[1][1:]]
                seen.add(match[1][1:])
                wanted = f"{value:.{decimals}f} {unit}"
                assert wanted in block[: match.start()], f"{page}: {match[0]} is {wanted}: {block}"
    assert seen == set(VALUES)


def test_sources_say_how_sure_they_are():
    rows = [line for line in text_of("sources.md").split("\n") if line.startswith("| [")]
    assert len(rows) > 25
    for row in rows:
        assert row.rstrip(" |").split("| ")[-1].strip() in ("seen", "memory", "practice", "own"), row


def test_every_source_is_used():
    used = {mark for page in PAGES for mark in MARK.findall(text_of(page))}
    assert marks_of_sources() - used == set()


def test_links_and_pictures_are_there():
    for page in PAGES:
        for target in re.findall(r"\]\(([^)#]+)\)", text_of(page)):
            assert (HARDWARE / target).exists(), f"{page}: {target}"


def test_every_netlist_is_on_a_page():
    everything = "".join(text_of(page) for page in PAGES)
    for name in BY_NAME:
        assert f"netlists/{name}.yaml" in everything, name


def test_cautions_stand_where_they_belong():
    for page, words in (
        ("README.md", ("pacemakers", "children", "licensed people", "local code", "burns")),
        ("arm-line.md", ("Caution", "Off, wait, measure, touch")),
        ("track-feeds.md", ("licensed people", "carries mains voltage")),
        ("sensors.md", ("licensed people",)),
        ("first-power-up.md", ("licensed", "bled")),
    ):
        text = " ".join(text_of(page).split())
        for word in words:
            assert word in text, f"{page}: {word}"


def test_a_reader_can_name_what_to_buy_and_in_which_order():
    # Row 0 is measured before anything is bought.
    rows = [line for line in text_of("README.md").split("\n") if re.match(r"\| \d \|", line)]
    assert [int(row.split("|")[1]) for row in rows] == list(range(len(rows)))
    assert all(len([cell for cell in row.split("|") if cell.strip()]) == 4 for row in rows)
    steps = re.findall(r"^## (\d)\.", text_of("first-power-up.md"), re.M)
    assert steps == [str(number) for number in range(1, len(steps) + 1)]
    order = [row.split("|")[4].strip() for row in rows]
    assert order.index("arm-line") < order.index("panel"), "the lamps' enable hangs on the arm line's pump"
    assert text_of("first-power-up.md").index("## 4. Arm line") < text_of("first-power-up.md").index(
        "Panel\n"
    )
    for part in text_of("first-power-up.md").split("\n## ")[1:]:
        if part[0].isdigit():
            assert "**See:**" in part, part.split("\n")[0]
            assert "**If not:**" in part, part.split("\n")[0]
