"""The computed numbers of hardware/, each computed again; the value must stand beside its mark."""

from __future__ import annotations

import math

from hardware.netlist import BY_NAME, HARDWARE, farad, ohm
from reedlogic import boardfile as b
from reedway.boardfile.pintable import Row
from reedway.electrics import capacitors, coils, copper, fuses, rail, relays, wires, wiring
from reedway.layout.load import load, load_bytes

PIN_HIGH_V = 2.62  # RP2040 data sheet: least output voltage
SUPPLY_V = 3.3
LOW_V, HIGH_V = 0.8, 2.0  # RP2040 data sheet: low at most, high at least
E9_A = 120e-6  # RP2350 erratum E9
THRESHOLD_V, THRESHOLD_V_MOST = 0.4, 1.5  # asked of the arm line's Q1
# BSS138, data sheet DS30144: its threshold is stated at 0.25 mA, and it has at least 100 mS at 0.2 A.
STATED_A, STEEP_S, STEEP_AT_A = 0.25e-3, 0.1, 0.2
COLDER_V = 0.045  # a threshold grows by up to 3 mV for each kelvin below 25 °C; 10 °C; from memory
CAPACITOR_SPREAD, RESISTOR_SPREAD = 0.15, 0.05  # as sold, and a room's warmth; common practice
LONG_SCAN_S = 4e-3  # hardware/sources.md, B3
SCHOTTKY_V = 0.25  # small Schottky diode at some 20 uA, common data sheets
COIL = coils.Coil(4.5, copper.heat_capacity_j_k(copper.winding_mass_kg(4.5, 0.315)), 105, 90)
DC16 = coils.Drive(16)


def part_ohm(circuit: str, name: str) -> float:
    return ohm(BY_NAME[circuit].parts[name])


def part_farad(circuit: str, name: str) -> float:
    return farad(BY_NAME[circuit].parts[name])


R1, R2 = part_ohm("sensor-contact", "R1"), part_ohm("sensor-contact", "R2")
C1 = part_farad("sensor-contact", "C1")
CHARGE, BLEED = part_ohm("bank", "R1"), part_ohm("bank", "R2")
BANK_F = part_farad("bank", "C1")
BANK_V = BY_NAME["bank"].rails["armed supply +"]


def pump_v(
    bleed_ohm: float, c1_share: float = 1.0, c2_share: float = 1.0, scan_s: float = 1e-3, seconds: float = 3.0
) -> float:
    """Lowest voltage between strokes of the charge pump in its steady state, stroke by stroke.

    Two scans make one stroke: C1 takes charge from ground while the pin is low, gives it to C2 when it
    is high. The pin's own resistance is left out: at 500 strokes a second it charges through at once.
    """
    c1, c2 = c1_share * part_farad("arm-line", "C1"), c2_share * part_farad("arm-line", "C2")
    held = 0.0
    for _ in range(int(seconds / (2 * scan_s))):
        top = PIN_HIGH_V - SCHOTTKY_V  # what C1 carries at the end of the low half, plus the pin's step
        share = top - SCHOTTKY_V
        if share > held:
            held += (share - held) * c1 / (c1 + c2)
        held *= math.exp(-2 * scan_s / (bleed_ohm * c2))
    return held


def off_s(bleed_ohm: float) -> float:
    """Longest time from the last scan until Q1 is surely off: from the highest to its least threshold.

    With the pin left high, C1 empties through D2 together with C2.
    """
    both = part_farad("arm-line", "C1") + part_farad("arm-line", "C2")
    return -math.log(THRESHOLD_V / SUPPLY_V) * bleed_ohm * both


def off_most_s(bleed_ohm: float) -> float:
    """The same with capacitors and resistors as large as they may be."""
    return off_s(bleed_ohm) * (1 + CAPACITOR_SPREAD) * (1 + RESISTOR_SPREAD)


def pump_least_v(bleed_ohm: float, scan_s: float = 1e-3) -> float:
    """The steady state with the worst parts; one scan takes `scan_s`, while the pin is low."""
    found = []
    for c1 in (1 - CAPACITOR_SPREAD, 1 + CAPACITOR_SPREAD):
        for c2 in (1 - CAPACITOR_SPREAD, 1 + CAPACITOR_SPREAD):
            ohms = bleed_ohm * (1 - RESISTOR_SPREAD)
            longer = math.exp(-(scan_s - 1e-3) / (ohms * c2 * part_farad("arm-line", "C2")))
            found.append(pump_v(ohms, c1, c2) * longer)
    return min(found)


def gate_needed_v() -> float:
    """At Q1's gate, so that one of the greatest threshold takes what comes through R2 and R3, in the cold.

    Above the threshold the current grows with the square of what is above; how steeply, the least
    transconductance of the data sheet says.
    """
    amps = BY_NAME["arm-line"].rails["supply +"] / (part_ohm("arm-line", "R2") + part_ohm("arm-line", "R3"))
    square = STEEP_S**2 / (2 * STEEP_AT_A)  # A/V2
    above = math.sqrt(2 * amps / square) - math.sqrt(2 * STATED_A / square)
    return THRESHOLD_V_MOST + above + COLDER_V


ARM_OHM = part_ohm("arm-line", "R1")
LAMPS_OHM = 1 / (1 / ARM_OHM + 1 / part_ohm("lamps", "R3"))
STUCK = fuses.saves_coil(fuses.Fuse("T", 1.0), coils.Coil(4.5, COIL.heat_j_k, 109.2, 90), DC16, 20)
PULL = part_ohm("coil-transistor", "R2")
LAMP_A = (SUPPLY_V - 2.0) / part_ohm("lamps", "R2")


def rail_of(example: str) -> float:
    """Load of an example layout on the board's 3.3 V, in mA."""
    return rail.rail_ma(wiring.wire(load(str(HARDWARE.parent / "config" / f"{example}.yaml"))).rail)


def rail_most() -> float:
    """26 Hall sensors, 30 lamps and 24 contacts that each have the circuit of a sensor."""
    halls = [Row("sensor", n, b.P_INPUT, n, "in", "none", 1, "sensor N") for n in range(26)]
    lamps = [Row("lamp", n, b.P_LAMP, n, "out", "none", 0, "lamp") for n in range(30)]
    panel = [Row("panel", n, b.P_PANEL, n, "in", "none", 1, "contact c") for n in range(24)]
    arm = [Row("arm", 28, b.P_ARM, 0, "out", "none", 0, "arm line")]
    words = "layout: Halls\nboard: pico\nsensors: {N: {terminal: sensor 1}}\n"
    kind = "electrics: {sensor_parts: {Hall: {kind: hall, lies: across}}}\n"
    layout = load_bytes("halls.yaml", f"reedway: 1\n{words}{kind}".encode())
    return rail.rail_ma(rail.rail_loads(layout, [*halls, *lamps, *panel, *arm]))


# Mark: (value, unit, decimals). The text beside the mark must have the value so rounded.
VALUES: dict[str, tuple[float, str, int]] = {
    "pull-current": (SUPPLY_V / PULL * 1e3, "mA", 2),
    "gate-volts": (PIN_HIGH_V * PULL / (PULL + part_ohm("coil-transistor", "R1")), "V", 2),
    "relay-surge": (relays.surge_v(12, 2.29, 12 / 275, 0.5e-3), "V", 0),
    "stuck-cold": (STUCK.first_multiple, "times", 2),
    "stuck-hot": (STUCK.last_multiple, "times", 2),
    "stuck-seconds": (coils.seconds_between(COIL, DC16, 20, 105), "s", 1),
    "relay-late": (relays.RELEASE_MS * relays.DIODE_SLOWS, "ms", 1),
    "break-make": (relays.break_before_make_ms(), "ms", 1),
    "active-low": (SUPPLY_V * 50 / 150, "V", 1),
    "charge-watts": (2 * BANK_V**2 / CHARGE, "W", 0),
    "charge-burn": (BANK_V**2 / CHARGE, "W", 1),
    "charge-amps": (capacitors.peak_inrush_a(BANK_V, CHARGE), "A", 2),
    "bank-joules": (capacitors.energy_j(BANK_F, BANK_V), "J", 2),
    "bleed-seconds": (capacitors.bleed_s(BLEED, 1.2 * BANK_F, BANK_V, 5), "s", 0),
    "charge-5tau": (5 * CHARGE * BANK_F, "s", 0),
    "arm-volts": (pump_least_v(ARM_OHM), "V", 2),
    "arm-off": (off_most_s(ARM_OHM), "s", 2),
    "arm-off-larger": (1.5 * off_most_s(ARM_OHM), "s", 2),  # capacitors of 1.5 uF in place of 1 uF
    "arm-volts-lamps": (pump_least_v(LAMPS_OHM), "V", 2),
    "arm-off-lamps": (off_most_s(LAMPS_OHM), "s", 2),
    "arm-needs": (gate_needed_v(), "V", 2),
    "arm-long-scan": (pump_least_v(LAMPS_OHM, LONG_SCAN_S), "V", 1),
    "arm-pull": (24 / (part_ohm("arm-line", "R2") + part_ohm("arm-line", "R3")) * 1e3, "mA", 1),
    "upper-gate": (24 * 10 / 20, "V", 0),
    "wetting": (SUPPLY_V / R1 * 1e3, "mA", 1),
    "leak": (R1 * HIGH_V / (SUPPLY_V - HIGH_V) / 1e3, "kohm", 1),
    "leak-internal": (50 * HIGH_V / (SUPPLY_V - HIGH_V), "kohm", 0),
    "reed-peak": (SUPPLY_V / R2 * 1e3, "mA", 1),
    "e9": (E9_A * R2, "V", 2),
    "rc-fall": (R2 * C1 * math.log(SUPPLY_V / LOW_V) * 1e3, "ms", 1),
    "rc-rise": ((R1 + R2) * C1 * -math.log(1 - HIGH_V / SUPPLY_V) * 1e3, "ms", 1),
    "opto-led": ((12 - 1.2) / part_ohm("detector-opto", "R3") * 1e3, "mA", 1),
    "long-wire": (wires.loop_ohm(20, 0.5, 20), "ohm", 1),
    "confirm-mm": (50 * 0.5, "mm", 0),
    "alpha": (100 * copper.ALPHA_1_K, "%", 3),
    "warmed": (copper.temperature_from_resistance_c(4.5, 20, 4.64) - 20, "K", 0),
    "lamp-current": (LAMP_A * 1e3, "mA", 1),
    "panel-contact": (SUPPLY_V / part_ohm("panel", "R1") * 1e3, "mA", 2),
    "rail-pairs": (rail_of("three-trains-pairs"), "mA", 0),
    "rail-most": (rail_most(), "mA", 0),
    "lamp-eight": (8 * LAMP_A * 1e3, "mA", 0),
}
