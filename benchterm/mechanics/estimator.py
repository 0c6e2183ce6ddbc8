"""How tight the mesh is, from clicks and readings, with honest intervals.

A pure function of the records: the same records give the same estimate to the last bit on one
machine. Checked on simulated benches, never on real mesh.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from benchterm.mechanics.fit import Fit, fit
from benchterm.mechanics.history import (
    Array,
    History,
    Record,
    Spot,
    history,
)
from benchterm.mechanics.priors import Priors, priors
from benchterm.mechanics.pull import HELD, PARAMETERS, Rig, pull, slopes
from benchterm.mechanics.scatter import (
    Looks,
    loads,
    modelled,
    taken,
    unseen_variance,
    upcoming,
)

DRAWS = 300
KEPT = 128
"""Draws kept, each as likely as any other: enough for means, intervals and chances of a tenth."""
_FEWEST_EQUAL = 60.0
"""Draws of equal weight that the weighted ones must be worth; weights are evened out until then."""
_LEAST_SD_N_CM = 0.02
"""No tension is known better than that."""
_Z90 = 1.6448536269514722
"""Normal deviate of a two-sided 90 % interval."""


@dataclass(frozen=True, slots=True)
class Belief:
    """A likely value and how sure it is."""

    mean: float
    sd: float

    @property
    def low(self) -> float:
        """Lower end of the 90 % interval, not below 0."""
        return max(0.0, self.mean - _Z90 * self.sd)

    @property
    def high(self) -> float:
        """Upper end of the 90 % interval."""
        return max(0.0, self.mean + _Z90 * self.sd)

    def off(self, value: float) -> float:
        """How far a value lies off, in standard deviations."""
        return (value - self.mean) / self.sd


@dataclass(frozen=True, eq=False)
class Estimate:
    """What clicks and readings so far amount to."""

    rig: Rig
    history: History
    fit: Fit
    theta: Array
    """Parameter sets, one a row, each as likely as any other."""
    away: Array
    """Readings less the model, one row a parameter set."""

    def tension(self, spot: Spot, at_s: float = 0.0) -> Belief:
        """Tension at a spot, N/cm, at a time; before the last record: at the last record."""
        return self.tensions((spot,), at_s)[0]

    def tensions(self, spots: Sequence[Spot], at_s: float = 0.0) -> tuple[Belief, ...]:
        """Tensions at several spots."""
        drawn, sd = self.look(upcoming(self.history, spots, at_s))
        return tuple(self._belief(drawn[:, i], float(sd[i])) for i in range(len(spots)))

    def reading(self, spot: Spot, at_s: float = 0.0) -> Belief:
        """What a gauge laid there is likely to show: the gauge's own zero and noise included."""
        drawn, sd = self.look(upcoming(self.history, (spot,), at_s), with_zero=True)
        noise = math.hypot(float(sd[0]), self.fit.noise_sd)
        return self._belief(drawn[:, 0], noise)

    def step(self, direction: int) -> Belief:
        """Tension that one more click of one roller adds at once, N/cm, were the mesh taut."""
        first = HELD + 2 * direction
        held = self.theta[:, first : first + 2].mean(axis=1)
        drawn = self._slopes_now[:, direction] * self.rig.click_mm * held
        drawn /= self.rig.length_mm(direction)
        return self._belief(drawn, self.fit.scatter * float(drawn.mean()))

    def look(self, looks: Looks, *, with_zero: bool = False) -> tuple[Array, Array]:
        """Tensions at some looks, one row a parameter set, and the sd of what no row knows."""
        effects = self.fit.effects.copy()
        best = self.fit.theta[None]
        then = pull(self.rig, best, self.history.steps, looks.when)
        new = loads(self.rig, best, then, looks, self.fit.slots.at(looks))
        if not with_zero:
            new = new.copy()
            new[:, 0] = 0.0
        shared = (new * effects) @ self.fit.loads.T
        gain = shared @ self.fit.inverse
        values = modelled(self.rig, self.theta, self.history, looks)
        variance = np.einsum("iq,q,iq->i", new, effects, new)
        variance -= np.einsum("in,in->i", gain, shared)
        variance += unseen_variance(looks, self.fit.slots, values.mean(axis=0))
        drawn = values + self.away @ gain.T
        return np.maximum(drawn, 0.0), np.sqrt(np.maximum(variance, 0.0))

    @cached_property
    def gauge_sd_n_cm(self) -> float:
        """Scatter of one reading, learned from repeats."""
        return self.fit.noise_sd

    @cached_property
    def _slopes_now(self) -> Array:
        """What a strain adds to its own direction's tension, one row a parameter set."""
        then = pull(self.rig, self.theta, self.history.steps, self.history.now)
        return slopes(self.theta, then.strain)[0][:, 0]

    @property
    def modelled_n_cm(self) -> Array:
        """What the model alone, without places and scatter, gives for each reading."""
        modelled: Array = self.history.values - self.away.mean(axis=0)
        return modelled

    def _belief(self, drawn: Array, sd: float) -> Belief:
        return Belief(float(drawn.mean()), max(math.hypot(float(drawn.std()), sd), _LEAST_SD_N_CM))


def estimate(rig: Rig, records: Sequence[Record], prior: Priors | None = None) -> Estimate:
    """The estimate after some records, in the order in which they happened."""
    prior = prior or priors(rig)
    best = fit(rig, history(records), prior)
    seen = best.seen
    theta = best.theta + _NORMALS @ np.linalg.cholesky(best.cov).T
    away = seen.values - modelled(rig, theta, seen, taken(seen))
    chances = np.cumsum(_weights(prior, best, theta, away))
    kept = np.searchsorted(chances, (np.arange(KEPT) + 0.5) / KEPT)
    kept = np.minimum(kept, DRAWS - 1)
    return Estimate(rig, seen, best, theta[kept], away[kept])


def _weights(prior: Priors, best: Fit, theta: Array, away: Array) -> Array:
    """Importance of each draw: posterior over the normal it was drawn from."""
    off = theta - prior.mean
    ln_weight = -0.5 * np.einsum("di,ij,dj->d", away, best.inverse, away)
    ln_weight -= 0.5 * np.einsum("di,ij,dj->d", off, prior.inverse, off)
    ln_weight += 0.5 * (_NORMALS**2).sum(axis=1)
    ln_weight -= ln_weight.max()
    even = 1.0
    for _ in range(12):
        weights: Array = np.exp(even * ln_weight)
        weights /= weights.sum()
        if 1 / (weights**2).sum() >= _FEWEST_EQUAL:
            break
        even *= 0.75
    return weights


def _fixed_normals() -> Array:
    """Normal deviates, the same each time, each with its mirror image."""
    half = np.random.default_rng(1).standard_normal((DRAWS // 2, PARAMETERS))
    return np.concatenate([half, -half])


_NORMALS = _fixed_normals()
