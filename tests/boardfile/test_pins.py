"""Pin tables and the complaints about terminals."""

from __future__ import annotations

import pytest

from reedway.boardfile import pins, terminals
from reedway.layout.model import Block, Button, Lamp, Layout, Level, Sensor, Text, Turnout


def t(text: str, line: int = 1) -> Text:
    return Text(text, line)


def sensor(name: str, terminal: str, line: int) -> Sensor:
    return Sensor(name, line, t(terminal, line), 5, 20, 2000, 0)


def turnout(name: str, first: str, second: str, line: int) -> Turnout:
    return Turnout(name, line, "A", "B", t(first, line), t(second, line), None, 80, 4, 10000, 30000, False)


def layout(**parts: object) -> Layout:
    return Layout("valley.yaml", b"", "0" * 64, "Valley", "pico", **parts)  # type: ignore[arg-type]


def three_trains(sensors: int, coils: int, feeds: int, panel: bool) -> Layout:
    made = layout(
        sensors=[sensor(f"S{i}", f"sensor {i + 1}", 10 + i) for i in range(sensors)],
        turnouts=[
            turnout(f"T{i}", f"coil {2 * i + 1}", f"coil {2 * i + 2}", 40 + i) for i in range(coils // 2)
        ],
        blocks=[Block(f"B{i}", 60 + i, t(f"feed {i + 1}", 60 + i)) for i in range(feeds)],
        track_feed=t("track feed", 70),
    )
    if panel:
        made.lamps = [Lamp("L1", 80, t("lamp 1", 80), None)]
        made.buttons = [Button("go", 90, t("panel 1", 90), 5, 20)]
    return made


@pytest.mark.parametrize("board", ["pico", "pico2"])
def test_the_tables_use_only_pins_of_the_header(board: str) -> None:
    # Pico data sheet, "Pinout": GP0 to GP22 and GP26 to GP28 are on the header, 26 in all.
    assert len(terminals.USABLE) == 26
    assert set(pins.terminal_table(board).values()) <= set(terminals.USABLE)
    assert not set(pins.reserved(board)) & set(terminals.USABLE)


def test_coils_count_up_without_a_gap() -> None:
    table = pins.terminal_table("pico")
    assert [table[f"coil {i}"] for i in range(1, 15)] == list(range(14))


def test_there_is_a_sensor_terminal_for_each_pin() -> None:
    table = pins.terminal_table("pico")
    assert sorted(table[f"sensor {i}"] for i in range(1, 27)) == sorted(terminals.USABLE)


@pytest.mark.parametrize(
    ("sensors", "coils", "feeds", "panel"),
    [(9, 4, 4, True), (7, 6, 4, True), (5, 8, 4, True), (12, 4, 4, False), (5, 8, 4, False)],
)
def test_a_three_train_layout_fits_with_arm_line(sensors: int, coils: int, feeds: int, panel: bool) -> None:
    made = three_trains(sensors, coils, feeds, panel)
    assert pins.check_pins(made) == []
    assert terminals.has_arm(made)
    used = terminals.pins_used(made)
    assert len(used) == sensors + coils + feeds + 2 + 6 * panel
    assert sorted([*used, *terminals.pins_free(made)]) == list(terminals.USABLE)


def test_twelve_sensors_and_eight_coils_fit_without_a_panel() -> None:
    made = three_trains(5, 8, 4, False)
    names = [10, 11, 12, 13, 14, 15, 20]
    made.sensors += [sensor(f"X{n}", f"sensor {n}", n) for n in names]
    assert pins.check_pins(made) == []
    assert len(terminals.pins_used(made)) == 26


def test_arm_line_gives_way_to_a_named_terminal_but_not_when_named_itself() -> None:
    made = three_trains(2, 4, 1, False)
    made.sensors.append(sensor("X", "sensor 21", 20))
    assert pins.check_pins(made) == [] and not terminals.has_arm(made)
    made.terminals, made.terminal_lines = {"arm": 28}, {"arm": 5}
    (complaint,) = pins.check_pins(made)
    assert complaint.line == 20 and "GPIO 28 is used twice" in complaint.message


@pytest.mark.parametrize(
    ("terminal", "gpio", "words"),
    [
        ("sensor 1", 24, "senses the USB power"),
        ("sensor 1", 25, "LED"),
        ("sensor 1", 30, "has no GPIO 30"),
        ("sensr 1", 3, "did you mean 'sensor 1'?"),
        ("lamp 1", 3, "shift register"),
    ],
)
def test_wrong_overrides(terminal: str, gpio: int, words: str) -> None:
    made = layout(terminals={terminal: gpio}, terminal_lines={terminal: 7})
    (complaint,) = pins.check_pins(made)
    assert complaint.line == 7 and words in complaint.message


def test_a_moved_terminal_may_collide() -> None:
    made = three_trains(3, 4, 1, False)
    made.terminals, made.terminal_lines = {"Sensor  1": 2}, {"Sensor  1": 50}
    (complaint,) = pins.check_pins(made)
    assert complaint.line == 50
    assert "GPIO 2 is used twice" in complaint.message and "coil 3" in complaint.message


def test_a_terminal_named_twice() -> None:
    made = layout(sensors=[sensor("N1", "sensor 1", 4), sensor("N2", "sensor 1", 5)])
    (complaint,) = pins.check_pins(made)
    assert complaint.line == 5
    assert "taken by sensor N1 (line 4)" in complaint.message and "free: sensor 2" in complaint.message


def test_coil_and_sensor_on_one_pin() -> None:
    made = layout(sensors=[sensor("N1", "sensor 9", 4)], turnouts=[turnout("exit", "coil 5", "coil 6", 9)])
    (complaint,) = pins.check_pins(made)
    assert complaint.line == 9 and "GPIO 4 is used twice" in complaint.message


@pytest.mark.parametrize(
    ("made", "words"),
    [
        (layout(sensors=[sensor("N1", "coil 1", 4)]), "is an output and this is an input"),
        (layout(blocks=[Block("Hold", 4, t("sensor 1", 4))]), "is an input and this is an output"),
        (layout(blocks=[Block("Hold", 4, t("coil 1", 4))]), "allowed: feed 1 to 13"),
        (layout(sensors=[sensor("N1", "panel 1", 4)]), "only switches, buttons and position contacts"),
        (layout(lamps=[Lamp("L", 4, t("feed 1", 4), None)]), "allowed: lamp 1 to 30"),
        (layout(sensors=[sensor("N1", "sensor 27", 4)]), "is no terminal"),
        (layout(sensors=[sensor("N1", "senser 2", 4)]), "did you mean 'sensor 2'?"),
        (
            layout(levels=[Level("D", 4, t("panel 1", 4), "detector", 5, 20)]),
            "only switches, buttons and position contacts",
        ),
        (layout(track_feed=t("coil 1", 4)), "allowed: track feed, feed 1 to 13"),
    ],
)
def test_wrong_kind_of_terminal(made: Layout, words: str) -> None:
    (complaint,) = pins.check_pins(made)
    assert complaint.line == 4 and words in complaint.message


def test_coils_apart() -> None:
    made = three_trains(0, 4, 0, False)
    made.terminals, made.terminal_lines = {"coil 3": 10}, {"coil 3": 6}
    (complaint,) = pins.check_pins(made)
    assert complaint.line == 6 and "GPIO 2" in complaint.message and "consecutive" in complaint.message


def test_coils_may_move_together() -> None:
    made = three_trains(0, 4, 0, False)
    made.terminals = {f"coil {i + 1}": 5 + i for i in range(4)}
    assert pins.check_pins(made) == []
