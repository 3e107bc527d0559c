"""Terminals, wires, parts, the drawing, and what is refused or warned of."""

import re
from itertools import combinations
from xml.etree import ElementTree

import pytest

from electrics import made
from hardware.netlist import BY_NAME
from reedlogic import boardfile as b
from reedway import cli
from reedway.electrics import diagram, sheet, wirechecks, wires, wiring

EXAMPLES = (
    "two-trains",
    "three-trains-go-sensor",
    "three-trains-interlocked",
    "three-trains-running-times",
    "coil-protector",
    "sensor-logger",
)


def said(layout, which="refused"):
    return "\n".join(complaint.message for complaint in getattr(wirechecks.Checks(layout).run(), which))


def test_terminals_and_edge_pins():
    found = wiring.wire(made.layout())
    where = {one.what: one.where for one in found.terminals}
    # Pin numbers of the board's data sheet, "Pinout": GP0 pin 1, GP12 pin 16, GP26 pin 31, GP28 pin 34.
    assert where["turnout exit to A"] == "GPIO 0 (pin 1)"
    assert where["sensor N1"] == "GPIO 12 (pin 16)"
    assert where["track feed"] == "GPIO 26 (pin 31)"
    assert where["lamp running lamp"] == "lamp register 1, output A"
    assert len(set(wiring.EDGE_PIN.values())) == 26


def test_wires_and_their_loss():
    runs = {run.what: run for run in wiring.wire(made.layout()).runs}
    run = runs["turnout exit to A"]
    # IEC 60228 class 5: 39.0 ohm/km for 0.5 mm2 at 20 degrees C; 3 m there and back, copper at 60 degrees C.
    assert run.drop_v == pytest.approx(run.current_a * 2 * run.length_m * 0.039 * (1 + 3.93e-3 * 40))
    assert "source coil bank to the drivers" in runs
    assert len([what for what in runs if what.startswith("sensor ")]) == 2


def test_parts_are_generic_and_rated():
    listed = wiring.wire(made.layout()).parts
    parts = {part.what: part for part in listed}
    assert parts["N-channel MOSFET"].count == 4
    assert parts["freewheel diode, fast or Schottky"].count == 4
    pulls = next(part for part in listed if part.why.startswith("from each gate to ground"))
    assert (pulls.count, pulls.rating) == (5, "10 kohm, 0.25 W")  # four coils and the track feed
    assert parts["bank capacitor"].rating == "10000 uF, 35 V"
    assert parts["charging resistor"].rating == "100 ohm, 12 W or more"  # 24 V squared over 100 ohm, twice
    assert parts["discharging resistor"].rating == parts["charging resistor"].rating
    assert (parts["lamp"].count, parts["lamp"].rating) == (4, "12 V, 2 W to 3 W")  # one for each coil
    # 24 V over 4.5 ohm is 5.3 A; with coil's and source's wires, 4 m there and back at 0.039 ohm/m, 5.0 A.
    assert parts["test switch"].rating.split(", ")[1] in parts["freewheel diode, fast or Schottky"].rating
    assert parts["test switch"].rating.startswith("on and off, 5 A")
    pairs = {part.why: part.count for part in listed if part.what == "terminal"}
    assert pairs == {"each input, coil, feed and switched supply": 8, "beside each sensor": 2}
    assert parts["coil supply, finished, with plug"].rating == "24 V DC, isolated output, 0.3 A"
    assert parts["5 V supply, finished, with plug"].rating == "0.6 A"
    assert parts["shift register, 8 outputs with latch"].count == 1
    assert (
        parts["P-channel MOSFET"].rating
        == "60 V or more, 0.5 A or more, gate bears 20 V, RDS(on) stated at VGS = -10 V"
    )  # 24 V, 0.24 A, twice
    bare = {part.what for part in wiring.wire(made.layout("")).parts}
    assert "coil driver" in bare
    relays = made.layout(made.section(coil="{resistance: 4.5 ohm, copper: 14 g, driver: relay}"))
    assert {"relay for a coil"} < {part.what for part in wiring.wire(relays).parts}


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"sensor": "{output: push-pull, level: 5 V}"}, "5 V would come to a pin; a pin bears 3.3 V"),
        ({"sensor": "{closes_to: 3.3 V}"}, "closes to 3.3 V"),
        ({"coil": "{resistance: 4.5 ohm, pin_current: 20 mA}"}, "draws 20 mA from a pin; a pin gives 12 mA"),
        (
            {"coil": "{resistance: 4.5 ohm}", "source": "{voltage: 16 V, current_kind: AC}"},
            "the diode inside a MOSFET still feeds the coil",
        ),
        (
            {
                "coil": "{resistance: 4.5 ohm, driver: relay, suppression: diode}",
                "source": "{voltage: 16 V, current_kind: AC}",
            },
            "a diode across a coil on AC is a short every other half wave",
        ),
        ({"coil": "{resistance: 4.5 ohm, active: low}"}, "undecided at reset"),
        ({"source": "{voltage: 16 V, current_kind: AC, bank: 1000 uF}"}, "a capacitor bank holds DC"),
        (
            {"coil": made.COIL[:-1] + ", cable: 30 m, gauge: 0.14 mm2}", "source": made.PLAIN},
            "its wires starve it",
        ),
        (
            {"source": "{voltage: 16 V, fuse: T 1.25 A, gauge: 30 AWG}"},
            "use a thicker wire or a smaller fuse",
        ),
    ],
)
def test_what_cannot_work_is_refused(changes, words):
    assert words in said(made.layout(made.section(**changes)))


def test_check_and_build_refuse_what_cannot_work(tmp_path, capsys):
    text = made.source_of("two-trains") + made.section(source="{voltage: 16 V, current_kind: AC}")
    path = tmp_path / "ac.yaml"
    path.write_text(text, encoding="utf-8")
    line = 1 + text.splitlines().index(next(one for one in text.splitlines() if one.startswith("  exit:")))
    for command in (["check", str(path)], ["build", str(path), "--out", str(tmp_path / "board")]):
        assert cli.main(command) == 1
        assert f"ac.yaml:{line}: turnout exit: a transistor switches DC only" in capsys.readouterr().err
    assert not (tmp_path / "board").exists()


def test_a_relay_on_ac_wants_a_second_one_in_series():
    relay = made.section(
        coil="{resistance: 4.5 ohm, copper: 14 g, driver: relay}",
        source="{voltage: 16 V, current_kind: AC, fuse: T 1 A}",
    )
    assert "a welded contact holds the coil on" in said(made.layout(relay), "warned")
    switched = made.source_of("two-trains").replace(
        "recharge: 1500 ms", "recharge: 1500 ms, terminal: supply 1, lead: 20 ms, trail: 20 ms"
    )
    layout = made.load_bytes("made.yaml", (switched + relay).encode())
    assert "a welded contact" not in said(layout, "warned")


def test_a_good_wiring_is_not_refused():
    assert said(made.layout()) == ""


def test_pull_downs_on_the_newer_chip():
    text = made.source_of("two-trains").replace("board: pico", "board: pico2")
    layout = made.load_bytes("made.yaml", (text + made.section(sensor="{closes_to: 3.3 V}")).encode())
    # RP2350 erratum E9: about 120 uA over 50 kohm would be 6.0 V.
    assert "erratum E9" in said(layout)
    assert "6.0 V" in said(layout)


def test_all_pins_together():
    drivers = made.section(coil="{resistance: 4.5 ohm, pin_current: 12 mA}", feed="{pin_current: 12 mA}")
    assert "all pins give 50 mA" in said(made.layout(drivers, "three-trains-interlocked"))


def test_a_fuse_and_its_wire_by_the_wiring_rules():
    # T 1 A at 10 A: at most 0.3 s (IEC 60127-2). 30 AWG, 0.0507 mm2, k 115: 34 A2s, so 0.34 s.
    assert wires.short_seconds(wires.awg_mm2(30), 10) == pytest.approx(0.34, abs=0.01)
    assert "smaller fuse" not in said(
        made.layout(made.section(source="{voltage: 16 V, fuse: T 1 A, gauge: 30 AWG}"))
    )
    assert "smaller fuse" in said(
        made.layout(made.section(source="{voltage: 16 V, fuse: T 1.25 A, gauge: 30 AWG}"))
    )


def two_feeds(first, second):
    return made.section() + (
        "  feed_parts:\n"
        f"    first feed: {{of: [Lindholt], {first}}}\n"
        f"    second feed: {{of: [Mill], {second}}}\n"
        f"    third feed: {{of: [Bridge], fuse: T 1 A}}\n"
    )


def test_feeds_that_meet():
    def refused(first, second, which="refused"):
        return said(made.layout(two_feeds(first, second), "three-trains-interlocked"), which)

    meets = "meets: [Mill], fuse: T 1 A"
    assert refused(meets, "fuse: T 1 A") == ""
    assert "opposite polarity" in refused(meets, "fuse: T 1 A, polarity: reversed")
    assert "AC against DC" in refused(meets, "fuse: T 1 A, current_kind: AC")
    assert "the track feed has no fuse" in refused(meets, "fuse: T 1 A", "warned")
    assert "has no fuse" in refused("current: 1 A", "fuse: T 1 A", "warned")
    assert "its fuse carries" in refused("current: 2 A, fuse: T 1 A", "fuse: T 1 A", "warned")


def test_the_track_feeds_fuse_carries_every_train_at_once():
    def warned(fuse):
        rails = f"  feed_parts:\n    all rails: {{current: 0.5 A, fuse: {fuse}}}\n"
        return said(made.layout(made.section() + rails, "three-trains-interlocked"), "warned")

    assert "all 3 trains together draw 1.5 A (0.5 A each), its fuse carries 1 A" in warned("T 1 A")
    assert "together draw" not in warned("T 1.6 A")


def test_feeds_that_change_over_in_one_instant():
    text = made.source_of("three-trains-interlocked") + two_feeds("meets: [Mill], fuse: T 1 A", "fuse: T 1 A")
    rule = "rules:\n  - at: N1 hit\n    do: [Lindholt stops, Mill goes]\n"
    layout = made.load_bytes("made.yaml", text.replace("rules:\n", rule, 1).encode())
    warned = said(layout, "warned")
    assert "put a timer of 60 ms or more between" in warned
    assert "put a timer" not in said(made.load_bytes("made.yaml", text.encode()), "warned")


def test_warnings():
    layout = made.layout(made.section(source="{voltage: 24 V, bank: 4700 uF}", sensor=""))
    warned = said(layout, "warned")
    for words in ("limits nothing when a driver fails", "without a bleeder", "it has no fuse"):
        assert words in warned
    no_feed = made.source_of("two-trains").replace("track_feed: {terminal: track feed}\n", "")
    assert "stay live at stop" in said(made.load_bytes("made.yaml", no_feed.encode()), "warned")


@pytest.mark.parametrize("example", EXAMPLES)
def test_the_list_covers_every_part_of_the_circuits_that_the_layout_uses(example):
    """Counted over hardware/netlists: circuit by circuit, as often as the layout has it."""
    found = wiring.wire(made.layout(made.section(feed=made.FEED), example))
    roles = [one.role for one in found.terminals]
    arm = roles.count(b.P_ARM)
    on_register = sum(one.role == b.P_PANEL and one.what.startswith("contact") for one in found.terminals)
    times = {
        "coil-transistor": roles.count(b.P_COIL),
        "feed-relay": roles.count(b.P_FEED),
        "sensor-contact": roles.count(b.P_INPUT) + on_register,
        "arm-line": arm,
        "bank": sum(bool(source.bank_f) for source in found.layout.electrics.sources),
    }
    needed = {"resistor": 0, "capacitor": 0, "n-mosfet": 0, "p-mosfet": 0, "fuse": 0}
    for name, count in times.items():
        for part in BY_NAME[name].parts.values():
            if part["is"] in needed:
                needed[part["is"]] += count
    lamps, panel = roles.count(b.P_LAMP), roles.count(b.P_PANEL)
    registers = -(-lamps // 8) + -(-panel // 8)
    needed["resistor"] += lamps + panel - on_register + (2 if lamps and arm else 0)
    needed["capacitor"] += registers
    needed["n-mosfet"] += 1 if lamps and arm else 0
    needed["fuse"] += sum(source.fuse is not None for source in found.layout.electrics.sources) - arm
    listed = {
        "resistor": ("resistor", "charging resistor", "bleeder"),
        "capacitor": ("capacitor", "bank capacitor"),
        "n-mosfet": ("N-channel MOSFET", "N-channel MOSFET, small"),
        "p-mosfet": ("P-channel MOSFET",),
        "fuse": ("fuse and holder",),
    }
    for kind, names in listed.items():
        assert sum(part.count for part in found.parts if part.what in names) == needed[kind], kind


def test_the_list_has_the_arm_lines_parts_with_the_values_of_its_circuit():
    listed = [part for part in wiring.wire(made.layout()).parts if part.why.startswith("arm line, ")]
    for name, part in BY_NAME["arm-line"].parts.items():
        if part["is"] in ("resistor", "capacitor"):
            mine = next(one for one in listed if re.search(rf"\b{name}\b", one.why))
            assert mine.what == part["is"]
            assert mine.rating.split(",")[0] == part["value"], name


def test_register_places_are_told_by_the_letters_of_their_pins():
    where = {one.terminal: one.where for one in wiring.wire(made.layout()).terminals}
    assert where["lamp 1"] == "lamp register 1, output A"
    assert where["panel 1"] == "panel register 1, input H"  # the last stage comes out first


def boxes_of(svg):
    """(text, left, top, right, bottom) of every text by the width of a monospaced letter, 0.602 em."""
    root = ElementTree.fromstring(svg)
    wide, high = (float(root.get(side)) for side in ("width", "height"))
    found = []
    for node in root.iter("{http://www.w3.org/2000/svg}text"):
        x, y, size = (float(node.get(key)) for key in ("x", "y", "font-size"))
        found.append((node.text, x, y - size * 0.8, x + len(node.text) * size * 0.602, y + size * 0.2))
    return found, wide, high


@pytest.mark.parametrize("example", EXAMPLES)
@pytest.mark.parametrize("described", [True, False])
def test_drawings_are_legible(example, described):
    text = made.section(feed=made.FEED)
    found = wiring.wire(made.layout(text if described else "", example))
    texts, wide, high = boxes_of(diagram.drawing(found))
    assert len(texts) > 5
    for words, left, top, right, bottom in texts:
        assert 0 <= left < right <= wide, words
        assert 0 <= top < bottom <= high, words
    for one, other in combinations(texts, 2):
        apart = one[3] <= other[1] or other[3] <= one[1] or one[4] <= other[2] or other[4] <= one[2]
        assert apart, (one, other)
    drawn = " ".join(words for words, *_ in texts)
    for terminal in found.terminals:
        if terminal.where.startswith("GPIO"):
            assert re.search(rf"\b{terminal.terminal} GP\d+", drawn), terminal


def joined_boxes(svg):
    """For every box its text, and the texts of the boxes and wires' far ends that touch it, by geometry."""
    root = ElementTree.fromstring(svg)
    lines = [
        tuple(float(node.get(key)) for key in ("x1", "y1", "x2", "y2"))
        for node in root.iter("{http://www.w3.org/2000/svg}line")
    ]
    boxes = [
        tuple(float(node.get(key)) for key in ("x", "y", "width", "height"))
        for node in root.iter("{http://www.w3.org/2000/svg}rect")
        if float(node.get("height")) == sheet.BOX_PX
    ]

    def inside(x, y, box):
        return box[0] - 0.2 <= x <= box[0] + box[2] + 0.2 and box[1] - 0.2 <= y <= box[1] + box[3] + 0.2

    texts = boxes_of(svg)[0]
    found = {}
    for box in boxes:
        words = next(text for text, left, top, *_ in texts if inside(left + 1, top + 5, box))
        found[words] = sum(inside(*line[:2], box) or inside(*line[2:], box) for line in lines)
    return found


@pytest.mark.parametrize("example", EXAMPLES)
@pytest.mark.parametrize("electrics", [made.section(feed=made.FEED), made.section(source=""), ""])
def test_the_arm_switch_lies_between_the_supply_and_the_coils(example, electrics):
    found = wiring.wire(made.layout(electrics, example))
    svg = diagram.drawing(found)
    touching = joined_boxes(svg)
    if any(one.role == b.P_ARM for one in found.terminals):
        assert touching["arm switch"] == 3  # from the fuse, to the bank, from the charge pump
        assert touching["charge pump"] == 2
    coils = [one for one in found.terminals if one.role == b.P_COIL]
    for one in coils:
        assert touching[f"coil {one.what.removeprefix('turnout ')} + diode"] == 2
    dots = ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}circle")
    assert len(list(dots)) == len(coils)


def test_text_has_everything():
    lines = "\n".join(wiring.text(wiring.wire(made.layout())))
    for words in ("terminals", "wires", "parts, by generic type", "under local code", "GPIO 12 (pin 16)"):
        assert words in lines
    assert "none described" in "\n".join(wiring.text(wiring.wire(made.layout(""))))
