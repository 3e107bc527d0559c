"""Every section and key of a layout file, once: what it is, unit, default, limits, example.

The loader, `check --limits`, `check --schema`, the JSON Schema and the near-miss suggestions all read this
table. To add a section: add it to SECTIONS, a dataclass to model.py and a builder to build.py.
"""

from __future__ import annotations

from reedway.electrics.keys import SECTIONS as ELECTRICS
from reedway.layout.keytypes import (
    CHOICE,
    CONTACTS,
    COUNT,
    DRAWING,
    GPIO,
    KEYS,
    LIST,
    NAME,
    NAMED,
    NAMED_VALUE,
    NAMES,
    SENTENCE,
    SENTENCES,
    TERMINALS,
    TEXT,
    TIME,
    VALUE,
    WORD,
    WORDS,
    YES_NO,
    Key,
    Section,
    terminal,
)
from reedway.track.keys import SECTIONS as TRACK
from reedway.track.keys import SENSOR_KEYS
from reedway.trains.keys import SECTIONS as TRAINS

FORMAT_VERSION = 1
NAME_LETTERS_MAX = 30
DRAWING_COLUMNS_MAX = 80
DRAWING_LINES_MAX = 40
SECOND, MINUTE, HOUR = 1000, 60_000, 3_600_000
PULSE_MS_MAX = 250  # the one-shot counts 8 bits of 1 ms


def _time(name: str, example: str, default: str, low: int, high: int, text: str, common: bool = False) -> Key:
    return Key(name, TIME, example, text, default, low=low, high=high, common=common)


CONFIRM = _time("confirm", "5 ms", "5 ms", 1, SECOND, "closed this long, it counts as closed", True)
OPENING = _time("opening", "20 ms", "20 ms", 1, 10 * SECOND, "open this long, it counts as open", True)
REARM = _time("rearm", "2 s", "2 s", 0, 10 * MINUTE, "open this long, it can make the next hit", True)
AT_REST = Key(
    "at_rest",
    TIME,
    "never",
    "closed this long, a magnet rests on it (a caution); never where trains stand by plan",
    "20 s",
    low=100,
    high=HOUR,
    or_never=True,
    common=True,
)
PULSE = Key(
    "pulse",
    TIME,
    "80 ms",
    "how long a coil is energised to throw",
    "80 ms",
    low=5,
    high=PULSE_MS_MAX,
    common=True,
    why_high="the one-shot that makes the pulse counts no further, and what needs steady current is no coil",
)
PULSES = Key("pulses", COUNT, "4", "heat budget: pulses in a row from cold", "4", low=1, high=20, common=True)
COOL = _time("cool", "10 s", "10 s", 100, 10 * MINUTE, "heat budget: one more pulse each such time", True)
REFRESH = _time(
    "refresh_every",
    "30 s",
    "30 s",
    SECOND,
    HOUR,
    "thrown to where it lies, it pulses once in this time",
    True,
)
LEVEL = (CONFIRM, OPENING)
SENSES = Key("senses", SENTENCE, "exit to B", "for `report --shadow`: what the old relays do when it closes")

FILE = (
    Section(
        "reedway",
        "format version",
        VALUE,
        "version of this file format",
        (Key("reedway", COUNT, "1", "always 1", low=FORMAT_VERSION, high=FORMAT_VERSION),),
        required=True,
    ),
    Section(
        "layout",
        "layout",
        VALUE,
        "what the layout is called",
        (Key("layout", TEXT, "Lindholt Valley", "text in one line", high=60),),
        required=True,
    ),
    Section(
        "board",
        "board",
        VALUE,
        "which board it runs on",
        (Key("board", CHOICE, "pico", "the kind of board", words=("pico", "pico2")),),
        required=True,
    ),
    Section(
        "mode",
        "mode",
        VALUE,
        "live, or shadow: the logic runs and is recorded, coils, feeds, supplies and arm line stay off",
        (Key("mode", CHOICE, "shadow", "whether outputs work", words=("live", "shadow")),),
    ),
    Section(
        "drawing",
        "drawing",
        VALUE,
        "your own sketch of the track; names in it are lit by their state",
        (Key("drawing", DRAWING, "|\n  --N1--< siding >--", "lines of characters after |"),),
    ),
    Section(
        "terminals",
        "terminal",
        NAMED_VALUE,
        "pins other than the usual ones",
        (Key("terminal", GPIO, "GPIO 2", "the pin this terminal is on", high=99),),
    ),
    Section(
        "defaults",
        "defaults",
        KEYS,
        "for everything in this file that does not say its own",
        (CONFIRM, OPENING, REARM, AT_REST, PULSE, PULSES, COOL, REFRESH),
    ),
    Section(
        "limits",
        "limits",
        KEYS,
        "how late and how long is too much",
        (
            _time("late", "20 ms", "20 ms", 2, 200, "a scan this long after the last is late"),
            _time(
                "defer", "30 s", "30 s", SECOND, 10 * MINUTE, "a throw put off this long by heat is a fault"
            ),
            _time("coil_pause", "100 ms", "100 ms", 1, 10 * SECOND, "least rest between two pulses"),
        ),
    ),
)

INPUTS = (
    Section(
        "sensors",
        "sensor",
        NAMED,
        "reed or Hall sensors at spots in the track",
        (terminal("sensor 1"), CONFIRM, OPENING, REARM, AT_REST, SENSES, *SENSOR_KEYS),
        26,
    ),
    Section(
        "detectors",
        "detector",
        NAMED,
        "inputs held while a section is occupied",
        (terminal("sensor 7"), *LEVEL, SENSES),
        26,
    ),
    Section(
        "switches",
        "switch",
        NAMED,
        "switches of the operator",
        (
            terminal("panel 1"),
            Key("on", WORD, "in service", "what closed is called", "on"),
            Key("off", WORD, "out of service", "what open is called", "off"),
            *LEVEL,
        ),
        50,
    ),
    Section(
        "buttons",
        "button",
        NAMED,
        "push buttons of the operator",
        (
            terminal("panel 2"),
            Key("order", SENTENCE, "stop", "start, stop, go on, acknowledge, hold PLACE, go PLACE"),
            *LEVEL,
        ),
        50,
    ),
    Section(
        "contacts", "contact", NAMED, "contacts that show how points lie", (terminal("sensor 8"), *LEVEL), 26
    ),
    Section(
        "track_power",
        "track power",
        KEYS,
        "an input that is closed while the track has power; without power, times wait",
        (terminal("sensor 9"), *LEVEL),
    ),
)

OUTPUTS = (
    Section(
        "supplies",
        "supply",
        NAMED,
        "what feeds a group of coils",
        (
            Key(
                "recharge",
                TIME,
                "1500 ms",
                "its coils wait this long after a pulse",
                required=True,
                high=MINUTE,
            ),
            _time("lead", "20 ms", "0 ms", 0, 500, "its output closes this long before a pulse"),
            _time("trail", "20 ms", "0 ms", 0, 500, "its output opens this long after a pulse"),
            Key("terminal", "terminal", "supply 1", "the output that switches it, if there is one"),
        ),
        8,
    ),
    Section(
        "turnouts",
        "turnout",
        NAMED,
        "turnouts with two coils",
        (
            Key(
                "positions", WORDS, "[A, B]", "your names of straight and diverging", "[straight, diverging]"
            ),
            Key("coils", TERMINALS, "[coil 1, coil 2]", "the coil of each position", required=True),
            Key("supply", NAME, "bank", "feeds its coils; without, they have their own", refers="supplies"),
            PULSE,
            PULSES,
            COOL,
            REFRESH,
            Key("power_routing", YES_NO, "true", "it feeds only the track it is set for", "false"),
            _time("relay_operate", "10 ms", "0 ms", 0, 50, "a relay drives the coil: added to the pulse"),
            Key("contacts", CONTACTS, "{B: exit contact}", "contact closed in a position", refers="contacts"),
            _time(
                "contact_wait", "300 ms", "300 ms", 10, 5 * SECOND, "a contact may take this long to agree"
            ),
        ),
        14,
    ),
    Section(
        "gangs",
        "gang",
        NAMED_VALUE,
        "turnouts thrown for one purpose",
        (Key("gang", NAMES, "[exit, entry]", "turnouts in the order of throwing", refers="turnouts"),),
        30,
    ),
    Section(
        "blocks", "block", NAMED, "stretches whose rail feed the board switches", (terminal("feed 1"),), 29
    ),
    Section(
        "track_feed",
        "track feed",
        KEYS,
        "a relay that feeds all other track and falls open at stop",
        (terminal("track feed"),),
    ),
    Section(
        "lamps",
        "lamp",
        NAMED,
        "lamps of the panel",
        (
            terminal("lamp 1"),
            Key(
                "shows",
                SENTENCE,
                "train belongs at H",
                "train belongs at PLACE, PLACE held, PLACE goes, caution, fault, running",
            ),
        ),
        30,
    ),
)

LOGIC = (
    Section(
        "places",
        "place",
        NAMED,
        "sections where a train may stand waiting",
        (Key("block", NAME, "Hold", "its block; without one it cannot be held", refers="blocks"),),
        30,
    ),
    Section(
        "relays",
        "relay",
        NAMED,
        "relays of the logic, in or out",
        (
            Key("safe", CHOICE, "out", "its side when two rules disagree", "out", words=("out", "in")),
            Key("pulled_in_while", SENTENCES, "[S1 in, S2 in]", "a follower: in exactly while all hold"),
        ),
        120,
    ),
    Section(
        "timers",
        "timer",
        NAMED_VALUE,
        "times that rules start and cancel",
        (Key("timer", TIME, "4 s", "how long it runs", low=10, high=12 * HOUR),),
        30,
    ),
    Section(
        "rules",
        "rule",
        LIST,
        "what happens when",
        (
            Key("at", SENTENCE, "N1 hit", "the event; each rule has this or as_soon_as"),
            Key("as_soon_as", SENTENCES, "[CALL in, ends to B]", "acts from the moment all hold"),
            Key("while", SENTENCES, "[siding in service]", "must all hold at the event"),
            Key("do", SENTENCES, "[pull in CALL, throw ends to B]", "what is done", required=True),
            Key("why", TEXT, "the siding is free then", "your reason; explain prints it", high=200),
        ),
        900,
    ),
    Section(
        "starts",
        "start",
        NAMED,
        "ways of starting: where trains stand, how switches are set",
        (
            Key("trains", NAMES, "[H, siding A]", "places that hold a train", refers="places"),
            Key("switches", SENTENCES, "[siding in service]", "how switches must stand"),
            Key("relays_in", NAMES, "[CALL]", "relays that begin in; the others out", refers="relays"),
            Key("turnouts", SENTENCES, "[ends to A]", "how turnouts are thrown first"),
            Key("go", NAMES, "[Hold]", "blocks that go; the others stop", refers="blocks"),
        ),
        16,
    ),
)

SECTIONS: tuple[Section, ...] = (*FILE, *INPUTS, *OUTPUTS, *TRACK, *LOGIC, *TRAINS, *ELECTRICS)
BY_NAME = {section.name: section for section in SECTIONS}
TOP = tuple(dict.fromkeys(section.group or section.name for section in SECTIONS))  # keys at the left margin
# Sections whose entries are names of their own; on the track a place goes by its own name, and trains are
# spoken of among themselves only.
NOT_NAMING = ("terminals", "track", *(section.name for section in TRAINS))
NAMING = tuple(s.name for s in SECTIONS if s.shape in (NAMED, NAMED_VALUE) and s.name not in NOT_NAMING)
