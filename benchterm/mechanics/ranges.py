"""Constants of the range of normal samples, computed numerically from the normal distribution."""

from __future__ import annotations

import math

D2 = {
    2: 1.12838,
    3: 1.69257,
    4: 2.05875,
    5: 2.32593,
    6: 2.53441,
    7: 2.70436,
    8: 2.84720,
    9: 2.97003,
    10: 3.07751,
}
"""Mean range of n values, in standard deviations."""
D3 = {
    2: 0.85250,
    3: 0.88837,
    4: 0.87981,
    5: 0.86408,
    6: 0.84804,
    7: 0.83321,
    8: 0.81983,
    9: 0.80783,
    10: 0.79705,
}
"""Standard deviation of the range of n values."""


def d2_star(n: int) -> float:
    """Divisor of one single range, whose square is then unbiased: root of d2^2 + d3^2."""
    return math.hypot(D2[n], D3[n])
