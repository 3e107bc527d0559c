"""The keys of the section `electrics:` of a layout file, in the same table as all others."""

from __future__ import annotations

from dataclasses import replace

from reedway.electrics.copper import THERMAL_CLASS_C
from reedway.electrics.magnetdata import GRADES_T
from reedway.electrics.units import AMOUNT, FUSE, GAUGE, SIZE, SPAN
from reedway.layout.keytypes import CHOICE, COUNT, KEYS, NAME, NAMED, NAMES, TIME, Key, Section

GROUP = "electrics"
LIES = ("along", "across", "vertical")


def _amount(
    name: str, example: str, span: tuple[str, str, str], text: str, default: str = "", required: bool = False
) -> Key:
    return Key(name, AMOUNT, example, text, default, required, words=span)


def _cable(what: str) -> tuple[Key, Key]:
    return (
        _amount("cable", "3 m", ("m", "1 cm", "100 m"), f"length of the wires {what}, one way", "3 m"),
        Key("gauge", GAUGE, "0.5 mm2", "of these wires, in mm2 or AWG", "0.5 mm2"),
    )


PIN_CURRENT = _amount(
    "pin_current", "0.4 mA", ("A", "0 mA", "200 mA"), "what a driver's input draws from the pin", "0.4 mA"
)


def _fuse(what: str) -> Key:
    return Key("fuse", FUSE, "T 1 A", f"{what}: F, T, TH or UL and its rating")


SURROUNDINGS = Section(
    "surroundings",
    "surroundings",
    KEYS,
    "how warm it gets and how fast trains pass",
    (
        _amount("warmest", "35 °C", ("°C", "0 °C", "70 °C"), "warmest under the layout", "35 °C"),
        _amount("coldest", "10 °C", ("°C", "-30 °C", "40 °C"), "coldest", "10 °C"),
        _amount("slowest", "0.05 m/s", ("m/s", "1 mm/s", "2 m/s"), "slowest train over a sensor", "0.05 m/s"),
        _amount("fastest", "0.4 m/s", ("m/s", "1 mm/s", "3 m/s"), "fastest train over a sensor", "0.4 m/s"),
    ),
)
SOURCES = Section(
    "sources",
    "source",
    NAMED,
    "what coils are fed from",
    (
        Key("feeds", NAMES, "[bank]", "supplies of this file; without: every other", refers="supplies"),
        Key("current_kind", CHOICE, "DC", "AC or DC at the coils", "DC", words=("DC", "AC")),
        _amount("voltage", "16 V", ("V", "3 V", "50 V"), "without load, as measured", required=True),
        _amount("frequency", "50 Hz", ("Hz", "40 Hz", "70 Hz"), "of AC", "50 Hz"),
        _amount("bank", "4700 uF", ("uF", "100 uF", "100000 uF"), "capacitor bank that feeds the coils"),
        _amount("charged_through", "220 ohm", ("ohm", "1 ohm", "100 kohm"), "resistor that charges the bank"),
        _amount("bleeder", "4.7 kohm", ("ohm", "100 ohm", "1000 kohm"), "resistor that empties the bank"),
        _fuse("between supply and coils or bank"),
        *_cable("from source to drivers"),
    ),
    8,
)
COIL_PARTS = Section(
    "coil_parts",
    "coil part",
    NAMED,
    "coils as measured",
    (
        Key("in", NAMES, "[exit, entry]", "turnouts with it; without: every other", refers="turnouts"),
        _amount("resistance", "4.5 ohm", ("ohm", "0.1 ohm", "10 kohm"), "measured cold", required=True),
        _amount("measured_at", "20 °C", ("°C", "0 °C", "50 °C"), "temperature when measured", "20 °C"),
        _amount("winding_wire", "0.315 mm", ("mm", "0.02 mm", "2 mm"), "bare thickness of the winding wire"),
        _amount("copper", "14 g", ("g", "0.1 g", "5 kg"), "mass of the winding"),
        _amount("warms", "8 K", ("K", "0.1 K", "100 K"), "so warm after `after` pulses straight on"),
        Key("after", COUNT, "10", "pulses of this file's length that warmed it", "10", low=1, high=200),
        Key("cools", TIME, "5 min", "a warm coil loses 63 % of its warmth", low=5000, high=7_200_000),
        Key("insulation", CHOICE, "A", "its class; Y if not known", "Y", words=tuple(THERMAL_CLASS_C)),
        _amount("ac_current", "1.2 A", ("A", "1 mA", "50 A"), "what it draws on AC of `ac_voltage`"),
        _amount("ac_voltage", "16 V", ("V", "1 V", "50 V"), "AC voltage of that measurement", "16 V"),
        _amount("throws_at", "9 V", ("V", "1 V", "50 V"), "least voltage that throws it, cold, as measured"),
        Key("throws_in", TIME, "30 ms", "how long it needs for that", "30 ms", low=1, high=250),
        Key("driver", CHOICE, "transistor", "what switches it", "transistor", words=("transistor", "relay")),
        Key("active", CHOICE, "high", "level of the pin that switches it on", "high", words=("high", "low")),
        Key(
            "suppression",
            CHOICE,
            "diode",
            "across the coil; as drawn: by hardware/coil-drivers.md",
            "as drawn",
            words=("as drawn", "diode", "clamp"),
        ),
        PIN_CURRENT,
        *_cable("from driver to coil"),
    ),
    14,
)
MAGNETS = Section(
    "magnets",
    "magnet",
    NAMED,
    "magnets under the trains",
    (
        Key("shape", CHOICE, "cylinder", "its shape", required=True, words=("cylinder", "block")),
        Key(
            "size",
            SIZE,
            "6 x 20 mm",
            "cylinder: thickness x length; block: side x side x length",
            required=True,
            words=("mm", "0.5 mm", "200 mm"),
        ),
        Key("grade", CHOICE, "N42", "as sold", "N42", words=tuple(GRADES_T)),
        Key("lies", CHOICE, "along", "direction of its length in the train", "along", words=LIES),
        Key(
            "height",
            SPAN,
            "6 mm to 9 mm",
            "its underside above the sensor's middle, whole stock",
            required=True,
            words=("mm", "0.5 mm", "80 mm"),
        ),
        _amount("aside", "0 mm", ("mm", "0 mm", "60 mm"), "its middle from the middle of the car", "0 mm"),
        _amount("play", "1 mm", ("mm", "0 mm", "20 mm"), "how far it sways to the sides", "1 mm"),
    ),
    12,
)
SENSOR_PARTS = Section(
    "sensor_parts",
    "sensor part",
    NAMED,
    "reed and Hall parts",
    (
        Key("of", NAMES, "[N1, N2]", "sensors with it; without: every other", refers="sensors"),
        Key("kind", CHOICE, "reed", "reed or one-pole Hall", "reed", words=("reed", "hall")),
        Key("lies", CHOICE, "along", "reed: along its glass; Hall: across its face", "along", words=LIES),
        Key(
            "operates",
            SPAN,
            "1.5 mT to 3 mT",
            "field at which it closes, least to most",
            words=("mT", "0.1 mT", "100 mT"),
        ),
        Key(
            "releases",
            SPAN,
            "0.8 mT to 2 mT",
            "field at which it opens, least to most",
            words=("mT", "0.05 mT", "100 mT"),
        ),
        _amount("aside", "0 mm", ("mm", "0 mm", "60 mm"), "its middle from the middle of the track", "0 mm"),
        Key("measured_with", NAME, "head magnet", "magnet of a bench measurement", refers="magnets"),
        _amount("measured_height", "8 mm", ("mm", "0.5 mm", "80 mm"), "its height then", "8 mm"),
        _amount("closes_at", "15 mm", ("mm", "0 mm", "150 mm"), "so far before the middle it closed"),
        _amount("opens_at", "18 mm", ("mm", "0 mm", "150 mm"), "so far beyond the middle it opened"),
        Key(
            "output",
            CHOICE,
            "contact",
            "what the board sees",
            "contact",
            words=("contact", "open collector", "push-pull"),
        ),
        _amount("level", "3.3 V", ("V", "1 V", "30 V"), "voltage its output or pull-up can reach", "3.3 V"),
        Key("closes_to", CHOICE, "ground", "what it connects", "ground", words=("ground", "3.3 V")),
        *_cable("from board to sensor"),
    ),
    12,
)
FEED_PARTS = Section(
    "feed_parts",
    "feed part",
    NAMED,
    "how blocks are fed",
    (
        Key("of", NAMES, "[Hold]", "blocks fed so; without: every other", refers="blocks"),
        _amount("current", "1 A", ("A", "10 mA", "10 A"), "most that a train draws there", "1 A"),
        _amount("voltage", "12 V", ("V", "3 V", "30 V"), "of the track", "12 V"),
        Key("current_kind", CHOICE, "DC", "AC or DC on the rails", "DC", words=("DC", "AC")),
        _fuse("one for each feed"),
        Key("polarity", CHOICE, "normal", "which rail is live", "normal", words=("normal", "reversed")),
        PIN_CURRENT,
        Key("meets", NAMES, "[North]", "blocks that can be joined to it by wheels", refers="blocks"),
        *_cable("from relay to rail"),
    ),
    12,
)

SECTIONS = tuple(
    replace(section, group=GROUP)
    for section in (SURROUNDINGS, SOURCES, COIL_PARTS, MAGNETS, SENSOR_PARTS, FEED_PARTS)
)
