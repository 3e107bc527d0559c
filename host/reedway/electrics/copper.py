"""Copper: resistance, mass and heat of a wire, from the constants of the standards.

Units stand last in the names: `_ohm`, `_m`, `_mm`, `_mm2`, `_kg`, `_c` (degrees Celsius), `_k` (kelvin,
a difference), `_s`. Impossible values (below absolute zero, no length) raise ValueError.
"""

from __future__ import annotations

import math

RESISTIVITY_OHM_MM2_M = 1 / 58  # annealed copper at 20 degrees C, IEC 60028 (by definition)
ALPHA_1_K = 3.93e-3  # its temperature coefficient at 20 degrees C, IEC 60028
DENSITY_KG_M3 = 8890.0  # IEC 60028; handbooks give 8960 for pure copper
SPECIFIC_HEAT_J_KG_K = 385.0  # from memory, common textbook value, +-1
BETA_C = 234.5  # reciprocal of the coefficient at 0 degrees C, IEC 60949 (from memory)
HEAT_J_K_MM3 = 3.45e-3  # volumetric heat, IEC 60949 (from memory)
SURFACE_W_M2_K = 8.0  # loss of a warm coil to still air; common practice, no source: measure `cools`
FILL = 0.6  # copper's share of a winding's volume; common practice, no source

# Highest temperature of an insulation class, degrees C, IEC 60085.
THERMAL_CLASS_C = {"Y": 90.0, "A": 105.0, "E": 120.0, "B": 130.0, "F": 155.0, "H": 180.0}


def resistance_ratio(temperature_c: float) -> float:
    """Resistance at this temperature over that at 20 degrees C (IEC 60028)."""
    if temperature_c < -200:
        raise ValueError("the linear rule for copper does not reach below -200 degrees C")
    return 1 + ALPHA_1_K * (temperature_c - 20)


def resistance_at_20_ohm(measured_ohm: float, measured_at_c: float) -> float:
    """Resistance at 20 degrees C from one measured at another temperature."""
    return measured_ohm / resistance_ratio(measured_at_c)


def temperature_from_resistance_c(cold_ohm: float, cold_c: float, hot_ohm: float) -> float:
    """Temperature of a winding from its resistance cold and hot (method of IEC 60034-1, from memory)."""
    return hot_ohm / cold_ohm * (BETA_C + cold_c) - BETA_C


def area_mm2(diameter_mm: float) -> float:
    """Cross-section of a round wire."""
    return math.pi * diameter_mm**2 / 4


def wire_resistance_ohm(length_m: float, wire_mm2: float, temperature_c: float = 20.0) -> float:
    """Resistance of a solid copper wire."""
    return RESISTIVITY_OHM_MM2_M * length_m / wire_mm2 * resistance_ratio(temperature_c)


def winding_length_m(resistance_ohm: float, diameter_mm: float) -> float:
    """Length of wire in a coil from its resistance at 20 degrees C and the bare diameter of the wire."""
    return resistance_ohm * area_mm2(diameter_mm) / RESISTIVITY_OHM_MM2_M


def winding_mass_kg(resistance_ohm: float, diameter_mm: float) -> float:
    """Mass of copper in a coil from its resistance at 20 degrees C and the bare diameter of the wire."""
    return winding_length_m(resistance_ohm, diameter_mm) * area_mm2(diameter_mm) * 1e-6 * DENSITY_KG_M3


def heat_capacity_j_k(mass_kg: float) -> float:
    """Heat that warms this mass of copper by one kelvin."""
    return mass_kg * SPECIFIC_HEAT_J_KG_K


def cooling_k_w(mass_kg: float) -> float:
    """Kelvin a winding stands above still air per watt, from its size alone.

    The winding is taken as a cylinder as long as thick, FILL of it copper, losing SURFACE_W_M2_K
    over its whole surface. An estimate: half and twice are both common; a measurement replaces it.
    """
    volume_m3 = mass_kg / DENSITY_KG_M3 / FILL
    thick_m = (4 * volume_m3 / math.pi) ** (1 / 3)
    return 1 / (SURFACE_W_M2_K * 1.5 * math.pi * thick_m**2)


def adiabatic_constant() -> float:
    """K of IEC 60949 in A s^0.5 / mm2: what copper stores before it gives off heat."""
    resistivity_ohm_mm = RESISTIVITY_OHM_MM2_M * 1e-3
    return math.sqrt(HEAT_J_K_MM3 * (BETA_C + 20) / resistivity_ohm_mm)


def adiabatic_k(from_c: float, to_c: float) -> float:
    """The k of a copper conductor warming from one temperature to another: I2t = k2 S2 (IEC 60949)."""
    return adiabatic_constant() * math.sqrt(math.log((to_c + BETA_C) / (from_c + BETA_C)))


def adiabatic_rise_k(density_a_mm2: float, time_s: float, start_c: float = 20.0) -> float:
    """Rise of copper at constant current density when no heat leaves it (IEC 60949)."""
    exponent = (density_a_mm2 / adiabatic_constant()) ** 2 * time_s
    return (start_c + BETA_C) * math.expm1(exponent)
