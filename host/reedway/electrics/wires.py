"""Wires: gauges, resistance, voltage lost on the way, and what a short circuit does to them."""

from __future__ import annotations

from reedway.electrics import copper

# Highest resistance at 20 degrees C in ohm/km of flexible conductors (class 5, plain copper).
# From 0.5 mm2: IEC 60228 Table 3. Below: table after DIN VDE 0295, which starts where IEC 60228 does not.
FLEXIBLE_OHM_KM = {
    0.14: 134.0,
    0.22: 96.0,
    0.25: 76.0,
    0.34: 53.0,
    0.5: 39.0,
    0.75: 26.0,
    1.0: 19.5,
    1.5: 13.3,
    2.5: 7.98,
    4.0: 4.95,
    6.0: 3.30,
}
WARM_C = 60.0  # a wire in a bundle under a layout; common practice, no source
# k of a copper conductor in A s^0.5 / mm2, IEC 60364-5-54: PVC from 70 to 160 degrees C.
K_PVC = 115.0
K_SECONDS_MAX = 5.0  # the k table holds for shorts no longer than this


def awg_diameter_mm(gauge: int) -> float:
    """Diameter of a round wire by American gauge (definition of ASTM B258, from memory)."""
    return float(0.127 * 92 ** ((36 - gauge) / 39))


def awg_mm2(gauge: int) -> float:
    """Cross-section by American gauge."""
    return copper.area_mm2(awg_diameter_mm(gauge))


def resistance_ohm_km(wire_mm2: float, temperature_c: float = 20.0) -> float:
    """Resistance of one conductor: the highest the standard allows if listed, else a solid wire's."""
    listed = FLEXIBLE_OHM_KM.get(round(wire_mm2, 4))
    if listed is not None:
        return listed * copper.resistance_ratio(temperature_c)
    return copper.wire_resistance_ohm(1000.0, wire_mm2, temperature_c)


def loop_ohm(length_m: float, wire_mm2: float, temperature_c: float = WARM_C) -> float:
    """Resistance there and back of a pair of wires this long."""
    return 2 * length_m * resistance_ohm_km(wire_mm2, temperature_c) / 1000


def drop_v(length_m: float, wire_mm2: float, current_a: float, temperature_c: float = WARM_C) -> float:
    """Voltage lost there and back."""
    return loop_ohm(length_m, wire_mm2, temperature_c) * current_a


def bears_i2t(wire_mm2: float, k: float = K_PVC) -> float:
    """I2t in A2s that takes the insulation of a wire to its short-circuit temperature."""
    return (k * wire_mm2) ** 2


def short_seconds(wire_mm2: float, current_a: float, k: float = K_PVC) -> float:
    """Time that a wire bears a short-circuit current; only to be used up to K_SECONDS_MAX."""
    return bears_i2t(wire_mm2, k) / current_a**2
