"""One coil against worked examples, a solver for differential equations, and its own heat budget."""

import math

import numpy
import pytest
from scipy.integrate import solve_ivp

from reedway.electrics import coils, copper, relays

MASS = copper.winding_mass_kg(4.5, 0.315)
POINT = coils.Coil(4.5, copper.heat_capacity_j_k(MASS), 105.0, copper.cooling_k_w(MASS))
DC16 = coils.Drive(16.0)


def test_point_coil_cold():
    # 4.5 ohm at 16 V: Ohm's law; 45.624 A/mm2 in 0.315 mm wire.
    assert coils.current_a(POINT, DC16, 20) == pytest.approx(3.5556, abs=1e-4)
    assert coils.power_w(POINT, DC16, 20) == pytest.approx(56.889, abs=1e-3)
    assert 16 / 4.5 / copper.area_mm2(0.315) == pytest.approx(45.624, abs=1e-3)


def test_one_pulse():
    # 50 ms of 56.889 W into 14.092 g of copper at 385 J/(kg K).
    assert coils.rise_k(POINT, 56.889 * 0.05) == pytest.approx(0.524, abs=1e-3)


@pytest.mark.parametrize(("seconds", "hot_c"), [(1, 30.278), (2, 40.172), (5, 67.916)])
def test_stuck_on_direct_current(seconds, hot_c):
    # Adiabatic at constant voltage, IEC 60028 copper.
    assert coils.temperature_after_c(POINT, DC16, 20, seconds) == pytest.approx(hot_c, abs=2e-3)


@pytest.mark.parametrize(("class_letter", "seconds"), [("A", 9.460), ("B", 12.758), ("F", 16.290)])
def test_time_to_the_insulation_class(class_letter, seconds):
    # Classes of IEC 60085; the same adiabatic law.
    limit = copper.THERMAL_CLASS_C[class_letter]
    assert coils.seconds_between(POINT, DC16, 20, limit) == pytest.approx(seconds, abs=2e-3)


@pytest.mark.parametrize(("hz", "henry"), [(0, 0.0), (50, 0.005), (50, 0.04)])
def test_stuck_on_agrees_with_a_solver(hz, henry):
    # scipy's solve_ivp on C dT/dt = V2 R / (R2 + X2), written out here on its own.
    coil = coils.Coil(4.5, 5.4, 105.0, 90.0, henry)
    x = 2 * math.pi * hz * henry

    def slope(_, temperature):
        r = 4.5 * (1 + 3.93e-3 * (temperature - 20))
        return 256 * r / (r * r + x * x) / 5.4

    result = solve_ivp(slope, (0, 6), [25.0], rtol=1e-10, atol=1e-10)
    assert coils.temperature_after_c(coil, coils.Drive(16, hz), 25, 6) == pytest.approx(
        result.y[0][-1], rel=1e-6
    )


def test_ac_coil_on_direct_current_draws_more():
    # 16 V 50 Hz, 1.0 A, 8 ohm: Z 16 ohm, so twice the current on 16 V DC.
    henry = coils.inductance_from_ac_h(8, 16, 1.0, 50)
    coil = coils.Coil(8, 5, 105, 90, henry)
    assert coils.current_a(coil, coils.Drive(16, 50), 20) == pytest.approx(1.0)
    assert coils.current_a(coil, DC16, 20) == pytest.approx(2.0)
    assert coils.dc_excess(coil, 50) == pytest.approx(2.0)
    with pytest.raises(ValueError, match="less than its resistance"):
        coils.inductance_from_ac_h(8, 16, 2.5, 50)


def test_power_max_on_ac_is_the_most_over_the_warming():
    coil = coils.Coil(4.5, 5.4, 105.0, 90.0, 0.02)
    drive = coils.Drive(16, 50)
    seen = max(coils.power_w(coil, drive, c) for c in range(20, 900))
    assert coils.power_w_max(coil, drive, 20) >= seen > 0.999 * coils.power_w_max(coil, drive, 20)


def test_current_rise_and_decay():
    # 8 ohm, 20 mH, 16 V: tau 2.5 ms; 90 % and 95 % (63.2 ... 99.3 % at 1 ... 5 tau, dubiumlabs.com).
    assert coils.rise_time_s(8, 0.02, 16, 1.8) == pytest.approx(5.7565e-3, abs=1e-7)
    assert coils.rise_time_s(8, 0.02, 16, 1.9) == pytest.approx(7.4893e-3, abs=1e-7)
    assert coils.rise_time_s(8, 0.02, 16, 2.0) == math.inf
    for multiple, share in enumerate((0.632, 0.865, 0.950, 0.982, 0.993), 1):
        assert coils.rise_time_s(8, 0.02, 16, 2 * share) == pytest.approx(multiple * 2.5e-3, rel=0.03)
    assert relays.stored_j(0.02, 2) == pytest.approx(0.04)
    decays = [relays.decay_s(8, 0.02, 2, clamp) * 1e3 for clamp in (0.7, 12.7, 24.7, 40)]
    assert decays == pytest.approx([7.930, 2.038, 1.249, 0.841], abs=1e-3)


def test_published_relay_surge():
    # elektroda.com topic 1062919: 12 V, 275 ohm, 2.29 H, off in 0.5 ms: 211.7 V.
    assert relays.surge_v(12, 2.29, 12 / 275, 0.5e-3) == pytest.approx(211.7, abs=0.2)


def test_relay_times():
    # Data sheet values: 10 ms release, worst with a diode, 5 ms bounce; the rule of thumb is 60 ms.
    assert 50 < relays.break_before_make_ms() <= 60
    assert relays.break_before_make_ms(diode=False) == 15
    # Operate 10, bounce 5, pulse 100 ms: 115 mm at 1 m/s, 34.5 at 0.3.
    assert relays.set_back_mm(1.0, [10, 5, 100]) == pytest.approx(115)
    assert relays.set_back_mm(0.3, [10, 5, 100]) == pytest.approx(34.5)


@pytest.mark.parametrize(("pulses", "cool_s"), [(1, 0.5), (4, 10.0), (12, 3.0)])
def test_busiest_rise_bounds_every_train_of_pulses(pulses, cool_s):
    # Simulated with the keeper's rule: heat below `pulses`, one goes every `cool`.
    rng = numpy.random.default_rng(20261125)
    tau, worst = POINT.cooling_s, 0.0
    for greed in (1.0, 0.9, 0.5):
        rise, heat, clock, next_cool = 0.0, 0, 0.0, 0.0
        for _ in range(3000):
            wait = next_cool - clock if heat >= pulses else rng.exponential(cool_s / 4) * (greed < 1)
            rise *= math.exp(-wait / tau)
            clock += wait
            while heat and clock >= next_cool - 1e-12:
                heat -= 1
                next_cool += cool_s
            if heat == 0:
                next_cool = clock + cool_s
            if heat < pulses:
                heat += 1
                rise += coils.rise_k(POINT, 5.0)
                worst = max(worst, rise)
    bound = coils.busiest_rise_k(POINT, 5.0, pulses, cool_s)
    assert worst <= bound * (1 + 1e-9)
    assert worst > 0.9 * bound


def test_budget_and_pause_are_each_others_inverse():
    allowed = coils.pulses_allowed(POINT, 6.0, 10.0, 25.0)
    assert allowed >= 1
    assert 25 + coils.busiest_rise_k(POINT, 6.0, allowed, 10.0) <= POINT.limit_c
    if allowed < 20:
        assert 25 + coils.busiest_rise_k(POINT, 6.0, allowed + 1, 10.0) > POINT.limit_c
    cool = coils.cool_needed_s(POINT, 6.0, 5, 25.0)
    assert 25 + coils.busiest_rise_k(POINT, 6.0, 5, cool) == pytest.approx(POINT.limit_c)
    assert coils.cool_needed_s(POINT, 600.0, 5, 25.0) == math.inf


def test_longest_pulse_meets_the_limit():
    pulse_s = coils.pulse_s_max(POINT, 56.9, 10.0, 25.0)
    assert 25 + coils.busiest_rise_k(POINT, 56.9 * pulse_s, 1, 10.0) == pytest.approx(POINT.limit_c)


def test_bears_for_ever():
    amps = coils.bears_for_ever_a(POINT, 25.0)
    watts = amps**2 * POINT.resistance_ohm * copper.resistance_ratio(105)
    assert 25 + watts * POINT.cooling_k_w == pytest.approx(105)
    assert coils.bears_for_ever_a(POINT, 110.0) == 0


def test_whole_cycles():
    assert coils.whole_cycles_s(0.041, 50) == pytest.approx(0.06)
    assert coils.whole_cycles_s(0.04, 50) == pytest.approx(0.04)
    assert coils.whole_cycles_s(0.0403, 0) == pytest.approx(0.041)


def test_impossible_coils():
    with pytest.raises(ValueError, match="above 0"):
        coils.Coil(0, 5, 105, 90)
    with pytest.raises(ValueError, match="voltage"):
        coils.Drive(-1)
