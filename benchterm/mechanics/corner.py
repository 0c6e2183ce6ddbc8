"""The chance that the next click tears a corner, and how much relief brings it down.

Fitted on simulated benches (an orthotropic membrane between four rods), never on real mesh:
``fit_corner.py`` among the benchmarks says on which and how well. It is advice about a fine peak
that no gauge can see, not a promise.

Each direction has its own peak, at the ends of the rods that pull it; the higher of the two is what
counts. In the functions ``tension_n_cm`` is that direction's tension at the centre, above 0; to ask
about the next click, what it will be after it. ``breaking_n_cm`` is as ``mesh`` gives it.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass, replace
from itertools import pairwise

USUAL_RATIO = 1.05
"""What a corner reads over the centre before any relief; simulated."""
EASED_RATIO = 0.55
"""Drop of that ratio for relief as large as the mean take-up of a roller; simulated."""
MOST_EASED = 0.75
"""Relief over take-up beyond which it drops no further."""
ENOUGH_CHANCE = 0.02
"""Relief is enough when the chance of a tear at the target is under this; simulated."""
USUAL_SPAN_MM = 700.0

_GAP_TERM = ((0, 1.16), (3, 0.92), (6, 0.61), (10, 0.60), (20, 0.37), (30, 0.42), (50, 0.80))
_HIGHEST_RATIO = ((0, 1.15), (30, 1.15), (50, 0.87))
"""The highest ratio among the corners by rod gap, before any relief."""
_GAP_INSIDE_MM = 8
_LEAST_LEFT = 0.15
"""Share of a peak that no relief takes away: something else bears it then."""
_STRENGTH_AT_CORNER = 0.88
_STRENGTH_SD = 0.10
_SHARES_PCT = range(15, 66)


@dataclass(frozen=True, slots=True)
class Corners:
    """What is known of the corners of one screen, for the pull in one direction."""

    rod_gap_mm: float
    """From the end of a locking rod to the corner of the mesh field, 0 to 50 mm.

    Outside that the nearer end is taken. The chance is very sensitive to it below 10 mm.
    """
    span_mm: float = USUAL_SPAN_MM
    """Mesh between the rollers that pull it."""
    relief: float = 0.0
    """Mean relief of the corners over mean take-up of one of them since tension began."""
    lead: float = 0.0
    """By how much one of them is ahead of its opposite, over the same."""
    ratio: float | None = None
    """Highest tension at a corner over the centre, both directions, what easing took added.

    ``None``: not read. 0.8 to 1.4 on the simulated benches.
    """


@dataclass(frozen=True, slots=True)
class _Rule:
    """Powers and weights of the terms, and what they leave open."""

    span: float
    ratio: float
    relief: float
    lead: float
    sd_read: float
    sd_unread: float


_RODS_IN = _Rule(span=0.62, ratio=1.4, relief=0.92, lead=0.26, sd_read=0.155, sd_unread=0.19)
_RODS_INSIDE = _Rule(span=0.33, ratio=1.3, relief=0.78, lead=0.17, sd_read=0.13, sd_unread=0.18)


def log_peak_factor(corners: Corners) -> float:
    """Natural log of the peak tension at a corner over the tension at the centre.

    A membrane is linear: what is let back, or pulled ahead, adds to the peak in proportion. It
    grows with about the root of the span, as by the edge of a punch.
    """
    rule = _rule(corners)
    usual = _between(_HIGHEST_RATIO, corners.rod_gap_mm)
    ratio = usual if corners.ratio is None else corners.ratio
    return (
        _between(_GAP_TERM, corners.rod_gap_mm)
        + rule.span * math.log(corners.span_mm / USUAL_SPAN_MM)
        + rule.ratio * (ratio - 1)
        + math.log(max(1 - rule.relief * corners.relief + rule.lead * corners.lead, _LEAST_LEFT))
    )


def factor_sd(corners: Corners) -> float:
    """Standard deviation of what ``log_peak_factor`` misses by: less with corners read."""
    rule = _rule(corners)
    return rule.sd_unread if corners.ratio is None else rule.sd_read


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


def _rule(corners: Corners) -> _Rule:
    return _RODS_INSIDE if corners.rod_gap_mm > _GAP_INSIDE_MM else _RODS_IN


def _between(table: tuple[tuple[float, float], ...], rod_gap_mm: float) -> float:
    """By straight lines between the rows of a table, held at its ends."""
    gap = min(max(rod_gap_mm, table[0][0]), table[-1][0])
    for (low, at_low), (high, at_high) in pairwise(table):
        if gap <= high:
            return at_low + (at_high - at_low) * (gap - low) / (high - low)
    return table[-1][1]
