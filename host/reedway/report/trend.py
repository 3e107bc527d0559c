"""Is there a trend over evenings? Mann-Kendall test and Theil-Sen slope, for a handful of values with ties.

H. B. Mann, "Nonparametric tests against trend", Econometrica 13 (1945); M. G. Kendall, "Rank Correlation
Methods" (1975), for the variance with ties; P. K. Sen, "Estimates of the regression coefficient based on
Kendall's tau", J. Am. Stat. Assoc. 63 (1968). No assumption about how the values are spread.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

EVENINGS_MIN = 6  # fewer cannot tell a trend from chance at the level below


@dataclass(frozen=True)
class Trend:
    """What the test says of one series."""

    z: float  # of Mann-Kendall, with continuity correction: above 0 rises, below 0 falls
    p: float  # chance of so much in one direction without any trend
    slope: float  # Theil-Sen, per evening


def mann_kendall(values: Sequence[float]) -> Trend:
    """The one-sided test of a series in the order of time; NaN-free, at least two values."""
    n = len(values)
    pairs = [(i, j) for i in range(n) for j in range(i + 1, n)]
    s = sum((values[j] > values[i]) - (values[j] < values[i]) for i, j in pairs)
    ties = Counter(values).values()
    variance = (n * (n - 1) * (2 * n + 5) - sum(t * (t - 1) * (2 * t + 5) for t in ties)) / 18
    z = 0.0 if variance <= 0 or s == 0 else (s - math.copysign(1, s)) / math.sqrt(variance)
    slope = median((values[j] - values[i]) / (j - i) for i, j in pairs) if pairs else 0.0
    return Trend(z, 0.5 * math.erfc(abs(z) / math.sqrt(2)), slope)
