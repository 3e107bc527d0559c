"""Capacitor banks: energies, charging, and the discharge transient against scipy's solver."""

import math

import pytest
from scipy.integrate import quad, solve_ivp

from reedway.electrics import capacitors


@pytest.mark.parametrize(
    ("farad", "volt", "joule"), [(4700e-6, 24, 1.3536), (2200e-6, 25, 0.6875), (0.01, 16, 1.28)]
)
def test_energy(farad, volt, joule):
    assert capacitors.energy_j(farad, volt) == pytest.approx(joule, abs=1e-9)


def test_voltage_after_a_joule():
    assert capacitors.voltage_after_v(4700e-6, 24, 1.0) == pytest.approx(12.2665, abs=1e-4)
    assert capacitors.voltage_after_v(4700e-6, 24, 2.0) == 0


def test_published_charging_example():
    # electricalengineering.pages.dev: 12 V, 1 kohm, 5 uF, 10 ms: 10.38 V.
    assert capacitors.charge_v(12, 0, 1000, 5e-6, 0.01) == pytest.approx(10.38, abs=0.005)


@pytest.mark.parametrize(("ohm", "half"), [(100, 1.4080), (220, 3.0976), (470, 6.6176), (1000, 14.080)])
def test_recharge(ohm, half):
    # 95 % of the voltage by the RC law, 3 tau.
    assert capacitors.recharge_s(ohm, 4700e-6, 0.95) == pytest.approx(half, abs=1e-3)


def test_recharge_peak_and_bleeding():
    assert capacitors.peak_inrush_a(24, 100) == pytest.approx(0.24)
    tau = 4700 * 4700e-6
    assert capacitors.bleed_s(4700, 4700e-6, 24, 24 / math.e) == pytest.approx(tau)
    with pytest.raises(ValueError, match="share"):
        capacitors.recharge_s(100, 1e-3, 1.0)


def test_input_filter_of_ten_kohm():
    # RC law, 10 kohm, 100 nF, 3.3 V: 0.8 V after 1.4171 ms, 2.0 V after 0.9316 ms, 1 % off after 4.605 tau.
    assert capacitors.charge_v(0, 3.3, 1e4, 1e-7, 1.4171e-3) == pytest.approx(0.8, abs=1e-4)
    assert capacitors.charge_v(3.3, 0, 1e4, 1e-7, 0.9316e-3) == pytest.approx(2.0, abs=1e-4)
    assert capacitors.recharge_s(1e4, 1e-7, 0.99) == pytest.approx(4.605e-3, abs=1e-6)


def test_charging_through_a_resistor_wastes_as_much_as_it_stores():
    # Textbook: half C V2 in the resistor, whatever its value; integrated by scipy.
    def loss(time_s):
        amps = (24 - capacitors.charge_v(24, 0, 100, 4700e-6, time_s)) / 100
        return amps**2 * 100

    assert quad(loss, 0, 10)[0] == pytest.approx(capacitors.energy_j(4700e-6, 24), rel=1e-6)


def test_overdamped_peak():
    # 4700 uF, 10 mH, 4 ohm, 24 V: roots -63.1665 and -336.8335, peak 4.84183 A at 6.11625 ms.
    circuit = capacitors.Discharge(4700e-6, 24, 4, 0.01)
    assert circuit.critical_ohm == pytest.approx(2.9173, abs=1e-4)
    assert circuit.damping == pytest.approx(1.37113, abs=1e-5)
    assert circuit.peak_s == pytest.approx(6.11625e-3, abs=1e-8)
    assert circuit.peak_a == pytest.approx(4.84183, abs=1e-5)
    assert circuit.heat_j(2.0) == pytest.approx(1.3536, rel=1e-9)


CRITICAL = 2 * math.sqrt(0.01 / 4700e-6)


@pytest.mark.parametrize("ohm", [40.0, 4.0, CRITICAL, CRITICAL * 1.0000001, 2.0, 0.3])
def test_transient_agrees_with_a_solver(ohm):
    # scipy solve_ivp, Runge-Kutta 8(5,3): over-, critically and underdamped, to 0.1 % and far better.
    circuit = capacitors.Discharge(4700e-6, 24, ohm, 0.01)

    def slopes(_, state):
        volt, amp, _heat = state
        return [-amp / 4700e-6, (volt - ohm * amp) / 0.01, amp * amp * ohm]

    times = [k * 0.002 for k in range(31)]
    result = solve_ivp(slopes, (0, 0.06), [24, 0, 0], method="DOP853", t_eval=times, rtol=1e-11, atol=1e-12)
    scale = circuit.peak_a
    for time_s, volt, amp, heat in zip(times, *result.y, strict=True):
        assert circuit.current_a(time_s) == pytest.approx(amp, abs=1e-6 * scale)
        assert circuit.capacitor_v(time_s) == pytest.approx(volt, abs=1e-6 * 24)
        assert circuit.heat_j(time_s) == pytest.approx(heat, abs=1e-6)
    around = [circuit.current_a(circuit.peak_s * k) for k in (0.99, 1.0, 1.01)]
    assert around[1] == max(around)


@pytest.mark.parametrize("ohm", [4.0, CRITICAL, 0.3])
def test_time_above_a_current(ohm):
    circuit = capacitors.Discharge(4700e-6, 24, ohm, 0.01)
    window = circuit.above(2.0)
    assert window is not None
    first, last = window
    assert circuit.current_a(first) == pytest.approx(2.0)
    assert circuit.current_a(last) == pytest.approx(2.0)
    assert first < circuit.peak_s < last
    assert circuit.above(circuit.peak_a * 1.01) is None


def test_impossible_discharge():
    with pytest.raises(ValueError, match="above 0"):
        capacitors.Discharge(1e-3, 24, 0, 0.01)
