"""The straight line of tension on the log of time, with its intervals and its limits.

T = a - b log10(t), by ordinary least squares, t in minutes since the last step. Two articles on
woven polyester (Milasius and Laureckiene: multifilament yarn, monofilament mesh unproved) find one
line from about 100 s on that predicts well; so readings before ``BREAK_MIN`` are better left out.

Intervals cover the scatter of the readings only, neither an error of the model nor temperature.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scipy.special import stdtrit

BREAK_MIN = 100 / 60
"""Where the line of the first minutes turns into the lasting one."""
MOST_DECADES = 1.5
"""How far past the last reading the line is drawn, in powers of ten of time; our choice."""
LEAST_READINGS = 4


@dataclass(frozen=True, slots=True)
class Interval:
    """A value and the two ends of its interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class LogLine:
    """A fitted line."""

    n: int
    a: float
    """Tension at one minute."""
    b: float
    """Lost for ten times the time."""
    s: float
    """Residual standard deviation, n - 2 degrees of freedom."""
    se_b: float
    r2: float
    mean_log: float
    sxx: float
    last_min: float
    """Time of the last reading."""

    def b_interval(self, level: float = 0.95) -> Interval:
        """Confidence interval of the loss a decade."""
        half = self._t(level) * self.se_b
        return Interval(self.b, self.b - half, self.b + half)

    def line_at(self, minutes: float, level: float = 0.95) -> Interval:
        """The line at a time, with the confidence interval of its mean.

        Raises:
            ValueError: the time is too far past the readings.
        """
        return self._at(minutes, 0.0, level)

    def reading_at(self, minutes: float, level: float = 0.95) -> Interval:
        """One more reading at a time, with its prediction interval.

        Raises:
            ValueError: the time is too far past the readings.
        """
        return self._at(minutes, 1.0, level)

    def lost(self, from_min: float, more_min: float) -> float:
        """Lost in a time to come, b log10(1 + more / from)."""
        return self.b * math.log10(1 + more_min / from_min)

    def settled_after_min(self, allowed: float, within_min: float) -> float:
        """When no more than this is lost in a time to come: H / (10^(d / b) - 1).

        The line never stops falling, so there is no other end to settling.

        Raises:
            ValueError: the tension does not fall.
        """
        if self.b <= 0:
            raise ValueError("the tension does not fall: the line says nothing of settling")
        return float(within_min / (10 ** (allowed / self.b) - 1))

    def _at(self, minutes: float, own: float, level: float) -> Interval:
        furthest = self.last_min * 10**MOST_DECADES
        if minutes > furthest:
            raise ValueError(
                f"readings up to {self.last_min:g} min say nothing of {minutes:g}: "
                f"{furthest:.0f} min is as far as they go"
            )
        x = math.log10(minutes)
        spread = own + 1 / self.n + (x - self.mean_log) ** 2 / self.sxx
        half = self._t(level) * self.s * math.sqrt(spread)
        value = self.a - self.b * x
        return Interval(value, value - half, value + half)

    def _t(self, level: float) -> float:
        return float(stdtrit(self.n - 2, (1 + level) / 2))


def fit_log_line(minutes: Sequence[float], tensions: Sequence[float]) -> LogLine:
    """The least-squares line.

    Raises:
        ValueError: fewer than four readings, unequal numbers, times not above 0 or all alike.
    """
    n = len(minutes)
    if n < LEAST_READINGS or n != len(tensions):
        raise ValueError(f"a line of settling wants {LEAST_READINGS} readings, each with its time")
    if not all(0 < t < math.inf for t in minutes) or not all(map(math.isfinite, tensions)):
        raise ValueError("times are minutes since the last click, above 0")
    x = [math.log10(t) for t in minutes]
    mean_x, mean_y = math.fsum(x) / n, math.fsum(tensions) / n
    sxx = math.fsum((v - mean_x) ** 2 for v in x)
    if sxx < 1e-9:
        raise ValueError("readings at one and the same time say nothing of settling")
    slope = math.fsum((v - mean_x) * y for v, y in zip(x, tensions, strict=True)) / sxx
    a = mean_y - slope * mean_x
    left = math.fsum((y - a - slope * v) ** 2 for v, y in zip(x, tensions, strict=True))
    total = math.fsum((y - mean_y) ** 2 for y in tensions)
    s = math.sqrt(left / (n - 2))
    r2 = 1 - left / total if total > 0 else 0.0
    return LogLine(n, a, -slope, s, s / math.sqrt(sxx), r2, mean_x, sxx, max(minutes))
