"""Magnets as bought: shape, grade, remanence and what warmth does to it; the closed forms on their axis.

Fields are in millitesla, lengths in millimetres. The closed forms hold for a recoil permeability of 1
(NdFeB has 1.05, so they say up to a few per cent too much).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

# Remanence in tesla, lowest and highest of the makers' tables that were read for each grade.
GRADES_T = {
    "N35": (1.17, 1.23),
    "N38": (1.22, 1.26),
    "N40": (1.25, 1.29),
    "N42": (1.28, 1.33),
    "N45": (1.32, 1.38),
    "N48": (1.37, 1.42),
    "N50": (1.39, 1.45),
    "N52": (1.42, 1.48),
    "C1": (0.20, 0.23),
    "Y30": (0.37, 0.40),
    "C5": (0.37, 0.40),
    "Y35": (0.40, 0.41),
    "C8": (0.38, 0.40),
}
# Change of remanence per kelvin from 20 degrees C: NdFeB and ferrite, makers' tables.
NEODYMIUM_1_K = -0.0012
FERRITE_1_K = -0.0020
NEODYMIUM_C_MAX = 80.0  # plain grades from length/diameter 0.7 up; flatter ones bear less


@dataclass(frozen=True)
class Magnet:
    """A cylinder (diameter, length) or block (a, b, length), magnetised through its length."""

    shape: str  # "cylinder" or "block"
    size_mm: tuple[float, ...]
    grade: str = "N42"
    coldest_c: float = 10.0
    hottest_c: float = 40.0

    def __post_init__(self) -> None:
        wanted = {"cylinder": 2, "block": 3}.get(self.shape)
        if wanted != len(self.size_mm) or min(self.size_mm) <= 0:
            raise ValueError("a cylinder has diameter and length, a block two sides and length, all above 0")
        if self.grade not in GRADES_T:
            raise ValueError(f"no magnet grade {self.grade}")

    @property
    def length_mm(self) -> float:
        """Extent along the direction of magnetisation."""
        return self.size_mm[-1]

    @property
    def weakest_t(self) -> float:
        """Least remanence: the grade's lowest, at the hottest."""
        return remanence_t(GRADES_T[self.grade][0], self.grade, self.hottest_c)

    @property
    def strongest_t(self) -> float:
        """Most remanence: the grade's highest, at the coldest."""
        return remanence_t(GRADES_T[self.grade][1], self.grade, self.coldest_c)

    @property
    def middle_t(self) -> float:
        """Remanence in the middle of the grade at 20 degrees C."""
        return sum(GRADES_T[self.grade]) / 2


def remanence_t(at_20_t: float, grade: str, temperature_c: float) -> float:
    """Remanence at a temperature; losses that stay (above the highest working temperature) are not in it."""
    per_k = NEODYMIUM_1_K if grade.startswith("N") else FERRITE_1_K
    return at_20_t * (1 + per_k * (temperature_c - 20))


def on_axis_mt(magnet: Magnet, distance_mm: float, remanence: float) -> float:
    """Field on the axis, so far from the pole face."""
    z, length = distance_mm, magnet.length_mm
    if magnet.shape == "cylinder":
        radius = magnet.size_mm[0] / 2
        far, near = z + length, z
        return 500 * remanence * (far / math.hypot(radius, far) - near / math.hypot(radius, near))
    a, b, _ = magnet.size_mm
    return 1000 * remanence / math.pi * (_block_angle(a, b, z) - _block_angle(a, b, z + length))


def _block_angle(a: float, b: float, z: float) -> float:
    return math.atan2(a * b, 2 * z * math.sqrt(4 * z * z + a * a + b * b))


def axis_distance_mm(magnet: Magnet, field_mt: float, remanence: float) -> float:
    """Distance from the pole face at which the field on the axis has fallen to this; 0: never so strong."""
    if on_axis_mt(magnet, 0.0, remanence) <= field_mt:
        return 0.0
    low, high = 0.0, 1.0
    while on_axis_mt(magnet, high, remanence) > field_mt:
        high *= 2
    for _ in range(80):
        middle = (low + high) / 2
        if on_axis_mt(magnet, middle, remanence) > field_mt:
            low = middle
        else:
            high = middle
    return high
