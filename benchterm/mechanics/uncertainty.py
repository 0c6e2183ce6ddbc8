"""Uncertainty of a mean of readings, as JCGM 100:2008 (the GUM) has it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scipy.special import stdtrit

USUAL_K = 2.0
"""Coverage factor for about 95 % where degrees of freedom are many (JCGM 100, 6.3)."""


@dataclass(frozen=True, slots=True)
class Component:
    """One source of uncertainty, as a standard uncertainty."""

    name: str
    u: float
    df: float = math.inf
    """Degrees of freedom; infinite: taken as known."""


@dataclass(frozen=True, slots=True)
class Combined:
    """Independent components together."""

    components: tuple[Component, ...]

    @property
    def u(self) -> float:
        """Combined standard uncertainty: root of the sum of squares (JCGM 100, 5.1.2)."""
        return math.hypot(*(c.u for c in self.components))

    @property
    def df(self) -> float:
        """Effective degrees of freedom, Welch-Satterthwaite (JCGM 100, G.4.1)."""
        lost = sum(c.u**4 / c.df for c in self.components if c.u > 0 and math.isfinite(c.df))
        return self.u**4 / lost if lost else math.inf

    def expanded(self, k: float = USUAL_K) -> float:
        """Expanded uncertainty U = k u."""
        return k * self.u

    def coverage_factor(self, level: float = 0.95) -> float:
        """Student's t for the effective degrees of freedom, truncated (JCGM 100, G.4.1).

        Below one degree of freedom, that of one.
        """
        df = max(1.0, math.floor(self.df)) if math.isfinite(self.df) else 1e9
        return float(stdtrit(df, (1 + level) / 2))


def resolution(step: float) -> Component:
    """What a display in steps leaves open: a rectangle of half-width step / 2 (JCGM 100, F.2.2.1).

    Averaging does not shrink it where readings repeat to the step.
    """
    return Component("resolution", step / math.sqrt(12))


def certificate(expanded: float, k: float = USUAL_K) -> Component:
    """What a calibration certificate states, U with its k (JCGM 100, 4.3.3). Not averaged away."""
    return Component("certificate", expanded / k)


def repeatability(s: float, n: int, df: float | None = None) -> Component:
    """Standard deviation of a mean of n readings, s / sqrt(n) (JCGM 100, 4.2.3).

    ``df`` are the degrees of freedom of ``s``, n - 1 unless it comes from elsewhere.

    Raises:
        ValueError: no reading, or one only without ``df`` from elsewhere.
    """
    if n < 1 or (df is None and n < 2):
        raise ValueError("one reading tells nothing of its scatter")
    return Component("repeatability", s / math.sqrt(n), n - 1 if df is None else df)


@dataclass(frozen=True, slots=True)
class Mean:
    """A mean with its uncertainty."""

    value: float
    combined: Combined

    def __str__(self) -> str:
        return stated(self.value, self.combined.expanded())


def mean_of(
    readings: Sequence[float],
    step: float,
    certificate_expanded: float = 0.0,
    certificate_k: float = USUAL_K,
) -> Mean:
    """The mean of repeated readings of one thing, with its uncertainty.

    Args:
        readings: two or more, of the same place in the same direction.
        step: the display's resolution, in the readings' unit.
        certificate_expanded: U of the gauge's certificate; 0: none.
        certificate_k: its coverage factor.

    Raises:
        ValueError: fewer than two readings.
    """
    n = len(readings)
    if n < 2:
        raise ValueError("one reading tells nothing of its scatter")
    mean = math.fsum(readings) / n
    s = math.sqrt(math.fsum((r - mean) ** 2 for r in readings) / (n - 1))
    parts = [resolution(step), repeatability(s, n)]
    if certificate_expanded:
        parts.insert(1, certificate(certificate_expanded, certificate_k))
    return Mean(mean, Combined(tuple(parts)))


def stated(value: float, expanded: float) -> str:
    """A result as ``24.42 ± 0.74``: U to two significant digits, the value to the same place.

    JCGM 100, 7.2.6.
    """
    if expanded <= 0 or not math.isfinite(expanded):
        return f"{value:g}"
    places = max(0, 1 - math.floor(math.log10(expanded)))
    return f"{value:.{places}f} ± {expanded:.{places}f}"
