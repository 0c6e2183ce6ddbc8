"""A likely map of the tension all over a mesh, from readings at a few places.

Fields of many simulated meshes (``membrane``), each divided by its centre, are boiled down to a
mean and a few modes (``map_modes``); the map is the one among their sums that fits the readings
best, with a level of its own for each direction (Gauss-Newton from a normal prior, covariance by
Laplace). Never checked on real mesh.

Two directions: 0 is pulled by the far and near rollers, 1 by the left and right ones. The map's
outermost points lie a palm's width inside the frame, where corners are read. Tensions are N/cm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[Any]

COLUMNS, ROWS = 9, 11
PALM_MM = 50.0
"""From the edges to the outermost points."""
RODS_MM = {"in": (0.0, 8.0), "short": (8.0, 45.0), "far short": (45.0, 110.0)}
"""How far rods stop from the corner: nought to eight counts as reaching it."""
NOISE_SD_N_CM = 0.37
"""Of one reading: gauge 0.3, its steps, where it was put."""
_ROUNDS = 12
_FURTHEST = 4.0
"""No mode is taken further than so many standard deviations, whatever is read."""
_FITS = 3.0
"""Readings that miss by more standard deviations than this count less (Huber's weights)."""


@dataclass(frozen=True, slots=True)
class Spot:
    """One reading. Rows count from the near side, columns from the left."""

    direction: int
    row: int
    column: int
    n_cm: float


@dataclass(frozen=True, slots=True, eq=False)
class Modes:
    """Fields over their centre: first axis (after that of the modes) the direction."""

    mean: Array
    modes: Array
    """Each as large as one standard deviation."""
    rest_sd: Array
    """What the modes leave out."""


@dataclass(frozen=True, slots=True, eq=False)
class TensionMap:
    """Likely tension and its standard deviation; a direction that was not read is ``nan``."""

    likely: Array
    sd: Array
    read: tuple[bool, bool]


def tension_map(readings: Sequence[Spot], modes: Modes) -> TensionMap:
    """The likely map.

    Raises:
        ValueError: no reading above 0 in a direction that was read, or one that is no tension.
    """
    if not readings or any(not 0 <= one.n_cm < np.inf for one in readings):
        raise ValueError("a map wants readings of tension")
    where = tuple(np.array([(r.direction, r.row, r.column) for r in readings]).T)
    y = np.array([r.n_cm for r in readings])
    direction = where[0]
    read = tuple(bool((direction == d).any()) for d in (0, 1))
    mean, at_modes = modes.mean[where], modes.modes[(slice(None), *where)].T
    levels = np.array([y[direction == d].mean() if read[d] else 1.0 for d in (0, 1)])
    if levels.min() <= 0:
        raise ValueError("a map wants a reading above 0")
    lowest = 0.2 * levels
    coefficients = np.zeros(at_modes.shape[1])
    precision = np.eye(2 + len(coefficients))
    precision[0, 0], precision[1, 1] = (0.0 if known else 1.0 for known in read)
    belongs = np.stack([direction == 0, direction == 1], axis=1).astype(float)
    covariance = precision
    for _ in range(_ROUNDS):
        shape = mean + at_modes @ coefficients
        level = levels[direction]
        slopes = np.concatenate([belongs * shape[:, None], level[:, None] * at_modes], axis=1)
        off = y - level * shape
        variance = NOISE_SD_N_CM**2 + (level * modes.rest_sd[where]) ** 2
        weight = np.minimum(1, _FITS * np.sqrt(variance) / np.maximum(np.abs(off), 1e-9)) / variance
        pull = slopes.T @ (weight * off)
        pull[2:] -= coefficients
        covariance = np.linalg.inv(slopes.T @ (weight[:, None] * slopes) + precision)
        step = covariance @ pull
        levels = np.maximum(levels + step[:2], lowest)
        coefficients = np.clip(coefficients + step[2:], -_FURTHEST, _FURTHEST)
        if np.abs(step).max() < 1e-6:
            break
    return _drawn(modes, levels, coefficients, covariance, (read[0], read[1]))


def _drawn(
    modes: Modes, levels: Array, coefficients: Array, covariance: Array, read: tuple[bool, bool]
) -> TensionMap:
    shape = modes.mean + np.tensordot(coefficients, modes.modes, axes=1)
    likely, sd = np.full_like(shape, np.nan), np.full_like(shape, np.nan)
    for d in (0, 1):
        if not read[d]:
            continue
        likely[d] = np.maximum(levels[d] * shape[d], 0.0)
        of_level = np.zeros((2, *shape[d].shape))
        of_level[d] = shape[d]
        slopes = np.concatenate([of_level, levels[d] * modes.modes[:, d]])
        variance = np.einsum("irc,ij,jrc->rc", slopes, covariance, slopes)
        sd[d] = np.sqrt(np.maximum(variance, 0) + (levels[d] * modes.rest_sd[d]) ** 2)
    return TensionMap(likely, sd, read)
