"""What to buy, by generic type and rating, for a layout as configured."""

from __future__ import annotations

import math
from dataclasses import dataclass

from reedlogic import boardfile as b
from reedway.boardfile.pintable import Row
from reedway.electrics import limits
from reedway.electrics.model import Source
from reedway.electrics.parts import Wired, feed_part_of, sensor_part_of
from reedway.electrics.units import shown
from reedway.electrics.wirechecks import cold_current_a
from reedway.layout.model import Layout

CAPACITOR_V = (16.0, 25.0, 35.0, 50.0, 63.0, 100.0)  # standard ratings of electrolytic capacitors
REGISTER_BITS = 8
RELAY_A = 0.08  # coil of a small 5 V relay; common practice, no source


@dataclass(frozen=True)
class Part:
    """One line of the list; `why` says where the rating comes from."""

    count: int
    what: str
    rating: str
    why: str


def parts(layout: Layout, rows: list[Row]) -> list[Part]:
    """The whole list."""
    board = {"pico": "Raspberry Pi Pico", "pico2": "Raspberry Pi Pico 2"}[layout.board]
    found = [Part(1, "board", board, "and a spare one"), *_inputs(layout, rows), *_coils(layout, rows)]
    found += [*_feeds(layout, rows), *_registers(rows), *_sources(layout)]
    relays = sum(part.count for part in found if part.what.startswith("relay for"))
    found.append(
        Part(
            1,
            "5 V supply, finished, with plug",
            f"{0.5 + RELAY_A * relays:.1f} A",
            "board and relay coils; into VSYS through a Schottky diode",
        )
    )
    if any(row.role == b.P_ARM for row in rows):
        found += [
            Part(
                1,
                "charge pump for the arm line",
                "2 small-signal diodes, 2 capacitors",
                "hardware/arm-line.md",
            ),
            Part(1, "switch of the coil supply", "P-channel power MOSFET or relay", "hardware/arm-line.md"),
        ]
    return _merged(found)


def _merged(found: list[Part]) -> list[Part]:
    """Like parts in one line, in the order they first come."""
    counts: dict[tuple[str, str, str], int] = {}
    for part in found:
        key = (part.what, part.rating, part.why)
        counts[key] = counts.get(key, 0) + part.count
    return [Part(count, *key) for key, count in counts.items()]


def _count(rows: list[Row], *roles: int) -> int:
    return sum(row.role in roles for row in rows)


def _inputs(layout: Layout, rows: list[Row]) -> list[Part]:
    inputs = _count(rows, b.P_INPUT)
    if not inputs:
        return []
    reeds, halls = 0, 0
    for sensor in layout.sensors:
        part = sensor_part_of(layout.electrics, sensor.name)
        halls += part is not None and part.kind == "hall"
        reeds += part is None or part.kind == "reed"
    found = []
    if reeds:
        found.append(Part(reeds, "dry reed", "normally open, 0.1 A or more", "buy 10 % spare; see magnets"))
    if halls:
        found.append(Part(halls, "Hall sensor", "one-pole, open collector, 3.3 V supply", "see magnets"))
    return [
        *found,
        Part(inputs, "pull-up resistor", "2.2 kohm", "1.5 mA wets the contact; hardware/sensors.md"),
        Part(inputs, "series resistor", "4.7 kohm", "with the next: 1 ms; hardware/sensors.md"),
        Part(inputs, "capacitor at the pin", "220 nF, film or X7R", "against sparking wheels"),
        Part(inputs, "clamp", "two Schottky diodes to 3.3 V and ground", "against long wires"),
    ]


def _coils(layout: Layout, rows: list[Row]) -> list[Part]:
    found: list[Part] = []
    wired = limits.wired_turnouts(layout)
    known = {one.turnout.name for one in wired}
    direct = [one for one in wired if not one.part.by_relay]
    by_relay = [one for one in wired if one.part.by_relay]
    unknown = 2 * sum(turnout.name not in known for turnout in layout.turnouts)
    if direct:
        found += _transistors(direct)
    if by_relay:
        amps = max(cold_current_a(one) for one in by_relay)
        count = 2 * len(by_relay)
        found.append(
            Part(
                count,
                "relay for a coil",
                f"contact {shown(2 * amps, 'A')} DC inductive",
                "twice the cold current",
            )
        )
        found += _relay_drivers(count)
    if unknown:
        found.append(Part(unknown, "coil driver", "not known", "describe the coils: see coils"))
    return found


def _transistors(direct: list[Wired]) -> list[Part]:
    amps = max(cold_current_a(one) for one in direct)
    volts = max(one.drive.voltage_v for one in direct)
    count = 2 * len(direct)
    return [
        Part(
            count,
            "N-channel MOSFET",
            f"{shown(2 * volts, 'V')}, {shown(2 * amps, 'A')} or more, fully on at 2.5 V at its gate",
            "twice the supply, twice the cold current; a pin gives 2.62 V at least",
        ),
        Part(count, "gate pull-down", "10 kohm", "holds it off while the pin is no output"),
        Part(count, "gate resistor", "100 ohm", "keeps the pin from ringing"),
        Part(
            count,
            "freewheel diode",
            f"{shown(volts * 2, 'V')}, {shown(amps, 'A')} peak, fast",
            "across each coil, stripe to plus",
        ),
    ]


def _relay_drivers(count: int) -> list[Part]:
    return [
        Part(
            count, "N-channel MOSFET, small", "fully on at 2.5 V at its gate, 0.3 A", "drives a relay's coil"
        ),
        Part(count, "gate pull-down", "10 kohm", "holds it off while the pin is no output"),
        Part(count, "gate resistor", "100 ohm", "keeps the pin from ringing"),
        Part(count, "diode", "across each relay's coil", "the relay then lets go in up to 47 ms"),
    ]


def _feeds(layout: Layout, rows: list[Row]) -> list[Part]:
    count = _count(rows, b.P_FEED)
    if not count:
        return []
    amps = 1.0
    found = []
    for block in layout.blocks:
        part = feed_part_of(layout.electrics, block.name)
        if part is not None:
            amps = max(amps, part.current_a)
            if part.fuse:
                found.append(
                    Part(
                        1,
                        "fuse and holder",
                        f"{part.fuse.letter} {part.fuse.rating_a:g} A",
                        f"feed of {block.name}",
                    )
                )
    contact = Part(
        count,
        "relay for a feed",
        f"normally open, {shown(2 * amps, 'A')}, 5 V coil",
        "twice a train's current",
    )
    return [contact, *_relay_drivers(count), *found]


def _registers(rows: list[Row]) -> list[Part]:
    lamps, panel = _count(rows, b.P_LAMP), _count(rows, b.P_PANEL)
    highest_lamp = max((row.where for row in rows if row.role == b.P_LAMP), default=-1) + 1
    highest_panel = max((row.where for row in rows if row.role == b.P_PANEL), default=-1) + 1
    found = []
    if lamps:
        count = math.ceil(highest_lamp / REGISTER_BITS)
        found.append(Part(count, "shift register, 8 outputs with latch", "3.3 V", "lamps; dark at reset"))
        found.append(Part(lamps, "LED with resistor", "3 mA", "lamps of the panel"))
    if panel:
        count = math.ceil(highest_panel / REGISTER_BITS)
        found.append(Part(count, "shift register, 8 inputs with latch", "3.3 V", "switches and buttons"))
        found.append(Part(panel, "switch or button with pull-up", "10 kohm", "panel"))
    return found


def _sources(layout: Layout) -> list[Part]:
    found: list[Part] = []
    for source in layout.electrics.sources:
        found.append(_supply(layout, source))
        if source.bank_f:
            found += _bank(source)
        if source.fuse:
            rating = f"{source.fuse.letter} {source.fuse.rating_a:g} A"
            found.append(Part(1, "fuse and holder", rating, f"source {source.name}"))
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
            rating = f"{shown(ohm, 'ohm')}, {shown(2 * watts, 'W', 2)}"
            found.append(
                Part(
                    1,
                    what,
                    rating,
                    "twice what it bears with a shorted driver" if what[0] == "c" else "twice its heat",
                )
            )
    return found
