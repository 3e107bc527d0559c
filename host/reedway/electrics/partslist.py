"""What to buy, by generic type and rating, for a layout as configured."""

from __future__ import annotations

import math

from reedlogic import boardfile as b
from reedway.boardfile.pintable import Row
from reedway.electrics import limits
from reedway.electrics.feedload import TRACK_FEED, load_a, trains_at_once, usual_fuse
from reedway.electrics.panelparts import arm_parts, on_register, panel_parts
from reedway.electrics.parts import Wired, feed_part_of, sensor_part_of
from reedway.electrics.shopping import Part, merged, rated_a, rated_v, resistor
from reedway.electrics.sourceparts import source_parts
from reedway.electrics.units import shown
from reedway.electrics.wirechecks import cold_current_a
from reedway.layout.model import Layout

# First word of an input's name -> what closes it.
OTHER_INPUTS = (
    ("contact", "contact that the points move", "changeover or micro switch", "tells where they lie"),
    ("detector", "detector output", "bare contact, or optocoupler with 1.5 kohm", "hardware/sensors.md"),
    ("button", "push button", "normally open", "on a sensor terminal"),
    ("switch", "switch", "on and off", "on a sensor terminal"),
)
GATE = "RDS(on) stated at VGS = 2.5 V or less"  # as data sheets put "fully on at 2.5 V"
REED = "normally open, 0.1 A or more, 10 to 15 ampere-turns, one bin"  # common practice, no source
RELAY_A = 0.08  # coil of a small 5 V relay; common practice, no source


def parts(layout: Layout, rows: list[Row]) -> list[Part]:
    """The whole list."""
    board = {"pico": "Raspberry Pi Pico", "pico2": "Raspberry Pi Pico 2"}[layout.board]
    found = [
        Part(1, "board", board, "and a spare one"),
        Part(
            2,
            "row of sockets",
            "20 pins, 2.54 mm",
            "the board is pulled and pushed; pin headers on both boards",
        ),
        Part(1, "USB cable", "carries data, fits the board", "to the computer"),
        Part(1, "push button", "normally open", "reset: from RUN (pin 30) to ground (pin 28)"),
        *_inputs(layout, rows),
        *_coils(layout, rows),
    ]
    found += [*_feeds(layout, rows), *panel_parts(rows), *source_parts(layout), *arm_parts(layout, rows)]
    relays = sum(part.count for part in found if part.what.startswith("relay for"))
    found += [
        Part(
            1, "5 V supply, finished, with plug", f"{0.5 + RELAY_A * relays:.1f} A", "board and relay coils"
        ),
        Part(1, "Schottky diode", "20 V, 1 A (1N5817)", "from the 5 V supply into VSYS, stripe to the board"),
        *_magnets(layout),
        Part(1, "bench supply with a current limit", "12 V, 0.5 A", "first power-up, step 3"),
        *_lamps(rows),
        *_terminals(rows),
        Part(1, "multimeter", "volts, ohms", "every step"),
    ]
    return merged(found)


def _terminals(rows: list[Row]) -> list[Part]:
    """A pair for each wire that leaves the board's base, and one beside each sensor."""
    pairs = _count(rows, b.P_INPUT, b.P_COIL, b.P_FEED, b.P_SUPPLY) + sum(on_register(row) for row in rows)
    sensors = sum(row.what.startswith("sensor ") for row in rows)
    rating = "screw or spring, two poles"
    found = [Part(pairs, "terminal", rating, "each input, coil, feed and switched supply")] if pairs else []
    return found + ([Part(sensors, "terminal", rating, "beside each sensor")] if sensors else [])


def _lamps(rows: list[Row]) -> list[Part]:
    """One for each coil, used again for the track: a wrong one that flashes must be seen."""
    count = max(_count(rows, b.P_COIL), _count(rows, b.P_FEED))
    why = "first power-up, in place of coils and track"
    return [Part(count, "lamp", "12 V, 2 W to 3 W", why)] if count else []


def wire_parts(lengths_m: dict[float, float]) -> list[Part]:
    """Pairs of wire by gauge in mm2, a tenth over."""
    return [
        Part(
            1,
            "wire, twisted pair",
            f"{shown(mm2, 'mm2')}, {math.ceil(1.1 * length)} m",
            "lengths above, a tenth over",
        )
        for mm2, length in sorted(lengths_m.items())
    ]


def _magnets(layout: Layout) -> list[Part]:
    """One for each vehicle that carries one, else for each train of the fullest start."""
    carried: dict[str, int] = {}
    vehicles = {one.name: one for one in layout.stock.vehicles}
    for train in layout.stock.trains:
        for name in train.vehicles:
            one = vehicles.get(name.text)
            if one and one.magnet is not None:
                kind = one.magnet_kind.text if one.magnet_kind else ""
                carried[kind] = carried.get(kind, 0) + 1
    if not carried:
        trains = max((len(start.trains_at) for start in layout.starts), default=0)
        carried = {"": trains} if trains and layout.sensors else {}
    return [
        Part(count, "magnet", _shape(layout, kind), "under the trains; see magnets; buy 2 more as spares")
        for kind, count in carried.items()
    ]


def _shape(layout: Layout, kind: str) -> str:
    known = {one.name: one for one in layout.electrics.magnets}
    part = known.get(kind) or (next(iter(known.values())) if len(known) == 1 else None)
    if part is None:
        return "not described: see magnets"
    size = " x ".join(f"{mm:g}" for mm in part.size_mm)
    return f"{part.shape} {size} mm, {part.grade}"


def _count(rows: list[Row], *roles: int) -> int:
    return sum(row.role in roles for row in rows)


def _inputs(layout: Layout, rows: list[Row]) -> list[Part]:
    wired = [row for row in rows if row.role == b.P_INPUT or on_register(row)]
    inputs = len(wired)
    if not inputs:
        return []
    reeds, halls = 0, 0
    for sensor in layout.sensors:
        part = sensor_part_of(layout.electrics, sensor.name)
        halls += part is not None and part.kind == "hall"
        reeds += part is None or part.kind == "reed"
    found = []
    if reeds:
        found.append(Part(reeds, "dry reed", REED, "buy 10 % spare; see magnets"))
    if halls:
        found.append(Part(halls, "Hall sensor", "one-pole, open collector, 3.3 V supply", "see magnets"))
    kinds = [row.what.split()[0] for row in wired]
    for kind, what, rating, why in OTHER_INPUTS:
        if kind in kinds:
            found.append(Part(kinds.count(kind), what, rating, why))
    return [
        *found,
        resistor(inputs, "2.2 kohm", "pull-up of each input: 1.5 mA wets the contact"),
        resistor(inputs, "4.7 kohm", "in series with each input; with the next 1 ms"),
        Part(inputs, "capacitor", "220 nF, film or X7R", "at each input's pin, against sparking wheels"),
        Part(2 * inputs, "Schottky diode, small", "30 V, 0.1 A", "at each input to 3.3 V and to ground"),
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
            f"{rated_v(2 * volts)} or more, {rated_a(2 * amps)} or more, {GATE}",
            "coils: twice the supply, twice the cold current; a pin gives 2.62 V at least",
        ),
        *_gate(count),
        Part(
            count,
            "freewheel diode, fast or Schottky",
            f"{rated_v(2 * volts)}, {rated_a(amps)} peak",
            "across each coil, stripe to plus",
        ),
        Part(1, "test switch", f"on and off, {rated_a(amps)}, leads with clips", "first power-up, step 6"),
    ]


def _gate(count: int) -> list[Part]:
    return [
        resistor(count, "10 kohm", "from each gate to ground: off while the pin is no output"),
        resistor(count, "100 ohm", "to each gate: keeps the pin from ringing"),
    ]


def _relay_drivers(count: int) -> list[Part]:
    return [
        Part(count, "N-channel MOSFET, small", f"20 V or more, 0.3 A, {GATE}", "drives a relay's coil"),
        *_gate(count),
        Part(count, "diode", "1N4148 or 1N4001", "across each relay's coil; it lets go in up to 47 ms"),
    ]


def _feeds(layout: Layout, rows: list[Row]) -> list[Part]:
    """A relay, its driver and a fuse for each block, and for the track feed, which carries all trains."""
    feeds = [row.what.removeprefix("block ") for row in rows if row.role == b.P_FEED]
    if not feeds:
        return []
    relays, fuses = [], []
    for name in feeds:
        amps = load_a(layout, name)
        all_trains = name == TRACK_FEED and trains_at_once(layout) > 1
        why = "track feed: twice all trains' current" if all_trains else "twice a train's current"
        relays.append(Part(1, "relay for a feed", f"normally open, {rated_a(2 * amps)}, 5 V coil", why))
        fuses.append(_fuse(layout, name))
    most = max(load_a(layout, name) for name in (*feeds, TRACK_FEED))
    hand = Part(
        1,
        "track switch",
        f"on and off, {rated_a(2 * most)}",
        "from the throttle: the hand's own stop, in reach",
    )
    return [*relays, *_relay_drivers(len(feeds)), *fuses, hand]


def _fuse(layout: Layout, feed: str) -> Part:
    part = feed_part_of(layout.electrics, feed)
    what = f"feed of {'the track feed' if feed == TRACK_FEED else feed}"
    if part is not None and part.fuse:
        return Part(1, "fuse and holder", f"{part.fuse.letter} {part.fuse.rating_a:g} A", what)
    rating = usual_fuse(load_a(layout, feed)) or "more than usual"
    return Part(1, "fuse and holder", rating, f"{what}: not described, see above")
