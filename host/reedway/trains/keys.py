"""The keys of `vehicles:`, `trains:`, `lengths:` and `spots:` of a layout file, in the same table as all."""

from __future__ import annotations

from reedway.electrics.units import AMOUNT, SPAN
from reedway.layout.keytypes import CHOICE, NAME, NAMED, NAMES, TIME, WORDS, YES_NO, Key, Section
from reedway.trains.kinematics import AFTER_CUT

SIDES = ("middle", "left", "right")
VEHICLE_MM = ("mm", "1 mm", "2 m")
IN_VEHICLE_MM = ("mm", "0 mm", "2 m")
TRACK_MM = ("mm", "1 mm", "100 m")
FROM_MM = ("mm", "0 mm", "100 m")
ZONE_MM = ("mm", "1 mm", "200 mm")


def _amount(
    name: str,
    example: str,
    limits: tuple[str, str, str],
    text: str,
    default: str = "",
    required: bool = False,
) -> Key:
    return Key(name, AMOUNT, example, text, default, required, words=limits)


VEHICLES = Section(
    "vehicles",
    "vehicle",
    NAMED,
    "engines and cars, or kinds of them; distances are from the front of each",
    (
        _amount("length", "110 mm", VEHICLE_MM, "over its couplers, as coupled", required=True),
        Key(
            "couplers", WORDS, "[hook, loop]", "your names of front and rear; like ones mate", "[hook, hook]"
        ),
        Key("motor", YES_NO, "true", "it drives the train", "false"),
        Key("pick_ups", SPAN, "15 mm to 95 mm", "its first and last powered pick-up", words=IN_VEHICLE_MM),
        Key("wired_through", YES_NO, "true", "a wire joins it to the vehicle behind", "false"),
        _amount("magnet", "30 mm", IN_VEHICLE_MM, "the middle of its magnet; without: it has none"),
        Key("magnet_fits", SPAN, "20 mm to 60 mm", "where a magnet could be", words=IN_VEHICLE_MM),
        Key("magnet_kind", NAME, "head magnet", "its height and how it lies", refers="magnets"),
        Key("magnet_side", CHOICE, "middle", "the side it is on, running forward", "middle", words=SIDES),
        Key(
            "operates_over",
            SPAN,
            "20 mm to 29 mm",
            "so far it keeps a sensor closed, least and most; "
            "without: worked out for its kind, or assumed as 10 mm to 30 mm",
            words=ZONE_MM,
        ),
    ),
)
TRAINS = Section(
    "trains",
    "train",
    NAMED,
    "the trains, each from vehicles in order",
    (
        Key("vehicles", NAMES, "[engine, open car, brake van]", "from its front on", required=True),
        Key(
            "speed",
            SPAN,
            "150 mm/s to 240 mm/s",
            "slowest and fastest",
            required=True,
            words=("m/s", "1 mm/s", "3 m/s"),
        ),
        _amount("acceleration", "200 mm/s2", ("m/s2", "1 mm/s2", "20 m/s2"), "when fed; without: at once"),
        Key(
            "when_cut",
            CHOICE,
            "runs on so far",
            "what it does when its feed is cut",
            required=True,
            words=AFTER_CUT,
        ),
        Key(
            "run_on",
            SPAN,
            "15 mm to 25 mm",
            "how far it runs on, shortest and longest",
            words=("mm", "0 mm", "5 m"),
        ),
        Key("run_on_time", TIME, "300 ms", "how long it runs on, slowing evenly", low=1, high=60_000),
    ),
)
LENGTHS = Section(
    "lengths",
    "length",
    NAMED,
    "how long places, turnouts and sections are, along the track",
    (
        _amount(
            "length",
            "2.2 m",
            TRACK_MM,
            "from the fouling point or gap where it begins to its far end",
            required=True,
        ),
        _amount("dead_end", "550 mm", TRACK_MM, "its last part, from the gap on, where trains stop"),
        _amount("fouling_point", "50 mm", FROM_MM, "so far before its far end a nose must stop", "0 mm"),
        Key(
            "cut_by",
            NAME,
            "N1",
            "sensor whose hit makes the end dead; without: dead when a train comes",
            refers="sensors",
        ),
        Key("trains", NAMES, "[railcar]", "only these stand here"),
    ),
)
SPOTS = Section(
    "spots",
    "spot",
    NAMED,
    "where each sensor is",
    (
        Key("place", NAME, "track A", "the place it is in"),
        _amount("set_back", "50 mm", FROM_MM, "so far before the gap of that place"),
        _amount("beyond_gap", "50 mm", FROM_MM, "or so far beyond that gap"),
        Key("clear_of", NAME, "exit", "the whole train has left this when it is hit"),
        _amount("beyond", "1 m", FROM_MM, "so far behind the fouling point or end of that"),
        _amount("next_spot", "400 mm", TRACK_MM, "how far on the next sensor or points are"),
        Key(
            "side", CHOICE, "middle", "the side of the track it is on, running forward", "middle", words=SIDES
        ),
    ),
)
SECTIONS = (VEHICLES, TRAINS, LENGTHS, SPOTS)
