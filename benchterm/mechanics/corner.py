"""The chance that the next click tears a corner, and how much relief brings it down.

Fitted on simulated benches (an orthotropic membrane between four rods), never on real mesh: what a
rod's gap does on 300 of them, everything else on 400 of another kind (``fit_corner.py`` among the
benchmarks says on which and how well). It is advice about a fine peak that no gauge can see, not a
promise.

In the functions ``tension_n_cm`` is the higher of the two centre tensions, above 0; to ask about
the next click, what it will be after it. ``breaking_n_cm`` is as ``mesh`` gives it.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass, replace
from itertools import pairwise

USUAL_RATIO = 1.05
"""What a corner reads over the centre before any relief; simulated."""
_HIGHEST_RATIO = 1.13
"""The same of the highest among the corners."""
EASED_RATIO = 0.55
"""Drop of that ratio for relief as large as the mean take-up of a roller; simulated."""
MOST_EASED = 0.75
"""Relief over take-up beyond which it drops no further."""
ENOUGH_CHANCE = 0.02
"""Relief is enough when the chance of a tear at the target is under this; simulated."""
USUAL_SIZE_MM = 700.0

_GAP_TERM = ((0, 1.14), (3, 1.01), (6, 0.71), (10, 0.59), (20, 0.51), (30, 0.49), (50, 0.55))
_GAP_INSIDE_MM = 8
_LEAST_LEFT = 0.15
"""Share of a peak that no relief takes away: something else bears it then."""
_STRENGTH_AT_CORNER = 0.88
_STRENGTH_SD = 0.10
_SHARES_PCT = range(15, 66)


@dataclass(frozen=True, slots=True)
class Corners:
    """What is known of the corners of one screen."""

    rod_gap_mm: float
    """From the end of a locking rod to the corner of the mesh field, 0 to 50 mm.

    Outside that the nearer end is taken. The chance is very sensitive to it below 10 mm.
    """
    size_mm: float = USUAL_SIZE_MM
    """Geometric mean of the two spans."""
    relief: float = 0.0
    """Mean relief of the corners over mean take-up of a roller since tension began."""
    lead: float = 0.0
    """By how much one roller is ahead of its opposite, over the same."""
    ratio: float | None = None
    """Highest tension at a corner over the centre, both directions, what easing took added.

    ``None``: not read. 1.05 to 1.35 on the simulated benches.
    """


def log_peak_factor(corners: Corners) -> float:
    """Natural log of the peak tension at a corner over the tension at the centre.

    A membrane is linear: what is let back, or pulled ahead, adds to the peak in proportion. It
    grows nearly with the root of the sheet's size, as by the edge of a punch.
    """
    inside = _is_inside(corners)
    ratio = _HIGHEST_RATIO if corners.ratio is None else corners.ratio
    relieved = 1 - (0.66 if inside else 0.85) * corners.relief
    led = (0.27 if inside else 0.36) * corners.lead
    if corners.ratio is not None:
        led *= 0.8  # The corner that reads highest is not always the one that is pulled ahead.
    return (
        _gap_term(corners.rod_gap_mm)
        + 0.4 * math.log(corners.size_mm / USUAL_SIZE_MM)
        + (0.95 if inside else 1.6) * (ratio - 1)
        + math.log(max(relieved + led, _LEAST_LEFT))
    )


def factor_sd(corners: Corners) -> float:
    """Standard deviation of what ``log_peak_factor`` misses by: much less with corners read."""
    if corners.ratio is None:
        return 0.20 if _is_inside(corners) else 0.24
    return 0.155 if _is_inside(corners) else 0.185


def tear_chance(corners: Corners, tension_n_cm: float, breaking_n_cm: float) -> float:
    """Chance, 0 to 1, that a corner tears when the centre is at this tension.

    It rises with tension, lead and corner ratio, and falls with relief.
    """
    margin = log_peak_factor(corners) + math.log(
        tension_n_cm / (_STRENGTH_AT_CORNER * breaking_n_cm)
    )
    sd = math.hypot(factor_sd(corners), _STRENGTH_SD)
    return 0.5 * (1 + math.erf(margin / sd / math.sqrt(2)))


def relief_share(corners: Corners, target_n_cm: float, breaking_n_cm: float) -> float:
    """Mesh to let back in at each corner, in all, as a share of a roller's take-up at the target.

    The smallest whole per cent from 0.15 to 0.65 that brings the chance of a tear at the target
    under ``ENOUGH_CHANCE``; 0.65 if none does. Relief given already is part of the share.
    """

    def enough(share_pct: int) -> bool:
        eased = replace(corners, relief=share_pct / 100)
        return tear_chance(eased, target_n_cm, breaking_n_cm) < ENOUGH_CHANCE

    found = bisect_left(_SHARES_PCT, True, hi=len(_SHARES_PCT) - 1, key=enough)
    return _SHARES_PCT[found] / 100


def _is_inside(corners: Corners) -> bool:
    return corners.rod_gap_mm > _GAP_INSIDE_MM


def _gap_term(rod_gap_mm: float) -> float:
    first, last = _GAP_TERM[0], _GAP_TERM[-1]
    gap = min(max(rod_gap_mm, first[0]), last[0])
    for (low, at_low), (high, at_high) in pairwise(_GAP_TERM):
        if gap <= high:
            return at_low + (at_high - at_low) * (gap - low) / (high - low)
    return last[1]
