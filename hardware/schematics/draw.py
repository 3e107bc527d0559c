"""Draws the schematics beside it, values from ../netlists: `pip install schemdraw pyyaml`, then run this."""

from pathlib import Path

import schemdraw
import schemdraw.elements as elm
import yaml

HERE = Path(__file__).parent
schemdraw.use("svg")
schemdraw.config(fontsize=11, unit=2.6, margin=0.7)


values = {}  # of the circuit that is being drawn: part -> "10 kohm"


def word(name):
    """A part's name and its value, as it stands in the drawing."""
    return f"{name} {values[name]}" if values.get(name) else name


def pin(name):
    """A terminal at the left; drawing goes on to its right."""
    return elm.Dot(open=True).label(name, "left")


def rail(name, side="top"):
    return elm.Dot(open=True).label(name, side)


def letters(body, gate="left"):
    """Gate, drain and source of a transistor by their letters."""
    side = -0.12 if gate == "left" else 0.12
    for letter, end, way in (("G", body.gate, 0), ("D", body.drain, -1), ("S", body.source, 1)):
        high = body.drain[1] > body.source[1]
        x = end[0] + (0.3 if way else side)
        y = end[1] + (0.3 if not way else 0.3 * way * (1 if high else -1))
        elm.Label().at((x, y)).label(letter, "center", fontsize=9)


def driver(names, pin_name, x=0, y=0):
    """Pin, gate resistor, pull-down, transistor to ground; returns the drain's place."""
    r_gate, r_pull, transistor = names
    elm.Dot(open=True).at((x, y)).label(pin_name, "left")
    elm.Resistor().right().label(word(r_gate))
    gate = elm.Dot()
    elm.Resistor().down().at(gate.center).label(word(r_pull), "bottom").length(2.2)
    elm.Ground()
    elm.Line().right().at(gate.center).length(1.6)
    body = elm.NFet().reverse().theta(0).anchor("gate").label(transistor, "right", ofst=(0.1, 0))
    elm.Line().down().at(body.source).length(1.2)
    elm.Ground()
    letters(body)
    return body.drain


def load(drain, coil, diode, supply, diode_kind=elm.Diode):
    """Coil from supply to drain, with what takes its surge."""
    elm.Line().up().at(drain).length(0.5)
    low = elm.Dot()
    elm.Inductor2(loops=3).up().at(low.center).label(coil, "top")
    high = elm.Dot()
    elm.Line().right().at(low.center).length(1.8)
    diode_kind().up().label(diode, "bottom")
    elm.Line().left().length(1.8)
    if supply:
        elm.Line().up().at(high.center).length(0.6)
        rail(supply)
    return low, high


def contact_chain(x, y, source, steps):
    """From a source through named steps in a line to the right."""
    elm.Dot(open=True).at((x, y)).label(source, "left")
    for kind, name in steps:
        kind().right().label(name)


def coil_transistor():
    load(driver(("R1", "R2", "Q1"), "coil pin"), "L1", "D1", "bank +")


def coil_relay():
    load(driver(("R1", "R2", "Q1"), "coil pin"), "L1", "D1", "5 V")
    elm.Dot(open=True).at((10.2, 3.2)).label("AC hot", "left")
    elm.Fuse().right().label("F1")
    elm.Switch().right().label("K1 (of L1)")
    hot = elm.Dot()
    elm.Inductor2(loops=3).down().at(hot.center).label("L2", "top")
    common = elm.Dot()
    elm.Line().right().at(hot.center).length(1.8)
    elm.RBox().down().label("V1 two-way clamp", "bottom")
    elm.Line().left().length(1.8)
    elm.Line().left().at(common.center).length(5.2)
    elm.Dot(open=True).label("AC common", "left")


def feed_relay():
    load(driver(("R1", "R2", "Q1"), "feed pin"), "L1", "D1", "5 V")
    elm.Dot(open=True).at((10.6, 3.2)).label("track live", "left")
    elm.Fuse().right().label("F1")
    elm.Switch().right().label("K1 (of L1)")
    elm.Line().right().length(0.6).label("block rail", "top")
    elm.Motor().down().label("M1 train", "bottom")
    elm.Line().left().length(5.8)
    elm.Dot(open=True).label("throttle return", "left")


def relay_on_pin(names, pin_name, x, y):
    """A relay's coil with its driver and diode."""
    drain = driver(names[:3], pin_name, x, y)
    load(drain, names[3], names[4], "5 V")


def track_feed_chain():
    feeds = (
        (("R1", "R2", "Q1", "L1", "D1"), "track feed pin"),
        (("R3", "R4", "Q2", "L2", "D2"), "feed 1 pin"),
        (("R5", "R6", "Q3", "L3", "D3"), "feed 2 pin"),
    )
    for number, (names, pin_name) in enumerate(feeds):
        relay_on_pin(names, pin_name, 9.0 * number, 0)
    elm.Dot(open=True).at((0, 9)).label("throttle live", "left")
    elm.Fuse().right().label("F1")
    elm.Switch().right().label("K1 (of L1)")
    live = elm.Dot().label("track live", "top")
    elm.Line().right().at(live.center).length(3)
    joint = elm.Dot().center
    for number, start in enumerate((joint, (joint[0], joint[1] - 1.6)), 1):
        if number > 1:
            elm.Line().at(joint).to(start)
        elm.Fuse().right().at(start).label(f"F{number + 1}")
        elm.Switch().right().label(f"K{number + 1} (of L{number + 1})")
        elm.Line().right().length(0.6)
        elm.Dot(open=True).label(f"block {number} rail", "right")


def sensor_input(x=0, y=0, clamps=True):
    """Pull-up on the line, series resistor, capacitor and clamps at the pin; starts at the line."""
    line = elm.Dot().at((x, y))
    elm.Resistor().up().at(line.center).label(word("R1"), "top").length(2)
    rail("3.3 V")
    elm.Resistor().right().at(line.center).label(word("R2"))
    node = elm.Dot()
    elm.Capacitor().down().at(node.center).label(word("C1"), "bottom").length(2)
    elm.Ground()
    last = node
    if clamps:
        elm.Line().right().at(node.center).length(2.6)
        last = elm.Dot()
        elm.Diode().up().at(last.center).label("D1", "bottom").length(2)
        rail("3.3 V")
        elm.Diode().up().at((last.center[0], last.center[1] - 2)).label("D2", "bottom").length(2)
        elm.Ground().at((last.center[0], last.center[1] - 2))
    elm.Line().right().at(last.center).length(1.5)
    elm.Dot(open=True).label("sensor pin", "right")


def sensor_contact():
    sensor_input()
    elm.Line().left().at((0, 0)).length(3).label("long wire", "top")
    elm.Switch().down().label("S1 reed", "bottom").length(2)
    elm.Ground()


def sensor_hall():
    sensor_input()
    elm.Line().left().at((0, 0)).length(3.4).label("long wire", "top")
    chip = (
        elm.Ic(
            pins=[
                elm.IcPin(name="out", side="right", slot="2/3", anchorname="out"),
                elm.IcPin(name="3.3 V", side="right", slot="3/3", anchorname="supply"),
                elm.IcPin(name="ground", side="right", slot="1/3", anchorname="ground"),
            ],
            edgepadW=1.2,
        )
        .theta(0)
        .anchor("out")
        .label("U1 Hall", "top")
    )
    elm.Line().right().at(chip.supply).length(0.6)
    elm.Line().up().length(1)
    rail("3.3 V")
    elm.Line().right().at(chip.ground).length(0.6)
    elm.Line().down().length(0.6)
    elm.Ground()
    elm.Dot(open=True).at((chip.supply[0] - 6.4, chip.supply[1] + 0.6)).label("3.3 V", "top")
    elm.Capacitor().down().label(word("C2"), "bottom").length(2)
    elm.Ground()


def detector_opto():
    sensor_input(clamps=False)
    elm.Line().left().at((0, 0)).length(2.2)
    opto = elm.Optocoupler().theta(0).anchor("collector").label("U1", "top")
    elm.Line().down().at(opto.emitter).length(0.5)
    elm.Ground()
    plus = (opto.anode[0] - 1.4, opto.anode[1] + 0.6)
    minus = (plus[0], opto.cathode[1] - 0.6)
    elm.Wire("-|").at(opto.anode).to(plus)
    elm.Wire("-|").at(opto.cathode).to(minus)
    elm.Diode().up().at(minus).to(plus).label("D3", "top")
    elm.Resistor().left().at(plus).label(word("R3"))
    elm.Switch().left().label("S1")
    elm.Dot(open=True).label("detector live", "left")
    elm.Line().left().at(minus).length(5.2)
    elm.Dot(open=True).label("detector return", "left")


def charge_pump(names, x, y):
    """Arm pin, pump capacitor, two diodes, store, bleeder, lower transistor; returns its drain."""
    elm.Dot(open=True).at((x, y)).label("arm pin", "left")
    elm.Capacitor().right().label(word(names["pump"]))
    pump = elm.Dot()
    elm.Diode().up().at((pump.center[0], pump.center[1] - 2)).label(names["low"], "bottom").length(2)
    elm.Ground().at((pump.center[0], pump.center[1] - 2))
    elm.Diode().right().at(pump.center).label(names["over"])
    held = elm.Dot().label("held", "top")
    elm.Capacitor().down().at(held.center).label(word(names["store"]), "bottom").length(2)
    elm.Ground()
    elm.Line().right().at(held.center).length(2.4)
    node = elm.Dot()
    elm.Resistor().down().at(node.center).label(word(names["bleed"]), "bottom").length(2)
    elm.Ground()
    elm.Line().right().at(node.center).length(1.8)
    low = elm.NFet().reverse().theta(0).anchor("gate").label(names["lower"], "right", ofst=(0.1, 0))
    elm.Line().down().at(low.source).length(1.2)
    elm.Ground()
    letters(low)
    return low.drain


def arm_switch(names, drain):
    """Fuse, the P-channel switch above a lower transistor's drain; returns the switch's drain."""
    elm.Resistor().up().at(drain).label(word(names["pull"]), "top").length(2)
    upper = elm.Dot()
    elm.Resistor().up().at(upper.center).label(word(names["hold"]), "top").length(2.4)
    top = elm.Dot().label("fused supply +", "top")
    elm.Fuse().left().at(top.center).label(names["fuse"], "bottom", ofst=0.3).length(3.6)
    elm.Dot(open=True).label("supply +", "left")
    elm.Line().right().at(upper.center).length(1.8)
    high = elm.PFet().reverse().theta(0).anchor("gate").label(names["switch"], "right", ofst=(0.1, 0))
    elm.Line().up().at(high.source).toy(top.center)
    elm.Line().left().tox(top.center)
    letters(high)
    return high.drain


ARM = {
    "pump": "C1",
    "low": "D1",
    "over": "D2",
    "store": "C2",
    "bleed": "R1",
    "lower": "Q1",
    "hold": "R2",
    "pull": "R3",
    "fuse": "F1",
    "switch": "Q2",
}


def arm_line():
    drain = arm_switch(ARM, charge_pump(ARM, 0, 0))
    elm.Line().down().at(drain).length(0.9)
    elm.Dot(open=True).label("armed supply +", "right")


def bank_parts(charge, store, bleed):
    """Charging resistor to the right from here, the bank and its bleeder; returns the bank's upper end."""
    elm.Resistor().right().label(word(charge))
    top = elm.Dot()
    elm.Capacitor(polar=True).down().at(top.center).label(word(store), "bottom")
    elm.Ground()
    elm.Line().right().at(top.center).length(3)
    far = elm.Dot()
    elm.Resistor().down().at(far.center).label(word(bleed), "bottom")
    elm.Ground()
    return far


def bank():
    pin("armed supply +")
    far = bank_parts("R1", "C1", "R2")
    elm.Line().right().at(far.center).length(1.5)
    elm.Dot(open=True).label("bank +", "right")


def coil_supply():
    drain = arm_switch(ARM, charge_pump(ARM, 0, 0))
    elm.Line().down().at(drain).length(0.9)
    armed = elm.Dot()
    elm.Line().right().at(armed.center).length(3.4).label("armed supply +", "top")
    far = bank_parts("R4", "C3", "R5")
    elm.Line().right().at(far.center).length(2).label("bank +", "top")
    end = elm.Dot()
    rail_y = end.center[1] + 2.2
    elm.Line().up().at(end.center).toy(rail_y)
    for number, names in enumerate((("R6", "R7", "Q3", "L1", "D3"), ("R8", "R9", "Q4", "L2", "D4")), 1):
        x = end.center[0] + 3 + 8.5 * (number - 1)
        drain = driver(names[:3], f"coil {number} pin", x, rail_y - 5.4)
        _, high = load(drain, names[3], names[4], None)
        elm.Line().up().at(high.center).toy(rail_y)
        joint = elm.Dot()
        elm.Line().left().at(joint.center).tox(end.center)


def lamps():
    sides = [("lamp data", "left", "3/3"), ("lamp clock", "left", "2/3"), ("lamp latch", "left", "1/3")]
    pins = [
        elm.IcPin(name=name.split()[1], side=side, slot=slot, anchorname=name) for name, side, slot in sides
    ]
    pins.append(elm.IcPin(name="out", side="right", slot="3/3", anchorname="out"))
    pins.append(elm.IcPin(name="not clear", side="right", slot="2/3", anchorname="clear"))
    pins.append(elm.IcPin(name="not enable", side="right", slot="1/3", anchorname="enable"))
    chip = elm.Ic(pins=pins, edgepadW=2.2, edgepadH=0.6).label("U1 8 outputs", "top")
    for name, _, _ in sides:
        signal(chip, name)
    elm.Line().right().at(chip.out).length(0.5)
    elm.Resistor().right().label(word("R2"))
    elm.LED().right().label("D1", "top")
    elm.Ground()
    elm.Line().right().at(chip.clear).length(0.6)
    elm.Dot(open=True).label("3.3 V", "right")
    elm.Line().right().at(chip.enable).length(2)
    off = elm.Dot()
    elm.Resistor().right().at(off.center).label(word("R1"), "top")
    elm.Dot(open=True).label("3.3 V", "right")
    elm.Line().down().at(off.center).length(0.8)
    body = elm.NFet().reverse().theta(0).anchor("drain").label("Q1", "right", ofst=(0.1, 0))
    elm.Ground().at(body.source)
    letters(body)
    elm.Line().left().at(body.gate).length(1.2)
    held = elm.Dot()
    elm.Resistor().down().at(held.center).label(word("R3"), "bottom").length(1.8)
    elm.Ground()
    elm.Line().left().at(held.center).length(1.2)
    elm.Dot(open=True).label("held", "left")
    elm.Dot(open=True).at((10.4, 0)).label("3.3 V", "top")
    elm.Capacitor().down().label(word("C1"), "bottom").length(1.8)
    elm.Ground()


def panel():
    sides = [("panel data", "left", "3/3"), ("panel clock", "left", "2/3"), ("panel latch", "left", "1/3")]
    pins = [
        elm.IcPin(name=name.split()[1], side=side, slot=slot, anchorname=name) for name, side, slot in sides
    ]
    rights = (("in", 4), ("spare inputs", 3), ("serial", 2), ("clock inhibit", 1))
    pins += [
        elm.IcPin(name=name, side="right", slot=f"{slot}/4", anchorname=f"right{slot}")
        for name, slot in rights
    ]
    chip = elm.Ic(pins=pins, edgepadW=3.0, edgepadH=0.6).label("U1 8 inputs", "top")
    signal(chip, "panel data", out=True)
    signal(chip, "panel clock")
    signal(chip, "panel latch")
    elm.Line().right().at(chip.right1).length(0.6)
    elm.Ground()
    for slot in (2, 3):
        elm.Line().right().at(getattr(chip, f"right{slot}")).length(0.6)
        elm.Dot(open=True).label("3.3 V", "right")
    elm.Line().right().at(chip.right4).length(3.2)
    line = elm.Dot()
    elm.Resistor().up().at(line.center).label(word("R1"), "bottom").length(2)
    rail("3.3 V")
    elm.Line().right().at(line.center).length(1.4)
    elm.Switch().down().label("S1", "bottom").length(2)
    elm.Ground()
    elm.Dot(open=True).at((line.center[0] + 4, line.center[1] + 1)).label("3.3 V", "top")
    elm.Capacitor().down().label(word("C1"), "bottom").length(2)
    elm.Ground()


def signal(chip, name, out=False):
    """A wire between a chip's pin and a named end at its left, with an arrow the way the signal goes."""
    place = getattr(chip, name)
    far = (place[0] - 1.2, place[1])
    elm.Line(arrow="->").at(place if out else far).to(far if out else place)
    elm.Dot(open=True).at(far).label(name, "left")


def hand_changeover():
    drain = driver(("R1", "R2", "Q1"), "coil pin")
    elm.Line().up().at(drain).length(0.4)
    low = elm.Dot()
    elm.Line().left().at(low.center).length(1.4)
    elm.Diode().up().label("D3", "top").length(5)
    corner = elm.Line().right().length(1.4)
    elm.Switch().up().at(low.center).label("S1 automatic", "bottom").length(2.2)
    coil_low = elm.Dot()
    elm.Inductor2(loops=3).up().at(coil_low.center).to(corner.end).label("L1", "top")
    top = elm.Dot()
    elm.Line().up().at(top.center).length(0.5)
    rail("bank +")
    elm.Line().right().at(coil_low.center).length(2.4)
    side = elm.Dot()
    elm.Diode().up().at(side.center).label("D1", "bottom").toy(top.center)
    elm.Line().left().tox(top.center)
    elm.Line().right().at(side.center).length(1.6)
    elm.Switch().down().label("S2 hand", "bottom").length(2.2)
    elm.Button().down().label("B1", "bottom").length(2.2)
    elm.Ground()
    load(driver(("R3", "R4", "Q2"), "feed pin", 13.5, 0), "L2", "D2", "5 V")
    elm.Dot(open=True).at((3, 11.5)).label("throttle live", "left")
    node = bypassed("F1", "K2 track feed", "S4 hand")
    elm.Line().right().at(node).length(2.6).label("track live", "top")
    end = bypassed("F2", "K1 (of L2)", "S3 hand")
    elm.Line().right().at(end).length(0.8)
    elm.Dot(open=True).label("block rail", "right")


def bypassed(fuse, contact, switch):
    """Fuse and a contact to the right, with a switch past the contact; returns the far end."""
    elm.Fuse().right().label(fuse)
    node = elm.Dot()
    elm.Switch().right().at(node.center).label(contact)
    end = elm.Dot()
    elm.Line().down().at(node.center).length(1.8)
    elm.Switch().right().label(switch, "bottom", ofst=0.3)
    elm.Line().up().toy(end.center)
    return end.center


def board_power():
    pins = [
        elm.IcPin(name="39 VSYS", side="left", slot="3/3", anchorname="vsys"),
        elm.IcPin(name="30 RUN", side="left", slot="1/3", anchorname="run"),
        elm.IcPin(name="36 3.3 V", side="right", slot="3/3", anchorname="supply"),
        elm.IcPin(name="38 ground", side="right", slot="1/3", anchorname="ground"),
    ]
    chip = elm.Ic(pins=pins, edgepadW=2.2, edgepadH=0.6).label("U1 board", "top")
    elm.Diode().left().reverse().at(chip.vsys).label("D1", "top")
    elm.Dot(open=True).label("5 V", "left")
    elm.Line().left().at(chip.run).length(0.8)
    elm.Button().down().label("S1", "top", ofst=0.4).length(2)
    elm.Ground()
    elm.Line().right().at(chip.supply).length(1)
    elm.Dot(open=True).label("3.3 V", "right")
    elm.Line().right().at(chip.ground).length(1)
    elm.Ground()


CIRCUITS = (
    coil_transistor,
    coil_relay,
    feed_relay,
    track_feed_chain,
    sensor_contact,
    sensor_hall,
    detector_opto,
    arm_line,
    bank,
    coil_supply,
    lamps,
    panel,
    hand_changeover,
    board_power,
)


def main():
    for circuit in CIRCUITS:
        name = circuit.__name__.replace("_", "-")
        parts = yaml.safe_load((HERE.parent / "netlists" / f"{name}.yaml").read_text(encoding="utf-8"))[
            "parts"
        ]
        values.clear()
        values.update({part: str(what.get("value", "")) for part, what in parts.items()})
        with schemdraw.Drawing(file=str(HERE / f"{name}.svg"), show=False):
            circuit()


if __name__ == "__main__":
    main()
