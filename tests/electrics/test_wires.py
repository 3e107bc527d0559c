"""Wires and fuses against the tables of the standards."""

import math

import pytest

from reedway.electrics import coils, copper, fuses, wires

# wp.1728.org ?p=4314 (ohm/km at 20 degrees C), daycounter AWG chart (mm).
AWG = {
    10: (3.28, 2.588),
    12: (5.21, 2.053),
    14: (8.28, 1.628),
    16: (13.17, 1.291),
    18: (20.94, 1.024),
    20: (33.29, 0.812),
    22: (52.94, 0.644),
    24: (84.20, 0.511),
    26: (133.86, 0.405),
    28: (212.87, 0.321),
    30: (338.50, 0.255),
}


@pytest.mark.parametrize("gauge", AWG)
def test_american_gauges(gauge):
    ohm_km, diameter = AWG[gauge]
    assert wires.awg_diameter_mm(gauge) == pytest.approx(diameter, rel=5e-3)
    assert wires.resistance_ohm_km(wires.awg_mm2(gauge)) == pytest.approx(ohm_km, rel=1.5e-3)


def test_rules_of_thumb_of_american_gauges():
    # daycounter AWG chart: three up doubles the resistance, ten make it tenfold, six down double the wire.
    def ohm_km(gauge):
        return wires.resistance_ohm_km(wires.awg_mm2(gauge))

    assert ohm_km(23) / ohm_km(20) == pytest.approx(2, rel=0.01)
    assert ohm_km(30) / ohm_km(20) == pytest.approx(10, rel=0.05)
    assert wires.awg_diameter_mm(14) / wires.awg_diameter_mm(20) == pytest.approx(2, rel=0.01)


def test_flexible_conductors_of_iec_60228():
    # IEC 60228 Table 3, class 5; its temperature factors 0.926 at 40 and 0.862 at 60 degrees C.
    assert wires.resistance_ohm_km(0.5) == 39.0
    assert wires.resistance_ohm_km(2.5) == 7.98
    assert 1 / copper.resistance_ratio(40) == pytest.approx(0.926, abs=2e-3)
    assert wires.resistance_ohm_km(0.5, 60) == pytest.approx(39.0 / 0.862, rel=3e-3)


def test_flexible_is_never_better_than_solid():
    for mm2, ohm_km in wires.FLEXIBLE_OHM_KM.items():
        assert ohm_km > copper.wire_resistance_ohm(1000, mm2)


def test_drop_out_and_back():
    # 5 m of 24 AWG, 2 A: 10 m at 84.20 ohm/km.
    assert wires.drop_v(5, wires.awg_mm2(24), 2, 20) == pytest.approx(1.684, rel=1.5e-3)


def test_short_circuit_of_a_wire():
    # IEC 60364-5-54: k 115 for PVC; 0.5 mm2 bears 10 A for 33 s, outside the table's 5 s, and 57.5 A for 1 s.
    assert wires.short_seconds(0.5, 57.5) == pytest.approx(1.0)
    assert wires.bears_i2t(1.0) == pytest.approx(115**2)


@pytest.mark.parametrize(
    ("letter", "rating", "multiple", "holds", "blows"),
    [
        # Gates of IEC 60127-2 as printed on fuse data sheets, and of UL 248-14.
        ("F", 1.0, 2.1, 0.05, 1800),
        ("F", 1.0, 4.0, 0.01, 0.3),
        ("F", 1.0, 10.0, 0, 0.02),
        ("T", 1.0, 1.5, 3600, math.inf),
        ("T", 1.0, 2.75, 0.6, 10),
        ("T", 1.0, 3.556, 0.15, 10),
        ("T", 0.08, 4.0, 0.04, 3),
        ("TH", 2.0, 2.75, 0.75, 80),
        ("TH", 5.0, 4.0, 0.15, 5),
        ("UL", 1.0, 1.0, math.inf, math.inf),
        ("UL", 1.0, 2.0, 0, 120),
        ("T", 1.0, 11.0, 0, 0.3),
    ],
)
def test_gates(letter, rating, multiple, holds, blows):
    fuse = fuses.Fuse(letter, rating)
    assert fuse.holds_for_s(multiple * rating) == holds
    assert fuse.blows_by_s(multiple * rating) == blows


def test_unknown_fuse():
    with pytest.raises(ValueError, match="no sheet"):
        fuses.Fuse("T", 20.0).kind()


def test_a_one_ampere_fuse_is_not_proven_to_save_a_point_coil():
    # Point coil of 4.5 ohm on 16 V: 3.556 times T1A cold, 2.63 times at 109 degrees C, below the 2.75 gate.
    coil = coils.Coil(4.5, copper.heat_capacity_j_k(14.092e-3), 109.2, 90.0)
    rescue = fuses.saves_coil(fuses.Fuse("T", 1.0), coil, coils.Drive(16), 20)
    assert not rescue.proven
    assert rescue.first_multiple == pytest.approx(3.556, abs=1e-3)
    assert rescue.last_multiple == pytest.approx(2.63, abs=0.01)
    assert rescue.coil_s == pytest.approx(10.0, abs=0.05)


def test_a_quick_half_ampere_fuse_would():
    coil = coils.Coil(4.5, copper.heat_capacity_j_k(14.092e-3), 105, 90.0)
    rescue = fuses.saves_coil(fuses.Fuse("F", 0.5), coil, coils.Drive(16), 20)
    assert rescue.proven
    assert rescue.fuse_s <= 0.3
