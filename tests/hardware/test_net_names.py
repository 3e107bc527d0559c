"""Wires of one name may be joined: one name for each net over all circuits, none past the arm switch."""

from __future__ import annotations

import re

import pytest

from hardware.netlist import BY_NAME, HARDWARE, Circuit
from hardware.test_drawings import texts

ALL = list(BY_NAME.values())
# Nets that circuits hand on to each other: the one circuit that makes each, None where it comes from outside.
HANDED_ON = {
    "supply +": None,
    "fused supply +": "arm-line",
    "armed supply +": "arm-line",
    "bank +": "bank",
    "held": "arm-line",
    "throttle live": None,
    "track live": "track-feed-chain",
}
WHOLE = "coil-supply"  # the drawing of the whole shows them all once more
# The whole as its circuits: part of the circuit -> part of the whole, and what its own nets are called there.
COMPOSED: list[tuple[str, dict[str, str], dict[str, str]]] = [
    ("arm-line", {}, {}),
    ("bank", {"R1": "R4", "C1": "C3", "R2": "R5"}, {}),
    *(
        (
            "coil-transistor",
            dict(zip(("R1", "R2", "Q1", "L1", "D1"), names, strict=True)),
            {"coil pin": f"coil {number} pin", "gate": f"gate {number}", "coil low": f"coil {number} low"},
        )
        for number, names in ((1, ("R6", "R7", "Q3", "L1", "D3")), (2, ("R8", "R9", "Q4", "L2", "D4")))
    ),
]


def joined(*names: str) -> dict[str, list[str]]:
    """Part -> its nets, of several circuits soldered together by the names of their ends."""
    parts = {}
    for name in names:
        circuit = BY_NAME[name]
        shared = {*circuit.rails, *HANDED_ON}
        for part, what in circuit.parts.items():
            parts[f"{name} {part}"] = [
                net if net in shared else f"{name} {net}" for net in circuit.nets(what)
            ]
    return parts


def reach(parts: dict[str, list[str]], start: str) -> set[str]:
    """Nets that hang on a net by any part, ground left out."""
    seen, waiting = {start}, [start]
    while waiting:
        net = waiting.pop()
        for nets in parts.values():
            if net in nets:
                fresh = set(nets) - seen - {"ground"}
                seen |= fresh
                waiting += fresh
    return seen


@pytest.mark.parametrize("circuit", ALL, ids=lambda circuit: circuit.name)
def test_a_net_that_is_handed_on_is_made_by_one_circuit(circuit: Circuit) -> None:
    for net, maker in HANDED_ON.items():
        makes = bool(circuit.on_net(net)) and net not in circuit.rails and net not in ("supply +",)
        shows_again = circuit.name == WHOLE or (circuit.name, net) == ("hand-changeover", "track live")
        if makes and not shows_again:
            assert circuit.name == maker or net == "held", f"{circuit.name} has {net} as a net of its own"


def test_a_rail_has_one_voltage_wherever_it_is_named() -> None:
    volts: dict[str, float] = {}
    for circuit in ALL:
        for rail, value in circuit.rails.items():
            assert volts.setdefault(rail, value) == value, f"{rail} in {circuit.name}"


@pytest.mark.parametrize("driver", ["coil-transistor", "hand-changeover"])
def test_the_way_to_the_coils_leads_through_fuse_arm_switch_and_charging_resistor(driver: str) -> None:
    """Soldered by their names, with any of the three taken out the coils have no plus."""
    parts = joined("arm-line", "bank", driver)
    hangs = {
        part: nets for part, nets in parts.items() if part != "arm-line Q1"
    }  # its drain is a pull, no feed
    assert "bank +" in reach(hangs, "supply +")
    for gone in ("arm-line F1", "arm-line Q2", "bank R1"):
        assert "bank +" not in reach({k: v for k, v in hangs.items() if k != gone}, "supply +"), gone


def test_no_way_from_the_throttle_to_a_block_leads_past_the_track_feed() -> None:
    """The chain as drawn, and one more block soldered to it by the names of its wires."""
    parts = joined("track-feed-chain", "feed-relay")
    drivers = {name for name in parts if re.search(r" [RQDL]\d", name)}  # their common ground is no feed
    path = {part: nets for part, nets in parts.items() if part not in drivers}
    rails = {"track-feed-chain block 1 rail", "track-feed-chain block 2 rail", "feed-relay block rail"}
    assert rails <= reach(path, "throttle live")
    for gone, left in (("track-feed-chain K1", set()), ("feed-relay F1", rails - {"feed-relay block rail"})):
        reached = reach({k: v for k, v in path.items() if k != gone}, "throttle live")
        assert reached & rails == left, gone


@pytest.mark.parametrize(
    ("closed", "fed"),
    [((), False), (("S3",), False), (("S4",), False), (("S3", "S4"), True), (("K1", "K2"), True)],
)
def test_by_hand_a_block_is_fed_past_both_relays(closed: tuple[str, ...], fed: bool) -> None:
    circuit = BY_NAME["hand-changeover"]
    path = {
        name: circuit.nets(part)
        for name, part in circuit.parts.items()
        if part["is"] == "fuse" or name in closed
    }
    assert ("block rail" in reach(path, "throttle live")) is fed


def test_the_drawing_of_the_whole_is_its_circuits_joined() -> None:
    expected = {}
    for name, renamed, nets in COMPOSED:
        for part, what in BY_NAME[name].parts.items():
            kept = {pin: _renamed(value, nets) for pin, value in what.items()}
            expected[renamed.get(part, part)] = kept
    assert BY_NAME[WHOLE].parts == expected


def _renamed(value: object, nets: dict[str, str]) -> object:
    if isinstance(value, list):
        return [nets.get(one, one) for one in value]
    return nets.get(value, value) if isinstance(value, str) else value


@pytest.mark.parametrize("name", BY_NAME)
def test_a_drawing_labels_its_ends_with_the_names_of_its_nets(name: str) -> None:
    circuit = BY_NAME[name]
    nets = {net for part in circuit.parts.values() for net in circuit.nets(part)}
    inside = {
        "out",
        "in",
        "ground",
        "not enable",
        "not clear",
        "data",
        "clock",
        "latch",
    }  # pins of a chip, on the chip
    inside |= {"spare inputs", "serial", "clock inhibit", *"GDS"}
    for words, *_ in texts(name)[0]:
        is_part = re.match(r"[A-Z]\d+\b", words) and words.split()[0] in circuit.parts
        words = re.sub(r"^\d+ (?=VSYS|RUN|3.3 V|ground)", "", words)  # the number of a pin of the board
        assert is_part or words in nets | inside | {"long wire", "+"}, f"{name}: {words!r} is no net of it"


def test_every_circuit_is_drawn() -> None:
    assert {path.stem for path in (HARDWARE / "schematics").glob("*.svg")} == set(BY_NAME)
