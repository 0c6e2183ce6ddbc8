"""What is likely before the first click, and how a gauge and a ratchet scatter.

Every number is set on simulated benches, not on real mesh, and wide enough to be talked out of.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from benchterm.mechanics.history import Array, Place
from benchterm.mechanics.pull import (
    HELD,
    LN_K,
    LN_KNEE,
    LN_LOSS,
    LN_TAU,
    LN_TOE,
    NU,
    PARAMETERS,
    SLACK,
    Rig,
)

NOISE_SD_N_CM = 0.41
"""Scatter of one reading: gauge 0.3, its resolution of 0.5, placement 0.1, what the model lacks."""
NOISE_LN_SD = 1.0
"""How well that is known before readings are repeated."""
ZERO_SD_N_CM = 0.25
"""Gauge zero."""
OFFSET_SD = {Place.CENTRE: 0.0, Place.SIDE: 0.015, Place.FLANK: 0.15, Place.CORNER: 0.09}
"""Tension of a place against the centre, as a share of it."""
CORNERS_SD = 0.10
"""The same of all corners of a sheet together."""
EASED_SD = 0.08
"""Scatter of what easing does to a corner, as a share of the tension."""
EASED_PULL_SD = 0.5
"""Scatter of what easing corners takes from the pull of the whole sheet, as a share of it."""
SCATTERS = (0.02, 0.04, 0.08)
"""Scatter of one click's take-up, as a share of it, that are thought possible."""
SCATTER_CHANCES = (0.45, 0.35, 0.2)


@dataclass(frozen=True, slots=True, eq=False)
class Priors:
    """Normal distribution of a parameter set."""

    mean: Array
    cov: Array

    @property
    def inverse(self) -> Array:
        """Inverse of the covariance."""
        return np.linalg.inv(self.cov)


def priors(rig: Rig) -> Priors:
    """What is likely for a stretcher and cloth before the first click."""
    mean, sd = np.empty(PARAMETERS), np.empty(PARAMETERS)

    def put(column: int, likely: float, spread: float) -> None:
        mean[column], sd[column] = likely, spread

    for d, nominal in enumerate(rig.stiffness_n_cm):
        put(LN_K + d, math.log(nominal) + 0.04, 0.3)
        put(SLACK + d, 18.0, 12.0)
    put(NU, 0.2, 0.07)
    put(LN_TOE, math.log(1.1), 0.45)
    put(LN_LOSS, math.log(0.135), 0.35)
    put(LN_TAU, math.log(25.0), 1.2)
    for roller in range(4):
        put(HELD + roller, 0.965, 0.035)
    put(LN_KNEE, math.log(0.04), 0.4)
    cov = np.diag(sd**2)
    cov[LN_K, LN_K + 1] = cov[LN_K + 1, LN_K] = 0.9 * sd[LN_K] * sd[LN_K + 1]
    return Priors(mean, cov)
