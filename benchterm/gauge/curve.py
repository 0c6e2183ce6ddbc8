"""From a dial's deflection in millimetres to tension, by points which the shop has measured."""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass

LEAST_POINTS = 3


@dataclass(frozen=True, slots=True)
class Curve:
    """Points of deflection and tension; nothing is said beyond the first and the last.

    Between two points tension is taken to be linear in 1 / deflection, as it nearly is where a
    probe with a fixed force sinks between two supports: T ~ f a / (2 d).
    """

    mm: tuple[float, ...] = ()
    n_cm: tuple[float, ...] = ()

    def n_cm_at(self, mm: float) -> float | None:
        """Tension at a deflection, N/cm; ``None`` outside the points."""
        if not self.mm or not self.mm[0] <= mm <= self.mm[-1]:
            return None
        right = min(bisect_right(self.mm, mm), len(self.mm) - 1)
        left = right - 1
        a, b = 1 / self.mm[left], 1 / self.mm[right]
        share = (1 / mm - a) / (b - a)
        return self.n_cm[left] + share * (self.n_cm[right] - self.n_cm[left])

    def mm_at(self, n_cm: float) -> float:
        """The other way round; the nearest point outside the points, for a dial at its stop."""
        for a, b, high, low in zip(self.mm, self.mm[1:], self.n_cm, self.n_cm[1:], strict=False):
            if low <= n_cm <= high:
                share = (high - n_cm) / (high - low)
                return 1 / (1 / a + share * (1 / b - 1 / a))
        return self.mm[0] if n_cm > self.n_cm[0] else self.mm[-1]


def curve_problem(curve: Curve, *, wanted: bool) -> str:
    """What is wrong with a curve, empty if nothing is; ``wanted``: the gauge measures in mm."""
    if not curve.mm and not curve.n_cm:
        if wanted:
            return "is needed: mm and n_cm, deflections and the tensions they stand for."
        return ""
    if len(curve.mm) != len(curve.n_cm) or len(curve.mm) < LEAST_POINTS:
        return f"mm and n_cm must be two lists of the same length, {LEAST_POINTS} or more."
    if not all(map(math.isfinite, (*curve.mm, *curve.n_cm))) or min(*curve.mm, *curve.n_cm) <= 0:
        return "mm and n_cm must be above 0."
    if any(b <= a for a, b in zip(curve.mm, curve.mm[1:], strict=False)):
        return "mm must rise from each point to the next."
    if any(b >= a for a, b in zip(curve.n_cm, curve.n_cm[1:], strict=False)):
        return "n_cm must fall from each point to the next: tighter mesh gives way less."
    return ""
