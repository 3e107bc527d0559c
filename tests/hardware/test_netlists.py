"""Each driver's netlist: suppression of every coil, pull-down of every gate, nothing above 3.3 V to a pin."""

from __future__ import annotations

import copy

import numpy
import pytest

from hardware.netlist import BY_NAME, COILS, HARDWARE, PINS, Circuit, ohm

ALL = list(BY_NAME.values())
PIN_V = 3.3
# RP2040 data sheet, digital IO: at reset a pin is an input with a pull-down of 50 to 80 kohm.
RESET_PULL_DOWN_OHM = (50e3, 80e3)
GATE_OFF_V = 0.4  # least threshold of MOSFETs that are fully on at 2.5 V; common value of data sheets
GATE_PULL_OHM_MAX = 100e3


def coil_faults(circuit: Circuit) -> list[str]:
    """Every coil has its suppression of the right kind."""
    faults = []
    for name, coil in circuit.of_kind(*COILS):
        high, low = circuit.nets(coil)
        diodes = [circuit.nets(part) for _, part in circuit.of_kind("diode")]
        clamps = [set(circuit.nets(part)) for _, part in circuit.of_kind("two-way clamp")]
        if coil["is"] == "dc coil":
            if [low, high] not in diodes:
                faults.append(f"{name}: no diode from its low side to its supply")
            if [high, low] in diodes:
                faults.append(f"{name}: a diode shorts the supply")
        else:
            if {high, low} not in clamps:
                faults.append(f"{name}: no two-way clamp across it")
            if [low, high] in diodes or [high, low] in diodes:
                faults.append(f"{name}: a diode shorts every other half wave")
    return faults


def gate_faults(circuit: Circuit) -> list[str]:
    """Every gate is pulled to its source, so that the transistor is off while nothing drives it."""
    faults = []
    for name, part in circuit.of_kind("n-mosfet", "p-mosfet"):
        gate, _, source = circuit.nets(part)
        pulls = circuit.resistors(gate, source)
        if not pulls or min(pulls) > GATE_PULL_OHM_MAX:
            faults.append(f"{name}: its gate is not pulled to its source")
        if part["is"] == "n-mosfet" and circuit.rails.get(source) != 0:
            faults.append(f"{name}: its source is not on ground")
    return faults


def pin_faults(circuit: Circuit) -> list[str]:
    """No pin is joined to more than 3.3 V by anything that conducts."""
    faults = []
    for pin in circuit.gpio:
        for rail in reached(circuit, pin):
            if circuit.rails[rail] > PIN_V:
                faults.append(f"{pin}: joined to {rail}")
    return faults


def reached(circuit: Circuit, pin: str) -> set[str]:
    """Rails that a current can flow from to the pin through resistors, contacts, fuses, coils, diodes."""
    two_way = ("resistor", "contact", "fuse", "train", *COILS)
    waiting, seen, rails = [pin], {pin}, set()
    while waiting:
        net = waiting.pop()
        if net in circuit.rails:
            rails.add(net)
            continue  # a rail holds its voltage: no further
        for _, part in circuit.parts.items():
            nets = circuit.nets(part)
            following = []
            if part["is"] in two_way and net in nets:
                following = nets
            elif part["is"] == "diode" and nets[1] == net:
                following = nets[:1]
            elif part["is"] in ("n-mosfet", "p-mosfet") and net in nets[1:]:
                following = nets[1:]  # when on, drain and source are one
            waiting += [other for other in following if other not in seen]
            seen.update(following)
    return rails


def gate_volts(circuit: Circuit, pull_down_ohm: float) -> dict[str, float]:
    """Gate-to-source volts of every transistor with all output pins let go, as a resistor network."""
    nets = sorted({net for part in circuit.parts.values() for net in circuit.nets(part)} - set(circuit.rails))
    index = {net: number for number, net in enumerate(nets)}
    matrix = numpy.eye(len(nets)) * 1e-12  # a net on which nothing hangs floats at 0
    right = numpy.zeros(len(nets))

    def conduct(one: str, other: str, siemens: float) -> None:
        for here, there in ((one, other), (other, one)):
            if here in index:
                matrix[index[here], index[here]] += siemens
                if there in index:
                    matrix[index[here], index[there]] -= siemens
                else:
                    right[index[here]] += siemens * circuit.rails[there]

    for _, part in circuit.of_kind("resistor"):
        conduct(*circuit.nets(part), 1 / ohm(part))
    for pin, direction in circuit.gpio.items():
        if direction == "output" and pin in index:
            matrix[index[pin], index[pin]] += 1 / pull_down_ohm
    solved = numpy.linalg.solve(matrix, right)
    volts = {**circuit.rails, **{net: float(solved[number]) for net, number in index.items()}}
    return {
        name: volts[circuit.nets(part)[0]] - volts[circuit.nets(part)[2]]
        for name, part in circuit.of_kind("n-mosfet", "p-mosfet")
    }


@pytest.mark.parametrize("circuit", ALL, ids=lambda circuit: circuit.name)
def test_the_netlist_is_whole(circuit):
    for name, part in circuit.parts.items():
        allowed = {"is", "value", "of", *PINS[part["is"]]}
        assert set(part) <= allowed, name
        for net in circuit.nets(part):
            lone = len(circuit.on_net(net)) == 1 and net not in circuit.rails and net not in circuit.gpio
            assert not lone or net == "armed supply +" or net.endswith(" rail"), f"{net} hangs on {name} only"
        if part.get("of"):
            assert circuit.parts[part["of"]]["is"] in COILS
    for net in (*circuit.gpio, *circuit.rails):
        assert circuit.on_net(net), f"{net} is not used"


@pytest.mark.parametrize("circuit", ALL, ids=lambda circuit: circuit.name)
def test_coils_gates_and_pins(circuit):
    assert coil_faults(circuit) + gate_faults(circuit) + pin_faults(circuit) == []


@pytest.mark.parametrize("circuit", ALL, ids=lambda circuit: circuit.name)
@pytest.mark.parametrize("pull_down_ohm", RESET_PULL_DOWN_OHM)
def test_every_output_is_off_at_reset(circuit, pull_down_ohm):
    for name, volts in gate_volts(circuit, pull_down_ohm).items():
        assert abs(volts) < GATE_OFF_V, (name, volts)


def test_every_output_of_the_board_has_a_netlist():
    assert {circuit.drives for circuit in ALL} >= {"coil", "feed", "supply", "lamps"}
    assert len(ALL) >= 10


def test_every_throttle_and_turnout_feed_has_a_fuse():
    for circuit in ALL:
        for _, part in circuit.of_kind("contact"):
            for net in circuit.nets(part):
                live = (
                    circuit.rails.get(net, 0) > PIN_V
                    and net not in ("bank +", "armed supply +")
                    and "detector" not in net
                )
                assert not live, f"{circuit.name}: a contact straight on {net}, without a fuse"


@pytest.mark.parametrize("circuit", ALL, ids=lambda circuit: circuit.name)
def test_the_drawing_shows_every_part(circuit):
    drawing = HARDWARE / "schematics" / f"{circuit.name}.svg"
    text = drawing.read_text(encoding="utf-8")
    for name, part in circuit.parts.items():
        assert f">{name}" in text, f"{name} is not in {drawing.name}"
        if "value" in part:
            assert f">{name} {part['value']}<" in text, f"{name} in {drawing.name} has another value"


def spoiled(name: str) -> Circuit:
    return copy.deepcopy(BY_NAME[name])


def test_the_checks_see_faults():
    bad = spoiled("coil-transistor")
    del bad.parts["D1"]
    assert coil_faults(bad) == ["L1: no diode from its low side to its supply"]
    bad = spoiled("coil-transistor")
    bad.parts["D1"].update(anode="bank +", cathode="coil low")
    assert len(coil_faults(bad)) == 2
    bad = spoiled("coil-relay")
    bad.parts["V1"] = {"is": "diode", "anode": "AC common", "cathode": "turnout hot"}
    assert len(coil_faults(bad)) == 2
    bad = spoiled("coil-transistor")
    del bad.parts["R2"]
    assert gate_faults(bad) == ["Q1: its gate is not pulled to its source"]
    bad = spoiled("sensor-contact")
    bad.rails["3.3 V"] = 5.0
    assert pin_faults(bad) == ["sensor pin: joined to 3.3 V"]
    bad = spoiled("coil-transistor")
    bad.parts["D9"] = {"is": "diode", "anode": "coil low", "cathode": "gate"}
    assert pin_faults(bad) == ["coil pin: joined to bank +"]


def test_an_active_low_relay_board_would_not_be_off():
    """Why boards with inputs that pull in when low are not used: their weak pull-ups lose at reset."""
    bad = spoiled("feed-relay")
    bad.parts["R2"] = {"is": "resistor", "value": "100 kohm", "between": ["5 V", "gate"]}
    assert gate_volts(bad, 50e3)["Q1"] > GATE_OFF_V
    assert pin_faults(bad) == ["feed pin: joined to 5 V"]
