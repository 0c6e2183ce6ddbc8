"""Fits the ear's belief to one operator, microphone and room, from phrases of known truth.

Two numbers move the shipped confidence: the log odds are stretched and shifted. Both are drawn
towards the shipped ones, since a few phrases say little; and talk, which nobody says in a trial,
must not become believable.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from benchterm.voice.accept import Tuning, log_odds

LEAST = 20
"""Phrases from which anything can be learned: the standard error of a share is then a tenth."""
MOST_WRONG = 0.3
"""With a larger share heard wrongly, microphone and place are to be mended, not the belief."""

CLEAR = 0.8
"""Confidence from which the shipped thresholds take a phrase at once."""

_SHIFT_SD, _SCALE_SD = 0.7, 0.25
"""How far from the shipped ones they may be expected to lie."""
_LIMITS = ((-3.0, 0.75), (0.5, 1.5))
"""With shift and scale at their most, still nothing of a shipped confidence below .6 is sure."""


@dataclass(frozen=True, slots=True)
class Told:
    """One phrase of a trial."""

    confidence: float
    """The shipped one."""
    right: bool


class TooFew(Exception):
    """A fit would not be worth anything. The message is one clear line."""


def fit(told: Sequence[Told]) -> Tuning:
    """The likeliest tuning.

    Raises:
        TooFew: there are too few phrases, or too few that were heard rightly.
    """
    if len(told) < LEAST:
        raise TooFew(f"{len(told)} phrases were heard; a fit wants {LEAST}.")
    wrong = sum(not one.right for one in told)
    if wrong > MOST_WRONG * len(told):
        raise TooFew(f"{wrong} of {len(told)} were misheard: mend microphone and place first.")
    return _fit(told)


def compared(told: Sequence[Told]) -> str:
    """What a fit would change, each phrase judged by a fit to all the others."""
    parts = []
    for right, name in ((True, "rightly"), (False, "wrongly")):
        before = [one.confidence for one in told if one.right is right]
        others = (_fit([*told[:i], *told[i + 1 :]]) for i in range(len(told)))
        after = [
            tuning.of(one.confidence)
            for one, tuning in zip(told, others, strict=True)
            if one.right is right
        ]
        clear = [sum(c >= CLEAR for c in confidences) for confidences in (before, after)]
        parts.append(
            f"{clear[1]} of {len(before)} {name} heard phrases clear enough to be taken at once, "
            f"{clear[0]} without it"
        )
    return f"Fitted to you: {'; '.join(parts)}. The close calls among them are asked back as ever."


def _fit(told: Sequence[Told]) -> Tuning:
    z = np.array([log_odds(one.confidence) for one in told])
    sign = np.array([1.0 if one.right else -1.0 for one in told])

    def loss(t: NDArray[np.float64]) -> float:
        fits = np.logaddexp(0, -sign * (t[0] + t[1] * z)).sum()
        return float(fits + (t[0] / _SHIFT_SD) ** 2 / 2 + ((t[1] - 1) / _SCALE_SD) ** 2 / 2)

    shift, scale = minimize(loss, (0.0, 1.0), method="L-BFGS-B", bounds=_LIMITS).x
    return Tuning(round(float(shift), 3), round(float(scale), 3))
