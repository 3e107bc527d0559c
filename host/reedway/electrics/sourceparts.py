"""What to buy for the coils' supplies: the supply itself, bank, charging resistor, bleeder, fuse."""

from __future__ import annotations

from reedway.electrics import limits
from reedway.electrics.model import Source
from reedway.electrics.parts import source_of
from reedway.electrics.shopping import Part
from reedway.electrics.units import shown
from reedway.electrics.wirechecks import cold_current_a
from reedway.layout.model import Layout

CAPACITOR_V = (16.0, 25.0, 35.0, 50.0, 63.0, 100.0)  # standard ratings of electrolytic capacitors


def source_parts(layout: Layout) -> list[Part]:
    """For each source in file order."""
    found: list[Part] = []
    for source in layout.electrics.sources:
        found.append(_supply(layout, source))
        if source.bank_f:
            found += _bank(source)
            found.append(_discharger(source))
        if source.fuse:
            rating = f"{source.fuse.letter} {source.fuse.rating_a:g} A"
            found.append(Part(1, "fuse and holder", rating, f"source {source.name}"))
    if any(source_of(layout, turnout) is None for turnout in layout.turnouts):
        found.append(
            Part(1, "coil supply, bank and fuse", "not known", "describe the source: hardware/measuring.md")
        )
    return found


def _supply(layout: Layout, source: Source) -> Part:
    """The coils' own supply: a quarter over what it must give."""
    kind = "AC" if source.alternating else "DC, isolated output"
    if source.bank_f and source.charge_ohm:
        amps = source.voltage_v / source.charge_ohm
        why = "the bank's charging current and a quarter"
    else:
        drawn = [cold_current_a(one) for one in limits.wired_turnouts(layout) if one.source is source]
        amps, why = max(drawn, default=0.0), "one cold coil and a quarter: one is pulsed at a time"
    rating = f"{shown(source.voltage_v, 'V')} {kind}, {shown(1.25 * amps, 'A', 2)}"
    return Part(1, "coil supply, finished, with plug", rating, f"source {source.name}: {why}")


def _discharger(source: Source) -> Part:
    """On insulated clips, for a bank whose bleeder is open. It is warm for seconds only."""
    ohm = source.charge_ohm or 100.0
    rating = f"{shown(ohm, 'ohm')}, {shown(2 * source.voltage_v**2 / ohm, 'W', 2)} or more"
    return Part(1, "discharging resistor", rating, "on insulated clips: empties a bank whose bleeder failed")


def _bank(source: Source) -> list[Part]:
    """Resistors bear their worst for ever: the charging one with a driver shorted."""
    rated = next((v for v in CAPACITOR_V if v >= 1.25 * source.voltage_v), CAPACITOR_V[-1])
    found = [
        Part(
            1,
            "bank capacitor",
            f"{source.bank_f * 1e6:.0f} uF, {rated:.0f} V",
            f"source {source.name}; a quarter over",
        )
    ]
    for ohm, what in ((source.charge_ohm, "charging resistor"), (source.bleeder_ohm, "bleeder")):
        if ohm:
            watts = source.voltage_v**2 / ohm
            rating = f"{shown(ohm, 'ohm')}, {shown(2 * watts, 'W', 2)} or more"
            found.append(
                Part(
                    1,
                    what,
                    rating,
                    "twice what it bears with a shorted driver" if what[0] == "c" else "twice its heat",
                )
            )
    return found
