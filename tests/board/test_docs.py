"""The pages of hardware/ that rest on this folder: their layouts compile, the tests they name exist."""

import re
from pathlib import Path

import pytest

from reedlogic.words import R_EDGE
from reedway.boardfile.compile import compile_layout
from reedway.layout.load import load_bytes
from reedway.replay.runner import BEGIN, UNTIL, Runner

ROOT = Path(__file__).parents[2]
HARDWARE = ROOT / "hardware"


def yaml_of(page: str) -> str:
    found = re.findall(r"```yaml\n(.*?)```", (HARDWARE / page).read_text(encoding="utf-8"), re.S)
    assert len(found) == 1
    return str(found[0])


def test_first_wiring_compiles_and_its_table_of_pins_is_right() -> None:
    pins = compile_layout(load_bytes("first.yaml", yaml_of("first-wiring.md").encode())).pins
    text = (HARDWARE / "first-wiring.md").read_text(encoding="utf-8")
    table = dict(
        re.findall(r"^\|[^|]*\| ([a-z]+ ?[a-z]*(?: \d)?(?:, [a-z]+ \d)*) \| ([\d, ]+) \|", text, re.M)
    )
    told = {
        name: int(gpio)
        for names, numbers in table.items()
        for name, gpio in zip(names.split(", "), numbers.split(", "), strict=True)
    }
    assert told == {row.terminal: row.where for row in pins}


def test_the_worked_example_of_the_upgrade_compiles() -> None:
    source = yaml_of("upgrade.md")
    compiled = compile_layout(load_bytes("upgrade.yaml", source.encode()))
    assert [relay.name for relay in compiled.layout.relays] == ["OUT", "TWO OUT"]


WAYS = (
    "hangs exception break-in soft-reset state-machine clock flash USB cable watchdog brown-out floating "
    "boot.py board-file shorted welded button throw-themselves"
)


def failsafe_rows() -> list[list[str]]:
    """Cells of the table of ways."""
    text = (HARDWARE / "failsafe.md").read_text(encoding="utf-8").split("## The table")[1].split("## ")[0]
    rows = [line for line in text.splitlines() if line.startswith("|")][2:]
    return [[cell.strip() for cell in row.strip("|").split("|")] for row in rows]


def test_every_row_of_failsafe_names_a_test_that_is_there_or_says_none() -> None:
    there = set()
    for path in (ROOT / "tests").rglob("test_*.py"):
        there |= set(re.findall(r"^def (test_\w+)", path.read_text(encoding="utf-8"), re.M))
    tiers = {"board", "chip", "pio", "host", "circuit", "reasoned"}
    for way, covered, tried, tier in failsafe_rows():
        named = re.findall(r"`(test_\w+)`", tried)
        assert named or tried.startswith("none"), way
        assert set(named) <= there, way
        assert covered, way
        assert set(tier.split("; ")) <= tiers or (not tier and "nothing here" in covered), way
        assert tier not in ("chip", "pio", "host") or named, way


@pytest.mark.parametrize("word", WAYS.split())
def test_every_way_that_is_known_has_its_row(word: str) -> None:
    assert any(word.replace("-", " ") in row[0].replace("-", " ") for row in failsafe_rows()), word


def test_what_was_seen_on_the_emulated_chip_names_the_emulator() -> None:
    text = (HARDWARE / "failsafe.md").read_text(encoding="utf-8")
    assert "rp2040py" in text and "does not model" in text
    assert len(text.split("## Seen")[1].split("## ")[0].splitlines()) > 8


@pytest.mark.parametrize("page", ["failsafe.md", "first-wiring.md", "upgrade.md", "show-day.md"])
def test_links_between_the_pages_lead_somewhere(page: str) -> None:
    links = re.findall(r"\]\(([^)]+)\)", (HARDWARE / page).read_text(encoding="utf-8"))
    assert links
    for link in links:
        assert (HARDWARE / link).exists(), link


def test_first_wiring_can_start_its_train_and_stops_it_again() -> None:
    """Start, the button, N1, N2: the block goes by hand, and stops at the second sensor."""
    compiled = compile_layout(load_bytes("first.yaml", yaml_of("first-wiring.md").encode()))
    written: list[str] = []
    runner = Runner(compiled.plan, written.append)
    inputs = compiled.names.inputs
    runner.feed(f"0 {BEGIN} 0 0")

    def press(at_ms: int, name: str) -> None:
        runner.feed(f"{at_ms} {R_EDGE} {inputs.index(name)} 1")
        runner.feed(f"{at_ms + 100} {R_EDGE} {inputs.index(name)} 0")

    feeds = []
    for at_ms, name in ((1000, "start"), (10_000, "let go"), (20_000, "N1"), (30_000, "N2")):
        press(at_ms, name)
        runner.feed(f"{at_ms + 5000} {UNTIL} 0 0")
        runner.serve()
        feeds.append(runner.c.logic.feeds & 1)
    assert feeds == [0, 1, 1, 0]
