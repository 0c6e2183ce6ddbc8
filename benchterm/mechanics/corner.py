"""The chance that the next click tears a corner, and how much relief brings it down.

Fitted on 300 simulated benches (orthotropic membrane), never on real mesh. On 200 fresh ones 7 %
tore with the rule and two corners read, against 32 % never relieved. It is advice about a fine
peak that no gauge can see, not a promise.

In the functions ``tension_n_cm`` is the higher of the two centre tensions, above 0; to ask about
the next click, what it will be after it. ``breaking_n_cm`` and ``stiffness_n_cm`` (nominal E A) are
as ``mesh`` gives them.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass, replace
from itertools import pairwise

UNREAD_CORNER_RATIO = 1.1
"""What corners read over the centre before any relief, if nobody has read them; simulated."""
ENOUGH_CHANCE = 0.04
"""Relief is enough when the chance of a tear at the target is under this; simulated."""

_GAP_TERM = ((0, 1.14), (3, 1.01), (6, 0.71), (10, 0.59), (20, 0.51), (30, 0.49), (50, 0.55))
_GAP_INSIDE_MM = 8
_MOST_RELIEF = 1.2
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
    relief: float = 0.0
    """Mean relief of the corners over mean take-up of a roller since tension began.

    0 to 1.2; more counts as 1.2.
    """
    uneven: float = 0.0
    """Largest take-up of a roller over the mean of all, less 1."""
    ratio: float = UNREAD_CORNER_RATIO
    """Highest tension at a corner over the centre: both directions, two opposite corners.

    1.05 to 1.35 before relief, down to 0.78 after much of it, on the simulated benches.
    """


def log_peak_factor(corners: Corners, strain: float) -> float:
    """Natural log of the peak tension at a corner over the tension at the centre.

    ``strain`` is the tension at the centre over the nominal stiffness, above 0. Residual standard
    deviation 0.14 with a gap over 8 mm, 0.19 below.
    """
    q = min(corners.relief, _MOST_RELIEF)
    inside = 0.07 if corners.rod_gap_mm > _GAP_INSIDE_MM else 0.0
    return (
        _gap_term(corners.rod_gap_mm)
        - 0.52 * q**2
        + 0.07 * corners.uneven
        + (corners.ratio - 1) * (0.73 - 0.32 * q - inside)
        - 0.23 * math.log(strain / 0.025)
    )


def tear_chance(
    corners: Corners, tension_n_cm: float, breaking_n_cm: float, stiffness_n_cm: float
) -> float:
    """Chance, 0 to 1, that a corner tears when the centre is at this tension.

    It rises with tension, unevenness and corner ratio, and falls with relief as long as the corners
    read no less than the centre.
    """
    factor = log_peak_factor(corners, tension_n_cm / stiffness_n_cm)
    margin = factor + math.log(tension_n_cm / (_STRENGTH_AT_CORNER * breaking_n_cm))
    sd = math.hypot(0.14 if corners.rod_gap_mm > _GAP_INSIDE_MM else 0.19, _STRENGTH_SD)
    return 0.5 * (1 + math.erf(margin / sd / math.sqrt(2)))


def relief_share(
    corners: Corners, target_n_cm: float, breaking_n_cm: float, stiffness_n_cm: float
) -> float:
    """Mesh to let back in at each corner, in all, as a share of a roller's take-up at the target.

    The smallest whole per cent from 0.15 to 0.65 that brings the chance of a tear at the target
    under ``ENOUGH_CHANCE``; 0.65 if none does. Relief given already is part of the share. The
    corner ratio is taken as it reads now, which errs towards more relief.
    """

    def enough(share_pct: int) -> bool:
        eased = replace(corners, relief=share_pct / 100)
        return tear_chance(eased, target_n_cm, breaking_n_cm, stiffness_n_cm) < ENOUGH_CHANCE

    found = bisect_left(_SHARES_PCT, True, hi=len(_SHARES_PCT) - 1, key=enough)
    return _SHARES_PCT[found] / 100


def _gap_term(rod_gap_mm: float) -> float:
    first, last = _GAP_TERM[0], _GAP_TERM[-1]
    gap = min(max(rod_gap_mm, first[0]), last[0])
    for (low, at_low), (high, at_high) in pairwise(_GAP_TERM):
        if gap <= high:
            return at_low + (at_high - at_low) * (gap - low) / (high - low)
    return last[1]
