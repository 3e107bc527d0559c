"""The keys of `track:`, `safe_rules:` and `due_hits:` of a layout file, in the same table as all others."""

from __future__ import annotations

from reedway.layout.keytypes import CHOICE, NAME, NAMED, NAMES, SENTENCE, VALUE, YES_NO, Key, Section
from reedway.track.model import POLICIES, WHEN_FREE

DERIVED, WRITTEN = "derived", "written"
AT_ONCE, BY_TIME = "at once", "by running time"

TRACK = Section(
    "track",
    "section",
    NAMED,
    "sections in the direction of running; places and turnouts are sections, under their own names",
    (
        Key("to", NAMES, "[Mill Halt]", "where it leads; of a turnout with two ways out both, by position"),
        Key("from", NAMES, "[track A, track B]", "of a turnout with two ways in: both, by position"),
        Key("sensors", NAMES, "[N1]", "its sensors, as trains come to them", refers="sensors"),
        Key("entrance", NAME, "N2", "a sensor at its very beginning", refers="sensors"),
        Key("detector", NAME, "mill taken", "held while a train is in it", refers="detectors"),
        Key("in_time", YES_NO, "true", "this turnout is thrown before any train comes to it", "false"),
        Key("used_while", SENTENCE, "siding in service", "a switch; else no train is sent there"),
        Key("leaves", CHOICE, "take turns", "when a train leaves this place", WHEN_FREE, words=POLICIES),
        Key("go_sensor", NAME, "N1", "the sensor that lets it leave", refers="sensors"),
    ),
)
SAFE_RULES = Section(
    "safe_rules",
    "safe rules",
    VALUE,
    "who makes the rules that keep trains apart; without it derived, if there is a track",
    (Key("safe_rules", CHOICE, "derived", "by the track, or by you", words=(DERIVED, WRITTEN)),),
)
DUE_HITS = Section(
    "due_hits",
    "due hits",
    VALUE,
    "when a hit that derived rules wait for counts: at once, or when the slowest train would have come",
    (Key("due_hits", CHOICE, "by running time", "pairs always count at once", words=(AT_ONCE, BY_TIME)),),
)
SECTIONS = (TRACK, SAFE_RULES, DUE_HITS)

# Keys of a sensor that speak of the track.
SENSOR_KEYS = (
    Key("tail_clear_of", NAMES, "[exit]", "sections that the whole train has left when it is hit"),
    Key("pair_with", NAME, "N1a", "the sensor just before it; both must be hit, in order", refers="sensors"),
)
