"""A hotter, longer, thinner, farther case never makes a verdict kinder."""

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from reedway.electrics import coils, copper, fuses, magnetdata, magnets, wires

ohms = st.floats(0.5, 200)
grams = st.floats(1, 60)
volts = st.floats(5, 30)
more = st.floats(1.0, 4.0)
warm = st.floats(0, 60)
heats = st.floats(0, 0.05)
hertz = st.sampled_from([0.0, 50.0, 60.0])


def coil_of(ohm, gram, henry=0.0, limit_c=90.0):
    mass = gram / 1000
    return coils.Coil(ohm, copper.heat_capacity_j_k(mass), limit_c, copper.cooling_k_w(mass), henry)


@given(ohms, grams, heats, volts, more, warm, warm, hertz, st.floats(0.005, 0.25))
def test_hotter_or_more_volts_or_a_longer_pulse_reaches_more(
    ohm, gram, henry, volt, by, ambient, extra, hz, pulse
):
    coil, drive = coil_of(ohm, gram, henry), coils.Drive(volt, hz)
    base = coils.temperature_after_c(coil, drive, ambient, pulse)
    slack = 1e-6 * abs(base)
    assert coils.temperature_after_c(coil, drive, ambient + extra, pulse) >= base - slack
    assert coils.temperature_after_c(coil, drive, ambient, pulse * by) >= base - slack
    assert (
        coils.temperature_after_c(coil, replace(drive, voltage_v=volt * by), ambient, pulse) >= base - slack
    )
    lighter = replace(coil, heat_j_k=coil.heat_j_k / by)
    assert coils.temperature_after_c(lighter, drive, ambient, pulse) >= base - slack


@given(ohms, grams, heats, volts, more, warm, warm, hertz, st.floats(0.05, 30))
def test_budget_never_grows_in_a_harder_case(ohm, gram, henry, volt, by, ambient, extra, hz, cool):
    coil, drive = coil_of(ohm, gram, henry), coils.Drive(volt, hz)
    joule = coils.power_w_max(coil, drive, ambient) * 0.08
    base = coils.pulses_allowed(coil, joule, cool, ambient)
    harder_j = coils.power_w_max(coil, replace(drive, voltage_v=volt * by), ambient) * 0.08
    assert coils.pulses_allowed(coil, harder_j, cool, ambient) <= base
    assert coils.pulses_allowed(coil, joule * by, cool, ambient) <= base
    assert coils.pulses_allowed(coil, joule, cool / by, ambient) <= base
    assert coils.pulses_allowed(coil, joule, cool, ambient + extra) <= base
    assert (
        coils.pulses_allowed(replace(coil, cooling_k_w=coil.cooling_k_w * by), joule, cool, ambient) <= base
    )
    assert coils.cool_needed_s(coil, joule * by, 3, ambient) >= coils.cool_needed_s(coil, joule, 3, ambient)
    power = joule / 0.08
    assert coils.pulse_s_max(coil, power * by, cool, ambient) <= coils.pulse_s_max(coil, power, cool, ambient)


@given(ohms, grams, volts, warm, warm)
def test_a_stuck_coil_has_no_longer_when_hotter(ohm, gram, volt, ambient, extra):
    coil, drive = coil_of(ohm, gram), coils.Drive(volt)
    base = coils.seconds_between(coil, drive, ambient, coil.limit_c)
    assert coils.seconds_between(coil, drive, ambient + extra, coil.limit_c) <= base
    assert coils.bears_for_ever_a(coil, ambient + extra) <= coils.bears_for_ever_a(coil, ambient)


@given(st.sampled_from(["F", "T", "TH", "UL"]), st.floats(1, 6.3), st.floats(0.1, 80), more)
def test_more_current_never_blows_a_fuse_later(letter, rating, current, by):
    fuse = fuses.Fuse(letter, rating)
    assert fuse.blows_by_s(current * by) <= fuse.blows_by_s(current)
    assert fuse.holds_for_s(current * by) <= fuse.holds_for_s(current)


@given(st.floats(0.5, 20), st.integers(10, 30), st.floats(0.05, 10), more, st.integers(0, 6), warm)
def test_a_longer_thinner_hotter_wire_loses_more(length, gauge, amps, by, finer, extra):
    base = wires.drop_v(length, wires.awg_mm2(gauge), amps, 20)
    assert wires.drop_v(length * by, wires.awg_mm2(gauge + finer), amps, 20 + extra) >= base


def test_listed_gauges_fall_in_order():
    listed = [wires.resistance_ohm_km(mm2) for mm2 in sorted(wires.FLEXIBLE_OHM_KM)]
    assert listed == sorted(listed, reverse=True)


@settings(max_examples=25, deadline=None)
@given(st.floats(2, 40), st.floats(0, 20), st.floats(1.5, 10), warm)
def test_a_farther_or_duller_or_hotter_pass_closes_no_longer(height, farther, operate, extra):
    magnet = magnetdata.Magnet("cylinder", (6, 20), "N42", 10, 30)
    sensor = magnets.Sensor("reed", "along", (operate, operate * 1.2), (operate / 2, operate / 1.5))
    way = magnets.Way("along", height)
    case = magnets.least(magnet, sensor)
    base = magnets.longest_mm(magnets.closings(magnet, way, sensor, case))
    hotter = magnets.least(replace(magnet, hottest_c=30 + extra), sensor)
    duller = replace(case, operate_mt=case.operate_mt * 1.3, release_mt=case.release_mt * 1.3)
    for other in (hotter, duller):
        assert magnets.longest_mm(magnets.closings(magnet, way, sensor, other)) <= base + 1e-6
    assert abs(magnets.field_mt(magnet, way, 1.2, _middle())[0, 0]) >= abs(
        magnets.field_mt(magnet, replace(way, height_mm=height + farther), 1.2, _middle())[0, 0]
    )


def _middle():
    import numpy

    return numpy.array([0.0])
