"""The straight line through a gauge's readings of known values, and what it says of the gauge.

Ordinary least squares of reading on reference, as in any text on linear calibration; the reference
values are taken as exact. Whatever unit goes in comes out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np
from scipy.special import stdtr, stdtrit

LEAST_POINTS = 3
"""Two points give a line but nothing to judge it by."""
SIGNIFICANCE = 0.05
"""Below this chance a difference is taken as real; common practice, no source."""


class Verdict(Enum):
    """What kind of error the gauge has, as far as these points can tell."""

    NONE = "no error that these points can show"
    BIAS = "bias: the same error everywhere; a new zero would cure it"
    SCALE = "scale error: it grows with the reading; a new zero will not cure it"


@dataclass(frozen=True, slots=True)
class Line:
    """``reading = intercept + slope x reference``, with how well it is known."""

    slope: float
    intercept: float
    n: int
    s: float
    """Residual standard deviation, n - 2 degrees of freedom."""
    se_slope: float
    se_intercept: float
    mean_bias: float
    """Mean of reading less reference."""
    mean_reading: float
    sxx: float
    """Sum of squares of the references about their mean."""
    lowest: float
    """Lowest and highest reading: the line says nothing beyond."""
    highest: float
    p_slope: float
    """Chance of a slope so far from 1 if it were 1."""
    p_bias: float
    """Chance of a mean bias so far from 0 if there were none."""

    def corrected(self, reading: float) -> float:
        """The value that a reading stands for."""
        return (reading - self.intercept) / self.slope

    def u_corrected(self, reading: float) -> float:
        """Standard uncertainty of ``corrected``: of the line and of one reading, nothing else.

        s / b x sqrt(1 + 1/n + (y - ybar)^2 / (b^2 Sxx)).
        """
        away = (reading - self.mean_reading) ** 2 / (self.slope**2 * self.sxx)
        return self.s / self.slope * math.sqrt(1 + 1 / self.n + away)

    def u95_corrected(self, reading: float) -> float:
        """Half-width that holds ``corrected`` with 95 % confidence, by t with n - 2 degrees."""
        return float(stdtrit(self.n - 2, 0.975)) * self.u_corrected(reading)

    @property
    def t_slope(self) -> float:
        """The slope's distance from 1 in standard errors."""
        return _ratio(self.slope - 1, self.se_slope)

    @property
    def verdict(self) -> Verdict:
        """Scale error if the slope is not 1, else bias if the mean error is not 0, else none."""
        if self.p_slope < SIGNIFICANCE:
            return Verdict.SCALE
        return Verdict.BIAS if self.p_bias < SIGNIFICANCE else Verdict.NONE


def fit_line(references: Sequence[float], readings: Sequence[float]) -> Line:
    """The least-squares line of readings on references.

    Raises:
        ValueError: fewer than three points, unequal numbers of them, one that is not finite,
            references all alike, or readings that do not rise with them.
    """
    x, y = np.asarray(references, float), np.asarray(readings, float)
    if x.size != y.size or x.size < LEAST_POINTS:
        raise ValueError(f"a line wants {LEAST_POINTS} points or more, each with its reading")
    if not (np.isfinite(x).all() and np.isfinite(y).all()):
        raise ValueError("a point is not a number")
    n = int(x.size)
    dx = x - x.mean()
    sxx = float(dx @ dx)
    if sxx == 0:
        raise ValueError("all references are the same: no line goes through one point")
    slope = float(dx @ y) / sxx
    if slope <= 0:
        raise ValueError("the readings do not rise with the references")
    intercept = float(y.mean() - slope * x.mean())
    residuals = y - intercept - slope * x
    s = math.sqrt(float(residuals @ residuals) / (n - 2))
    se_slope = s / math.sqrt(sxx)
    bias = y - x
    se_bias = float(bias.std(ddof=1)) / math.sqrt(n)
    return Line(
        slope=slope,
        intercept=intercept,
        n=n,
        s=s,
        se_slope=se_slope,
        se_intercept=s * math.sqrt(1 / n + float(x.mean()) ** 2 / sxx),
        mean_bias=float(bias.mean()),
        mean_reading=float(y.mean()),
        sxx=sxx,
        lowest=float(y.min()),
        highest=float(y.max()),
        p_slope=_two_sided(_ratio(slope - 1, se_slope), n - 2),
        p_bias=_two_sided(_ratio(float(bias.mean()), se_bias), n - 1),
    )


def _ratio(value: float, error: float) -> float:
    if error > 1e-12:
        return value / error
    return math.copysign(math.inf, value) if abs(value) > 1e-9 else 0.0


def _two_sided(t: float, df: int) -> float:
    return 2 * float(stdtr(df, -abs(t)))
