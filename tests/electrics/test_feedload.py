"""What each feed carries, the fuses that are missing, and the load on the board's 3.3 V."""

from __future__ import annotations

import pytest
import yaml

from electrics import made
from hardware import computed
from hardware.netlist import BY_NAME, ohm
from reedway.electrics import feedload, fuses, rail, wirechecks, wiring
from reedway.layout.load import load_bytes


def advised(text: str) -> list[str]:
    return feedload.advice(load_bytes("made.yaml", text.encode()))


def lines_to_add(found: list[str]) -> str:
    start = next(number for number, line in enumerate(found) if line.startswith("add to the layout file"))
    return "\n".join(line[2:] for line in found[start + 1 :]) + "\n"


@pytest.mark.parametrize("example", ["two-trains", "three-trains-interlocked", "three-trains-pairs"])
def test_the_lines_that_are_told_give_every_feed_its_fuse(example: str) -> None:
    bare = made.source_of(example)
    found = advised(bare)
    assert any(line.startswith("the track feed: no fuse described; for all ") for line in found)
    added = bare + lines_to_add(found)
    assert advised(added) == []
    layout = load_bytes("made.yaml", added.encode())
    assert not [one for one in wirechecks.Checks(layout).run().warned if "fuse" in one.message]
    trains = max(len(start.trains_at) for start in layout.starts)
    part = yaml.safe_load(added)["electrics"]["feed_parts"]["all rails"]
    assert float(part["fuse"].split()[1]) >= trains * float(part["current"].split()[0])


def test_where_only_the_fuse_is_missing_its_place_is_told() -> None:
    text = made.source_of("three-trains-interlocked") + made.section(feed="{current: 0.4 A}")
    found = advised(text)
    line = 1 + text.splitlines().index("    rail feed: {current: 0.4 A}")
    place = f"add `fuse: T 0.5 A` to rail feed (line {line})"
    assert f"block Mill: no fuse described; for one train, 0.4 A: T 0.5 A; {place}" in found
    assert any("for all 3 trains, 0.4 A each: T 1.6 A" in one for one in found)
    assert not any(one.startswith("add to") for one in found)


def test_wiring_is_not_silent() -> None:
    bare = load_bytes("made.yaml", made.source_of("three-trains-pairs").encode())
    said = "\n".join(wiring.text(wiring.wire(bare)))
    assert "fuses that the file does not give" in said
    assert "all rails: {current: 1 A, fuse: T 4 A, cable: 3 m}" in said
    described = made.layout(made.section(feed=made.FEED))
    assert wiring.wire(described).unfused == []
    assert "does not give" not in "\n".join(wiring.text(wiring.wire(described)))


def test_the_usual_fuses_are_those_of_the_sheet_and_hold_their_load() -> None:
    for rating in feedload.USUAL_A:
        assert fuses.Fuse("T", rating).kind().source.startswith("IEC 60127-2 sheet 3")
        assert fuses.Fuse("T", rating).holds_for_s(rating / feedload.MARGIN) == float("inf")
    assert feedload.usual_fuse(1.0) == "T 1.25 A"
    assert feedload.usual_fuse(6.0) is None


def test_a_coil_or_a_feed_is_not_told_to_have_thin_wires() -> None:
    said = wiring.text(wiring.wire(load_bytes("made.yaml", made.source_of("two-trains").encode())))
    thin = next(line for line in said if "thin pairs do" in line)
    assert "turnout" not in thin and "track feed" not in thin
    assert any("turnout exit to A" in line and "0.5 mm2 or more" in line for line in said)


def test_the_track_feeds_relay_and_switch_bear_all_trains() -> None:
    listed = wiring.wire(made.layout(made.section(feed=made.FEED), "three-trains-interlocked")).parts
    relays = {part.rating: part.count for part in listed if part.what == "relay for a feed"}
    assert relays == {"normally open, 2 A, 5 V coil": 3, "normally open, 6 A, 5 V coil": 1}
    assert any((part.what, part.rating) == ("track switch", "on and off, 6 A") for part in listed)


def test_the_load_on_the_boards_supply_is_that_of_its_circuits() -> None:
    assert ohm(BY_NAME["sensor-contact"].parts["R1"]) == rail.INPUT_OHM
    assert ohm(BY_NAME["panel"].parts["R1"]) == ohm(BY_NAME["lamps"].parts["R1"]) == rail.PANEL_OHM
    assert ohm(BY_NAME["lamps"].parts["R2"]) == rail.LED_OHM
    found = wiring.wire(made.layout())
    # two sensors and a contact on a register, 3.3 V / 2.2 kohm; 5 on the panel and the lamps' enable,
    # 3.3 V / 10 kohm; 5 lamps, 1.3 V / 470 ohm; two registers
    by_hand = 3 * 1.5 + (5 + 1) * 0.33 + 5 * 1.3 / 0.47 + 2 * 0.16
    assert rail.rail_ma(found.rail) == pytest.approx(by_hand, abs=0.1)
    said = next(line for line in wiring.text(found) if line.startswith("3.3 V of the board"))
    assert ": at most 21 mA of the 300 mA that it may give: 3 inputs closed 4.5 mA, " in said
    assert wiring.as_json(found)["rail_3v3_ma"] == {"most": rail.rail_ma(found.rail), "allowed": 300}


def test_the_largest_layout_stays_below_what_the_pin_may_give() -> None:
    """26 inputs, all of them Hall sensors, 30 lamps and 24 contacts that all have the circuit of a sensor."""
    # 26 of 4 mA; 50 pull-ups of 2.2 kohm; 30 lamps; the lamps' enable; 4 and 3 registers
    by_hand = 26 * 4 + 50 * 1.5 + 30 * 1.3 / 0.47 + 0.33 + 7 * 0.16
    assert computed.rail_most() == pytest.approx(by_hand, abs=0.1)
    assert computed.rail_most() < rail.RAIL_MA_MAX
