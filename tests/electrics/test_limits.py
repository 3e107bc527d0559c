"""The two verdicts, and the limits that the board file carries."""

import json
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from electrics import made
from reedlogic import boardfile as on_board
from reedway.boardfile.compile import compile_layout
from reedway.electrics import coilreport, coils, limits, verdicts
from reedway.problems import LayoutError


def first(text=None, **changes):
    return limits.wired_turnouts(made.layout(text, **changes))[0]


def test_a_bank_throws_and_saves():
    wired = first()
    assert verdicts.throws(wired).answer == verdicts.YES
    assert verdicts.survives(wired).answer == verdicts.YES
    assert verdicts.stuck(wired).saved.answer == verdicts.YES
    bank = verdicts.bank(wired)
    # 10 mF at 24 V: half C V2; 120 % of it through 100 ohm from empty to the needed voltage.
    assert bank.energy_j == pytest.approx(2.88)
    assert 5 < bank.needed_v < 24
    assert 0 < bank.recharge_ms < 1500
    assert bank.throws_per_min == pytest.approx(60_000 / (bank.recharge_ms + 80))


def test_the_bank_bounds_the_energy_of_a_pulse():
    # At most 120 % of 2.88 J and 24 V squared over 100 ohm for the time: 3.456 + 5.76 x on time.
    wired = first(made.section(coil="{resistance: 0.5 ohm, copper: 14 g}"))
    assert wired.pulse_j == pytest.approx(3.456 + 5.76 * wired.on_s)


def test_a_plain_supply_does_not_save_a_stuck_coil():
    # 4.5 ohm on 16 V and a fuse T 1 A: the worked example in which the fuse is not proven to blow in time.
    stuck = verdicts.stuck(first(made.section(source=made.PLAIN)))
    assert stuck.saved.answer == verdicts.NO
    assert 5 < stuck.seconds_to_class < 10
    assert "times the fuse's rating" in stuck.saved.because[0]
    bare = verdicts.stuck(first(made.section(source="{voltage: 16 V}")))
    assert bare.saved.answer == verdicts.NO
    assert "arm line" in bare.saved.because[0]


def test_will_throw_and_will_survive_are_two_verdicts():
    strong = first(
        made.section(coil="{resistance: 1.2 ohm, winding_wire: 0.2 mm, throws_at: 3 V}", source=made.PLAIN)
    )
    assert verdicts.throws(strong).answer == verdicts.YES
    assert verdicts.survives(strong).answer == verdicts.NO
    weak = first(
        made.section(coil="{resistance: 40 ohm, winding_wire: 0.2 mm, throws_at: 15.5 V}", source=made.PLAIN)
    )
    assert verdicts.throws(weak).answer == verdicts.NO
    assert verdicts.survives(weak).answer == verdicts.YES
    unknown = first(made.section(coil="{resistance: 4.5 ohm}"))
    assert verdicts.throws(unknown).answer == verdicts.UNKNOWN
    assert verdicts.survives(unknown).answer == verdicts.UNKNOWN
    assert verdicts.stuck(unknown).saved.answer == verdicts.UNKNOWN


def test_only_so_warm_after_so_many_pulses_is_enough():
    wired = first(made.section(coil="{resistance: 4.5 ohm, warms: 8 K, after: 10}", source=made.PLAIN))
    assert coils.rise_k(wired.coil, wired.pulse_j) == pytest.approx(0.8)
    assert verdicts.survives(wired).answer in (verdicts.YES, verdicts.NO)


def test_ac_pulse_is_whole_cycles_and_dc_draws_more():
    source = "{voltage: 16 V, current_kind: AC, fuse: T 1 A}"
    coil = "{resistance: 4.5 ohm, copper: 14 g, throws_at: 9 V, ac_current: 2 A, driver: relay}"
    layout = made.layout(made.section(coil=coil, source=source))
    report = coilreport.reports(layout)[0]
    assert report.pulse_ms_recommended % 20 == pytest.approx(0)
    assert report.dc_excess == pytest.approx(8 / 4.5)  # Z = 16 V / 2 A
    assert report.on_ms == pytest.approx(80 + 46.5)  # the relay lets go late
    assert any("times the current of AC" in line for line in coilreport.text(layout))


def test_the_board_file_carries_the_stricter_budget():
    hot = made.section(source=made.PLAIN, around="{warmest: 50 °C}")
    layout = made.layout(hot)
    assert verdicts.survives(limits.wired_turnouts(layout)[0]).answer == verdicts.NO
    tight = limits.tighten(layout)
    plan = compile_layout(layout).plan
    cool = tight.turnouts[0].cool_ms
    assert cool > layout.turnouts[0].cool_ms
    assert [row[6:8] for row in plan[7]] == [(4, cool), (4, cool)]
    note = limits.notes(layout)[0]
    assert (note.line, "build takes pulses 4, cool" in note.message) == (layout.turnouts[0].line, True)
    assert limits.notes(tight) == []
    wired = limits.wired_turnouts(tight)[0]
    assert verdicts.survives(wired).answer == verdicts.YES
    decoded = on_board.decode(compile_layout(layout).board_file)
    assert [row[6:8] for row in decoded[7]] == [(4, cool), (4, cool)]


def test_an_owners_stricter_budget_stands():
    layout = made.layout(None, **{"pulses: 4": "pulses: 1"})
    assert [(t.pulses, t.cool_ms) for t in limits.tighten(layout).turnouts] == [(1, 10_000), (1, 10_000)]
    bare = made.layout("")
    assert limits.tighten(bare).turnouts == bare.turnouts


def test_an_unsafe_pulse_is_refused_with_the_arithmetic():
    coil = "{resistance: 1 ohm, copper: 1 g, throws_at: 3 V}"
    layout = made.layout(made.section(coil=coil, source=made.PLAIN))
    with pytest.raises(LayoutError) as error:
        compile_layout(layout)
    said = str(error.value)
    # 16 V squared over 1 ohm (warm 35 degrees C: 1.06) for 80 ms is 19.3 J; 1 g of copper takes 0.385 J/K.
    for words in (
        "turnout exit: a pulse of 80 ms puts 19.3 J into a coil of 0.385 J/K",
        "allowed are",
        "at most",
    ):
        assert words in said
    assert error.value.complaints[0].line == layout.turnouts[0].line
    longest = int(said.split("at most ")[1].split(" ms")[0])
    assert 5 < longest < 80
    good = made.layout(made.section(coil=coil, source=made.PLAIN), **{"pulse: 80 ms": f"pulse: {longest} ms"})
    assert compile_layout(good).plan[7][0][6] >= 1


def test_never_a_pulse_that_no_pause_makes_safe():
    coil = "{resistance: 0.5 ohm, copper: 0.1 g}"
    with pytest.raises(LayoutError, match="no pulse is short enough; lower the voltage"):
        limits.tighten(made.layout(made.section(coil=coil, source=made.PLAIN)))


def test_json_and_text_say_the_same():
    layout = made.layout()
    data = json.loads(json.dumps(coilreport.as_json(layout), allow_nan=False))
    assert [row["turnout"] for row in data["turnouts"]] == ["exit", "entry"]
    assert data["turnouts"][0]["will_throw"]["answer"] == "yes"
    assert data["turnouts"][0]["pulse_ms_max"] is None  # without end: the bank gives no more
    text = "\n".join(coilreport.text(layout))
    for words in (
        "will throw:   yes",
        "will survive: yes",
        "wait before touching",
        "the owner's budget stands",
    ):
        assert words in text


def test_what_is_missing_is_said():
    text = "\n".join(coilreport.text(made.layout("")))
    assert "Nothing is known yet about exit, entry" in text
    slow = made.layout(made.section(source=made.BANK.replace("100 ohm", "470 ohm")))
    assert any("WARNING: the file says recharge 1500 ms" in line for line in coilreport.text(slow))


ORDER = {verdicts.YES: 1, verdicts.NO: 0}
BASE = made.layout()


def answer(ohm, gram, volts, banked, pulse_ms, warm_c=35.0, pulses=4):
    """Does it survive, worked out from the parts of one loaded layout."""
    electrics = BASE.electrics
    part = replace(electrics.coil_parts[0], resistance_20_ohm=ohm, copper_kg=gram / 1000, winding_mm=None)
    source = replace(electrics.sources[0], voltage_v=volts, bank_f=4700e-6 if banked else 0.0)
    around = replace(electrics.surroundings, warmest_c=warm_c)
    changed = replace(electrics, coil_parts=[part], sources=[source], surroundings=around)
    turnout = replace(BASE.turnouts[0], pulse_ms=pulse_ms, pulses=pulses)
    layout = replace(BASE, electrics=changed, turnouts=[turnout])
    return ORDER[verdicts.survives(limits.wired_turnouts(layout)[0]).answer]


@settings(max_examples=200, deadline=None)
@given(
    st.floats(0.5, 60),
    st.floats(0.5, 40),
    st.floats(6, 30),
    st.booleans(),
    st.integers(5, 250),
    st.floats(1, 3),
    st.floats(0, 25),
)
def test_a_harder_case_never_survives_what_an_easier_does_not(ohm, gram, volt, banked, pulse, by, extra):
    base = answer(ohm, gram, volt, banked, pulse)
    assert answer(ohm, gram, volt * by, banked, pulse) <= base
    assert answer(ohm, gram / by, volt, banked, pulse) <= base
    assert answer(ohm, gram, volt, banked, int(pulse * by)) <= base
    assert answer(ohm, gram, volt, banked, pulse, 35 + extra) <= base
    assert answer(ohm, gram, volt, banked, pulse, 35, pulses=9) <= base


def test_both_answers_come_up():
    assert answer(4.5, 14, 16, False, 20) == 1
    assert answer(1.0, 5, 24, False, 200) == 0
