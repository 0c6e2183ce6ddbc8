"""A gauge study on mesh that relaxes while it is studied: the fall is taken out first.

Tension of stretched cloth falls about with the logarithm of time. One fall per tenfold time is
fitted to the differences within each piece and operator, where nothing but time and repeatability
can differ, and every reading is brought to one time: analysis of covariance with a common slope.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtr

LOST_DF = 1
"""Degrees of freedom that the slope takes from the error."""


@dataclass(frozen=True, slots=True)
class Detrended:
    """Readings brought to one time."""

    readings: tuple[tuple[tuple[float, ...], ...], ...]
    """By piece, operator, trial, as they came."""
    per_decade: float
    """Change for ten times the time; negative: the mesh relaxes."""
    se: float
    p: float
    """Chance of so large a change if there were none."""
    at_minutes: float
    """The time to which all are brought: the geometric mean of all times."""


def detrend(
    readings: Sequence[Sequence[Sequence[float]]], minutes: Sequence[Sequence[Sequence[float]]]
) -> Detrended:
    """Take the relaxation out of a study.

    Args:
        readings: by piece, operator and trial.
        minutes: since the piece was stretched, for each reading, more than 0.

    Raises:
        ValueError: a time for each reading is missing or not above 0, or the times within each
            piece and operator do not differ, so that no fall can be told.
    """
    y, t = np.asarray(readings, float), np.asarray(minutes, float)
    if y.shape != t.shape or y.ndim != 3:
        raise ValueError("every reading wants its time")
    if not (np.isfinite(t).all() and (t > 0).all()):
        raise ValueError("times are minutes since the piece was stretched, above 0")
    x = np.log10(t)
    dx = x - x.mean(axis=2, keepdims=True)
    dy = y - y.mean(axis=2, keepdims=True)
    sxx = float((dx**2).sum())
    if sxx < 1e-12:
        raise ValueError("trials at one and the same time tell nothing of relaxation")
    slope = float((dx * dy).sum()) / sxx
    parts, operators, trials = y.shape
    df = parts * operators * (trials - 1) - LOST_DF
    if df < 1:
        raise ValueError("too few readings to tell relaxation from scatter")
    left = float(((dy - slope * dx) ** 2).sum())
    se = math.sqrt(left / df / sxx)
    level = y - slope * (x - x.mean())
    chance = 2 * float(stdtr(df, -abs(slope) / se)) if se > 0 else float(slope == 0)
    return Detrended(
        tuple(tuple(tuple(float(v) for v in cell) for cell in row) for row in level),
        slope,
        se,
        chance,
        10 ** float(x.mean()),
    )
