"""What the compiler makes of a layout: the plan by index, and every complaint with its line."""

from __future__ import annotations

import re

import pytest

from boardfile import valley
from reedlogic import words as w
from reedway.boardfile.compile import compile_layout


def test_the_plan_by_index() -> None:
    rules = """\
  - at: N1 hit
    while: [siding in service, CALL out, exit to A]
    do: [pull in CALL, pull in SENT, throw ends to B, start let out, caution "look at H" hold H]
  - as_soon_as: [CALL in, ends to B]
    do: [Hold goes]
  - at: hand go pressed
    do: [note "by hand", caution "look at H" hold H, caution "look"]
"""
    plan = valley.compiled(rules).plan
    # 8 rests of the longest pulse (100 + 10 ms), late_ms, and 1: DESIGN section 4
    assert plan[0] == (20, 8 * 110 + 20 + 1, 30_000, 0)
    assert plan[1][:4] == (
        (w.IN_SENSOR, 5, 20, 2000, 20_000),
        (w.IN_SENSOR, 5, 20, 2000, 0),
        (w.IN_SENSOR, 5, 20, 0, 20_000),
        (w.IN_LEVEL, 5, 20, 0, 0),
    )
    assert [kind for kind, *_ in plan[2]] == [w.IN_LEVEL, w.IN_LEVEL, w.IN_BUTTON, w.IN_BUTTON]
    assert plan[3] == (33, w.O_STOP, 0)
    assert plan[4] == (3, 2, 0, 0, 0)
    assert plan[5] == (2, 1)
    assert plan[6] == (1, 2, 0)
    exit_turnout, entry, yard = plan[7]
    assert exit_turnout == (0, 1, 80, 0, 0, 30_000, 4, 10_000, w.NONE, 4, 300)
    assert entry[:5] == (2, 3, 110, 1, 1)  # with the relay's time; without a supply; after exit
    assert yard[:5] == (4, 5, 80, 1, 0)
    assert plan[8] == ((1500, 20, 30, 1), (0, 0, 0, 0))
    assert plan[9] == (4000, 120_000)
    assert plan[10] == (1, 0)  # the first caution holds Hold, the second nothing
    assert plan[11] == (1, 0)
    assert plan[12] == ((w.L_RULES, 0), (w.L_FED, 0))
    assert plan[13] == 5
    hit, pressed = plan[14]
    conditions = (w.W_RELAY, 1, 0, w.W_PANEL, 1, 1, w.W_POSITION, 1, 0, w.W_KNOWN, 1, 1)
    acts = (w.OP_SET, 0, 3, w.OP_THROW_B, 0, 3, w.OP_START, 0, 1, w.OP_SET, w.W_CAUTION, 1)
    assert hit == (0, (conditions, acts))
    assert pressed == (32, ((), (w.OP_SET, w.W_NOTE, 1, w.OP_SET, w.W_CAUTION, 3)))
    assert plan[15] == (
        ((0, 1, 1, w.W_LEVEL, 8, 8), (w.OP_FOLLOW, 0, 4)),
        ((0, 1, 1, w.W_POSITION, 3, 3, w.W_KNOWN, 3, 3), (w.OP_SET, w.W_GO, 1)),
    )
    assert plan[16] == (((w.W_PANEL, 1, 1), (1, 0, 0, 0), 3, 1, 3),)


def test_names_by_number() -> None:
    made = valley.compiled('  - {at: N1 hit, do: [note "by hand", caution "look", fault "halt"]}\n')
    names = made.names
    assert names.inputs[:6] == ["N1", "N2", "N3", "siding full", "exit contact", "track power"]
    assert names.inputs[6:30] == [""] * 24
    assert names.inputs[30:] == ["siding", "third train", "hand go", "halt"]
    assert names.input_words[30] == ["in service", "out of service"]
    assert names.blocks == ["Hold", "Loop", "track feed"]
    assert names.turnouts[0] == ["exit", "A", "B"]
    assert names.coils[2:4] == ["entry to A", "entry to B"]
    assert (names.notes, names.cautions, names.faults) == (["by hand"], ["look"], ["halt"])
    assert names.standing == [["FULL is in exactly while siding full occupied and CALL in", 38]]


def test_relays_beyond_the_first_word() -> None:
    relays = "".join(f"  X{i}: {{}}\n" for i in range(60))
    head = valley.HEAD.replace("  CALL: {}\n", f"{relays}  CALL: {{}}\n")
    plan = valley.compiled("  - {at: N1 hit, while: [X31 in], do: [pull in X0, pull in CALL]}\n", head).plan
    assert plan[14] == ((0, ((1, 2, 2), (w.OP_SET, 0, 1, w.OP_SET, 2, 1))),)
    assert plan[4] == (63, 0, 0, 2, 0)


def only(rules: str, head: str = valley.HEAD) -> tuple[int, str]:
    """The one complaint: line within the rules, and its words."""
    (complaint,) = valley.complaints(rules, head)
    line, message = complaint.split(": ", 1)
    return int(line), message


OPPOSITES = [
    ("pull in CALL", "drop out CALL"),
    ("Hold goes", "Hold stops"),
    ("throw exit to A", "throw exit to B"),
    ("throw ends to A", "throw entry to B"),
    ("start watch", "cancel watch"),
    ("restart watch", "cancel watch"),
    ("light L1", "darken L1"),
]


@pytest.mark.parametrize(("first", "second"), OPPOSITES)
@pytest.mark.parametrize("turned", [False, True])
def test_two_rules_of_one_event_that_disagree(first: str, second: str, turned: bool) -> None:
    if turned:
        first, second = second, first
    rules = (
        f"  - at: N1 hit\n    do: [{first}]\n"
        f"  - at: N2 hit\n    do: [{second}]\n"
        f"  - at: N1 hit\n    while: [SENT in, siding in service]\n    do: [{second}]\n"
    )
    line, message = only(rules)
    first_line = int(re.search(r"line (\d+)", message)[1])  # type: ignore[index]
    assert line == 7
    assert first_line == valley.HEAD.count("\n") + 1 + 2
    assert f"this rule says '{second}'" in message and f"says '{first}'" in message


@pytest.mark.parametrize(("first", "second"), OPPOSITES)
@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("SENT in", "SENT out"),
        ("N2 closed", "N2 open"),
        ("exit to A", "exit not known"),
        ("L held", "L not held"),
    ],
)
def test_they_may_when_they_exclude_each_other(first: str, second: str, one: str, other: str) -> None:
    rules = (
        f"  - {{at: N1 hit, while: [siding in service, {one}], do: [{first}]}}\n"
        f"  - {{at: N1 hit, while: [{other}, siding in service], do: [{second}]}}\n"
    )
    assert valley.complaints(rules) == []


@pytest.mark.parametrize(("first", "second"), OPPOSITES)
def test_one_rule_that_contradicts_itself(first: str, second: str) -> None:
    line, message = only(f"  - at: N1 hit\n    do: [{first},\n         {second}]\n")
    assert line == 3 and f"'{first}' and '{second}' contradict each other" in message


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("CALL in", "CALL out"),
        ("N1 closed", "N1 open"),
        ("exit to A", "ends to B"),
        ("exit not known", "ends known"),
        ("siding in service", "siding out of service"),
        ("Hold goes", "Hold stops"),
        ("watch running", "watch not running"),
        ("L held", "L not held"),
        ("N1 at rest", "N1 not at rest"),
    ],
)
@pytest.mark.parametrize("kind", ["at: N2 hit\n    while", "as_soon_as"])
def test_conditions_that_never_hold_together(kind: str, one: str, other: str) -> None:
    line, message = only(f"  - {kind}: [SENT in, {one},\n     {other}]\n    do: [light L1]\n")
    assert line == (3 if "while" in kind else 2)
    assert f"'{one}' and '{other}' can never hold together" in message


def test_a_follower_whose_conditions_never_hold_together() -> None:
    head = valley.HEAD.replace("[siding full occupied, CALL in]", "[siding full occupied, siding full free]")
    line, message = only("", head)
    assert "can never hold together" in message
    assert line == 38 - head.count("\n") - 1


def test_every_complaint_of_the_rules_at_once_each_on_its_line() -> None:
    rules = """\
  - at: N1 hits
    while:
      - CALLL in
      - SENT in
    do:
      - pul in SENT
      - Hold goes
  - as_soon_as: [SENT in]
    do: [restart watch, note "hello"]
"""
    lines = [int(complaint.split(":")[0]) for complaint in valley.complaints(rules)]
    assert lines == [1, 3, 6, 9, 9]


def test_too_many_rules_of_one_event() -> None:
    rule = "  - {at: N1 hit, do: [light L1]}\n"
    assert valley.complaints(rule * 30) == []
    line, message = only(rule * 31)
    assert line == 31 and "31 rules at 'N1 hit'; at most 30" in message


def test_too_many_standing_rules() -> None:
    rule = "  - {as_soon_as: [N1 closed], do: [light L1]}\n"
    assert valley.complaints(rule * 99) == []
    line, message = only(rule * 101)
    assert line == 100 and "102 as_soon_as rules and followers; at most 100" in message


def test_a_board_file_that_does_not_fit_on_the_board() -> None:
    conditions = "siding in service, CALL out, ends known, Hold goes, L not held, SENT in, N2 open"
    acts = "pull in CALL, light L1, restart let out, throw ends to B, start watch, Loop goes"
    events = [f"N{i} {what}" for i in (1, 2) for what in ("hit", "opens", "rearmed", "at rest")]
    events += [
        "let out runs out",
        "watch runs out",
        "start",
        "stop",
        "go on",
        "acknowledge",
        "hand go pressed",
    ]
    rules = [f"  - {{at: {event}, while: [{conditions}], do: [{acts}]}}\n" for event in events]
    assert valley.complaints("".join(rules * 10)) == []
    line, message = only("".join(rules * 30))
    assert line == 30 * len(rules) and "at most 16384 fit on the board" in message


def test_too_many_notes() -> None:
    rule = '  - {{at: N1 hit, while: [], do: [note "number {}"]}}\n'
    rules = "".join(rule.format(i).replace("N1", "N2" if i % 2 else "N1") for i in range(31))
    line, message = only(rules)
    assert line == 31 and "more than 30 different notes" in message
    assert valley.complaints(rules.replace("number 30", "number 1")) == []


@pytest.mark.parametrize("act", ["throw exit to B", "Hold goes", "throw ends to A"])
def test_a_sensor_without_rearm_may_not_throw_or_feed(act: str) -> None:
    _line, message = only(f"  - {{at: N3 hit, do: [{act}]}}\n")
    assert message.startswith(f"sensor N3 has rearm 0, and its hit says '{act}'")
    assert valley.complaints(f"  - {{at: N3 opens, do: [{act}]}}\n") == []
    assert valley.complaints("  - {at: N3 hit, do: [Hold stops, pull in CALL]}\n") == []


def test_orders_of_gangs_that_form_a_ring() -> None:
    head = valley.HEAD.replace(
        "[exit, entry]\n", "[exit, entry]\n  back: [entry, yard]\n  third: [yard, exit]\n"
    )
    layout = valley.layout_of("", head)
    with pytest.raises(valley.LayoutError, match="form a ring: exit after yard after entry after exit"):
        compile_layout(layout)
    layout.gangs.pop()
    assert compile_layout(layout).plan[7][2][4] == 2  # yard waits for entry


def test_gang_members_without_a_position_in_common() -> None:
    head = valley.HEAD.replace("ends: [exit, entry]", "ends: [exit, entry]\n  mixed: [exit, yard]")
    _, message = only("  - {at: N1 hit, do: [throw mixed to B]}\n", head)
    assert "mixed" in message
    assert valley.complaints("  - {as_soon_as: [mixed known], do: [light L1]}\n", head) == []


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("relays_in: [CALL]", "relays_in: [FULL]", "follows its pulled_in_while"),
        ("turnouts: [ends to B]", "turnouts: [ends to C]", "'ends to C' is no position"),
        ("turnouts: [ends to B]", "turnouts: [ends to B, exit to A]", "contradicts an earlier position"),
        ("[siding in service]", "[siding in]", "start two: 'siding in' is no condition"),
        ("[siding in service]", "[N1 closed]", "is not about a switch"),
        ("[siding in service]", "[siding in service, siding out of service]", "contradicts another switch"),
    ],
)
def test_starts(old: str, new: str, words: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(valley, "STARTS", valley.STARTS.replace(old, new))
    (complaint,) = valley.complaints("")
    assert words in complaint


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("order: stop", "order: stopp", "'stopp' is no order"),
        ("order: stop", "order: hold Yard track", "has no block"),
        ("shows: H goes", "shows: H goez", "cannot be shown"),
        ("pulse: 100 ms, relay_operate: 10 ms", "pulse: 245 ms, relay_operate: 10 ms", "make 255 ms"),
    ],
)
def test_wrong_parts(old: str, new: str, words: str) -> None:
    (complaint,) = valley.complaints("", valley.HEAD.replace(old, new))
    assert words in complaint


def test_the_pause_is_the_owners_when_longer() -> None:
    head = valley.HEAD.replace("board: pico\n", "board: pico\nlimits: {coil_pause: 3 s, late: 50 ms}\n")
    assert valley.compiled("", head).plan[0][:2] == (50, 3000)


def test_lamps_show_places() -> None:
    for shows, part in [
        ("train belongs at L", (w.L_BELONGS, 1)),
        ("L held", (w.L_HELD, 1)),
        ("L goes", (w.L_FED, 1)),
        ("caution", (w.L_CAUTION, 0)),
        ("fault", (w.L_FAULT, 0)),
        ("running", (w.L_RUNNING, 0)),
    ]:
        head = valley.HEAD.replace("shows: H goes", f"shows: {shows}")
        assert valley.compiled("", head).plan[12][1] == part
