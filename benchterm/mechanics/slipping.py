"""Clicks that a pawl or a rod loses under tension: from which step on, and how likely.

A slip is a share of all clicks of one roller from one step on. Its evidence compares how likely the
readings are with it and without, the parameters spread as before any reading, so that clicks which
only seemed to give more at first do not count for it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from benchterm.mechanics.history import DIRECTIONS, Array, History

LOST_SHARE, LOST_SHARE_SD = 0.5, 0.25
"""Of its clicks that a slipping roller loses."""
_LOST_CLICK_SD = 0.7
"""How much one click differs from that: it is lost, or it is not."""
_TAUT_N_CM = 7.0
"""Tension from which on a roller may slip."""
SLIP_EVIDENCE = 0.65
"""Natural log of the evidence from which on a slip is suspected: one sound job in twenty comes so
far; simulated."""
_FEWEST_READINGS = 4


@dataclass(frozen=True, slots=True)
class Slipping:
    """Clicks that give less and less than they should: a pawl or a rod slips on one of two sides.

    Which of the two cannot be told from readings.
    """

    direction: int
    step: int
    """The step of its direction from which on."""
    share: float
    """Of the take-up of both rollers that is lost."""
    evidence: float
    """Natural log of the evidence for it against none, or against what explains more."""

    @property
    def is_suspected(self) -> bool:
        """Whether it is likely enough to say so."""
        return self.evidence > SLIP_EVIDENCE


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """Readings with the parameters not yet learned from them: jointly normal."""

    away: Array
    """What each is off."""
    cov: Array
    modelled_n_cm: Array
    """What the fitted model gives for each."""
    gains: tuple[Array, Array]
    """What a click in each step of each direction adds to each: one row a reading."""


def likeliest_slip(seen: History, readings: Readings) -> Slipping | None:
    """The slip that the readings speak for most; ``None``: too little to go by."""
    if len(readings.away) < _FEWEST_READINGS:
        return None
    slips = [(d, k, roller) for d in DIRECTIONS for k, roller in _starts(seen, readings, d)]
    if not slips:
        return None
    lost, cov, shares = [], [], []
    for d, k, roller in slips:
        own = np.clip(seen.steps[d].own[k:], 0.0, None)
        gains = readings.gains[d][:, k:]
        whole = gains @ own[:, roller]
        lost.append(LOST_SHARE * whole)
        cov.append(
            LOST_SHARE_SD**2 * np.outer(whole, whole)
            + _LOST_CLICK_SD**2 * (gains * own[:, roller]) @ gains.T
        )
        shares.append(own[:, roller].sum() / own.sum())
    without = _ln_density(readings.cov[None], readings.away[None])[0]
    evidence = _ln_density(readings.cov + np.array(cov), readings.away + np.array(lost)) - without
    best = int(np.argmax(evidence))
    d, k, _ = slips[best]
    return Slipping(d, k, LOST_SHARE * float(shares[best]), float(evidence[best]))


def _starts(seen: History, readings: Readings, d: int) -> Iterator[tuple[int, int]]:
    """Steps of a direction made on taut mesh, with the rollers that were turned on in them."""
    own = np.array([spot.direction == d for spot in seen.spots])
    for k in range(2, len(seen.steps[d].at_s)):
        before = np.flatnonzero(own & (seen.when.done[:, d] <= k))
        if len(before) and readings.modelled_n_cm[before[-1]] >= _TAUT_N_CM:
            yield from ((k, roller) for roller in (0, 1) if seen.steps[d].own[k, roller] > 0)


def _ln_density(cov: Array, away: Array) -> Array:
    """Natural log of the normal density, one a row, up to what all have in common."""
    lower = np.linalg.cholesky(cov)
    white = np.linalg.solve(lower, away[..., None])[..., 0]
    ln_det = np.log(np.einsum("hii->hi", lower)).sum(axis=1)
    density: Array = -ln_det - 0.5 * (white**2).sum(axis=1)
    return density
