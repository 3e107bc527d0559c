"""Copper against IEC 60028, the cable standards' k and worked examples."""

import math

import pytest

from reedway.electrics import copper


def test_resistivity_and_mass_of_the_standard():
    # IEC 60028:1925: 1/58 ohm mm2/m = 17.241 nohm m; 0.15328 ohm g/m2 with density 8.89.
    assert pytest.approx(17.241, abs=5e-4) == copper.RESISTIVITY_OHM_MM2_M * 1e3
    assert pytest.approx(0.15328, abs=1e-5) == copper.RESISTIVITY_OHM_MM2_M * copper.DENSITY_KG_M3 / 1e3
    assert copper.wire_resistance_ohm(1.0, 1.0) == pytest.approx(1 / 58)


@pytest.mark.parametrize(
    ("from_c", "to_c", "k"),
    # IEC 60364-5-54 / BS 7671 tables of k: PVC, XLPE, PVC 90, rubber 60, rubber 85, silicone.
    [(70, 160, 115), (90, 250, 143), (90, 160, 100), (60, 200, 141), (85, 220, 134), (180, 350, 132)],
)
def test_adiabatic_k_of_the_wiring_rules(from_c, to_c, k):
    assert copper.adiabatic_k(from_c, to_c) == pytest.approx(k, abs=0.5)


def test_adiabatic_constant_226():
    # IEC 60949: K = 226 A s^0.5/mm2 for copper.
    assert copper.adiabatic_constant() == pytest.approx(226, abs=0.5)


@pytest.mark.parametrize(
    ("ratio", "temperature_c"), [(0.9214, 0), (1.1572, 60), (1.3144, 100), (1.4323, 130), (1.53055, 155)]
)
def test_resistance_ratio(ratio, temperature_c):
    # IEC 60028: coefficient 3.93e-3 at 20 degrees C, worked by hand.
    assert copper.resistance_ratio(temperature_c) == pytest.approx(ratio, abs=1e-5)


def test_temperature_by_resistance():
    # IEC 60034-1 method: 15 % more than at 20 degrees C; the linear rule says 58.168.
    assert copper.temperature_from_resistance_c(100, 20, 115) == pytest.approx(58.175, abs=1e-3)
    assert copper.resistance_ratio(58.168) == pytest.approx(1.15, abs=1e-5)


@pytest.mark.parametrize(
    ("density", "time_s", "rise"),
    [(50, 1, 12.805), (100, 0.05, 2.511), (100, 0.2, 10.194), (100, 1, 55.218), (30, 10, 49.196)],
)
def test_adiabatic_rise_at_constant_current(density, time_s, rise):
    # IEC 60949 solved for the end temperature.
    assert copper.adiabatic_rise_k(density, time_s) == pytest.approx(rise, rel=1e-3)


def test_winding_from_resistance_and_wire():
    # 4.5 ohm of 0.315 mm wire by IEC 60028: 20.340 m, 14.092 g.
    assert copper.winding_length_m(4.5, 0.315) == pytest.approx(20.340, abs=1e-3)
    assert copper.winding_mass_kg(4.5, 0.315) == pytest.approx(14.092e-3, abs=1e-6)


def test_classes_of_iec_60085():
    assert copper.THERMAL_CLASS_C == {"Y": 90, "A": 105, "E": 120, "B": 130, "F": 155, "H": 180}


def test_estimated_cooling_is_of_the_right_size():
    # A cylinder as long as thick has 6 V / d of surface; checked from volume and diameter, not from the code.
    mass = 0.014
    volume = mass / 8890 / copper.FILL
    thick = (4 * volume / math.pi) ** (1 / 3)
    assert 1 / copper.cooling_k_w(mass) == pytest.approx(copper.SURFACE_W_M2_K * 6 * volume / thick)


def test_impossible_temperature():
    with pytest.raises(ValueError, match="linear rule"):
        copper.resistance_ratio(-250)
