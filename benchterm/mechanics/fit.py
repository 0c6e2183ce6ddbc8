"""The parameter set that fits the readings best, and how firmly they hold it.

Damped Gauss-Newton to the maximum of the posterior, with the scatter of clicks, places and gauge
as correlated noise (``scatter``) and readings far off given less weight. Gauge noise and the
scatter of clicks come from the evidence of the linearised model; so do clicks nobody called.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from benchterm.mechanics.history import DIRECTIONS, Array, History
from benchterm.mechanics.priors import (
    NOISE_LN_SD,
    NOISE_SD_N_CM,
    SCATTER_CHANCES,
    SCATTERS,
    Priors,
)
from benchterm.mechanics.pull import SLACK, Rig, pull
from benchterm.mechanics.scatter import (
    BEFORE_SLOTS,
    Slots,
    loads,
    modelled,
    modelled_then,
    taken,
    variances,
)
from benchterm.mechanics.slipping import Readings, Slipping, likeliest_slip

_ROUNDS = 8
_CLOSE = 0.02
"""Step, in prior standard deviations, below which a fit has settled."""
_DAMPING = np.array([1.0, 0.5, 0.2, 0.05])
_SLACK_STARTS_MM = np.linspace(-40.0, 68.0, 37)
_FREEDOM = 8.0
"""Degrees of freedom of Student's t, by which a reading far off loses weight."""
_USUAL = 4.0
"""Square of the standard deviations up to which a reading has its full weight."""
_NOISES = np.geomspace(0.15, 1.8, 9)
_NOISE_CHANCES = np.exp(-0.5 * (np.log(_NOISES / NOISE_SD_N_CM) / NOISE_LN_SD) ** 2)
UNCALLED_SD_MM = 12.0
"""How large an uncalled or lost take-up may be."""
UNCALLED_EVIDENCE = 2.0
"""Natural log of the evidence from which on one is taken for real."""
_LEFT_OUT = 1e-3
_MOST_UNCALLED = 2
_ABSORBED = 2
"""Times that what was not called is put into the take-up; it is small then."""
_FEWEST_AFTER = 2
"""Readings in its direction that a take-up nobody called has to show in."""


@dataclass(frozen=True, slots=True)
class Uncalled:
    """Take-up that the readings show and nobody called: clicks forgotten, or lost by a pawl."""

    direction: int
    step: int
    """The step of its direction with which it came; 0: it was there before the first."""
    mm: float
    evidence: float
    """Natural log of the evidence for it against none."""


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """The best parameter set and the noise around it."""

    theta: Array
    cov: Array
    slots: Slots
    effects: Array
    """Variance of each effect."""
    noise_sd: float
    scatter: float
    loads: Array
    """Of the readings."""
    inverse: Array
    """Inverse of the readings' noise covariance."""
    seen: History
    """What was fitted, with the take-up that nobody called."""
    uncalled: tuple[Uncalled, ...] = ()
    slipping: Slipping | None = None
    """The likeliest slip, however unlikely; ``None``: too little to go by."""


def fit(rig: Rig, seen: History, prior: Priors) -> Fit:
    """Fit all readings of a history. With none, the prior."""
    slots = Slots.of(taken(seen))
    problem = _Problem(rig, seen, prior, slots)
    problem.settle(_ROUNDS)
    if len(seen.values) > 1:
        problem.learn_noise()
        problem.settle(_ROUNDS // 2)
        problem.learn_noise()
        problem.slipping = problem.find_slip()
        while len(problem.uncalled) < _MOST_UNCALLED and problem.find_uncalled():
            problem.learn_noise()
        problem.settle(_ROUNDS)
    return problem.result()


class _Problem:
    def __init__(self, rig: Rig, seen: History, prior: Priors, slots: Slots) -> None:
        self.rig, self.seen, self.prior, self.slots = rig, seen, prior, slots
        self.noise_sd, self.scatter = NOISE_SD_N_CM, SCATTERS[1]
        self.looks = taken(seen)
        self.places = slots.at(self.looks)
        self.precision = prior.inverse
        self.weights = np.ones(len(seen.values))
        self.uncalled: list[tuple[int, int, float]] = []
        self.slipping: Slipping | None = None
        self.sd = np.sqrt(np.diag(prior.cov))
        self.theta = self._start()
        self._linearise()

    def settle(self, rounds: int) -> None:
        """Gauss-Newton with a line search until the step is small."""
        if not len(self.seen.values):
            return
        for _ in range(rounds):
            inverse = self.inverse
            slope = self.jacobian.T @ inverse @ self.residual
            slope -= self.precision @ (self.theta - self.prior.mean)
            step = np.linalg.solve(self._curvature(), slope)
            tried = self.theta + _DAMPING[:, None] * step
            cost = self._cost(tried)
            best = int(np.argmin(cost))
            if not cost[best] < self._cost_now() - 1e-4:
                break
            self.theta = tried[best]
            self._linearise()
            if np.max(np.abs(_DAMPING[best] * step) / self.sd) < _CLOSE:
                break

    def learn_noise(self) -> None:
        """Gauge noise and scatter of clicks by the evidence of the linearised model."""
        ln_evidence = self._noise_evidence(self.weights)
        chance = np.exp(ln_evidence - ln_evidence.max())
        chance /= chance.sum()
        self.noise_sd = float(np.sqrt((chance * _NOISES**2).sum()))
        self.scatter = float(np.sqrt((chance.sum(axis=1) * np.square(SCATTERS)).sum()))
        self._weigh()

    def find_uncalled(self) -> bool:
        """Look for one take-up nobody called; ``True`` if there is one."""
        found = self._strongest_uncalled()
        if found is None or found[2] < UNCALLED_EVIDENCE:
            return False
        self.uncalled.append(found)
        self._weigh()
        for _ in range(_ABSORBED):
            self._absorb()
            self.settle(_ROUNDS // 4)
        return True

    def _absorb(self) -> None:
        """Put what nobody called into the take-up: past it mesh may be of another stiffness."""
        left = self._left()
        for d, k, _ in self.uncalled:
            self.seen = self.seen.with_uncalled(d, k, float(left[self._column(d, k)]))
        self._linearise()

    def _left(self) -> Array:
        """Likely size of each effect."""
        gain = (self._variances(self.scatter)[:, None] * self.loads.T) @ self.inverse
        left: Array = gain @ self.residual
        return left

    def find_slip(self) -> Slipping | None:
        """The likeliest slip, unless take-up that nobody called explains the readings better.

        What follows that gives less than it seemed to, which looks alike.
        """
        away, cov = self._away(), self._noise_cov() + self._theta_cov()
        gains = [self.rig.click_mm * self.loads[:, self._columns(d)] for d in DIRECTIONS]
        modelled = self.seen.values - self.residual
        readings = Readings(away, cov, modelled, (gains[0], gains[1]))
        slip = likeliest_slip(self.seen, readings)
        if slip is None:
            return None
        inverse = np.linalg.inv(cov)
        steps = self.loads[:, self._column(0, 0) :].T
        evidence, mm = _evidence(steps, UNCALLED_SD_MM, inverse, inverse @ away)
        return replace(slip, evidence=slip.evidence - float(evidence[mm > 0].max(initial=0.0)))

    def result(self) -> Fit:
        """The fit as it stands."""
        left = self._left()
        uncalled = tuple(
            Uncalled(
                d, k, self.seen.steps[d].uncalled_at(k) + float(left[self._column(d, k)]), evidence
            )
            for d, k, evidence in self.uncalled
        )
        return Fit(
            self.theta,
            np.linalg.inv(self._curvature()),
            self.slots,
            self._variances(self.scatter),
            self.noise_sd,
            self.scatter,
            self.loads,
            self.inverse,
            self.seen,
            uncalled,
            self.slipping,
        )

    def _start(self) -> Array:
        """The prior's mean with the slack that suits the readings best.

        While the model is slack where the mesh is not, slack has no gradient to follow.
        """
        theta = self.prior.mean.copy()
        if not len(self.seen.values):
            return theta
        values = self.seen.values
        for d in (*DIRECTIONS, *DIRECTIONS):
            tried = np.tile(theta, (len(_SLACK_STARTS_MM), 1))
            tried[:, SLACK + d] = _SLACK_STARTS_MM
            away = modelled(self.rig, tried, self.seen, self.looks) - values
            cost = (np.abs(away) / (0.5 + 0.05 * values)).sum(axis=1)
            off = (_SLACK_STARTS_MM - self.prior.mean[SLACK + d]) / self.sd[SLACK + d]
            theta[SLACK + d] = _SLACK_STARTS_MM[int(np.argmin(cost + 0.5 * off**2))]
        return theta

    def _linearise(self) -> None:
        step = 1e-3 * self.sd
        tried = np.vstack([self.theta, self.theta + np.diag(step)])
        then = pull(self.rig, tried, self.seen.steps, self.looks.when)
        values = modelled_then(tried, then, self.looks)
        self.jacobian = (values[1:] - values[0]).T / step
        self.residual = self.seen.values - values[0]
        self.loads = loads(self.rig, tried, then, self.looks, self.places)
        self._weigh()

    def _weigh(self) -> None:
        """What the noise, as it is taken to be now, makes of the readings."""
        self.inverse = np.linalg.inv(self._noise_cov())
        off = self.inverse @ self.residual / np.sqrt(np.diag(self.inverse))
        self.weights = (_FREEDOM + _USUAL) / (_FREEDOM + np.maximum(off**2, _USUAL))
        if np.any(self.weights < 1):
            self.inverse = np.linalg.inv(self._noise_cov(self.weights))

    def _noise_cov(self, weights: Array | None = None) -> Array:
        """Covariance of the readings around the model; without weights each counts alike."""
        shared: Array = (self.loads * self._variances(self.scatter)) @ self.loads.T
        spread = np.ones(len(shared)) if weights is None else 1 / weights
        return shared + self.noise_sd**2 * np.diag(spread)

    def _variances(self, scatter: float) -> Array:
        effects = variances(self.rig, self.seen, self.slots, scatter)
        for d, k, _ in self.uncalled:
            effects[self._column(d, k)] += UNCALLED_SD_MM**2
        return effects

    def _column(self, direction: int, step: int) -> int:
        """The column of a step of a direction among the effects."""
        before = BEFORE_SLOTS + len(self.slots.number)
        return before + (len(self.seen.steps[0].at_s) if direction else 0) + step

    def _columns(self, direction: int) -> slice:
        """Those of all its steps."""
        first = self._column(direction, 0)
        return slice(first, first + len(self.seen.steps[direction].at_s))

    def _curvature(self) -> Array:
        curvature: Array = self.jacobian.T @ self.inverse @ self.jacobian + self.precision
        return curvature

    def _cost_now(self) -> float:
        off = self.theta - self.prior.mean
        cost = self.residual @ self.inverse @ self.residual + off @ self.precision @ off
        return 0.5 * float(cost)

    def _cost(self, theta: Array) -> Array:
        away = self.seen.values - modelled(self.rig, theta, self.seen, self.looks)
        off = theta - self.prior.mean
        cost: Array = 0.5 * np.einsum("di,ij,dj->d", away, self.inverse, away)
        cost += 0.5 * np.einsum("di,ij,dj->d", off, self.precision, off)
        return cost

    def _strongest_uncalled(self) -> tuple[int, int, float] | None:
        """The take-up which explains most. The reading furthest off is left out of the evidence.

        Else one bad reading would pass for clicks that nobody called. The evidence is for all noise
        that is likely, for a gauge that were so noisy would explain them as well.
        """
        away, theta_cov = self._away(), self._theta_cov()
        inverse = np.linalg.inv(self._noise_cov() + theta_cov)
        weights = np.ones(len(away))
        weights[np.argmax(np.abs(inverse @ away) / np.sqrt(np.diag(inverse)))] = _LEFT_OUT
        inverse = np.linalg.inv(self._noise_cov(weights) + theta_cov)
        best: tuple[int, int, float] | None = None
        for d in DIRECTIONS:
            steps = self.loads[:, self._columns(d)].T
            evidence, _ = _evidence(steps, UNCALLED_SD_MM, inverse, inverse @ away)
            own = np.array([s.direction == d for s in self.seen.spots])
            after = own[:, None] & (self.seen.when.done[:, d, None] > np.arange(len(steps)))
            evidence = np.where(after.sum(axis=0) >= _FEWEST_AFTER, evidence, -np.inf)
            k = int(np.argmax(evidence))
            if np.isfinite(evidence[k]) and (best is None or evidence[k] > best[2]):
                best = (d, k, float(evidence[k]))
        if best is None:
            return None
        d, k, _ = best
        load = self.loads[:, self._column(d, k)]
        more = self._noise_evidence(weights, UNCALLED_SD_MM**2 * np.outer(load, load))
        return d, k, _ln_sum(more) - _ln_sum(self._noise_evidence(weights))

    def _noise_evidence(self, weights: Array, more: Array | float = 0.0) -> Array:
        """Natural log of the evidence for each scatter (rows) and gauge noise, priors included.

        ``more`` comes on top of the covariance.
        """
        away = self._away()[:, None]
        common = self._theta_cov() + more
        gauge = _NOISES[:, None, None] ** 2 * np.diag(1 / weights)
        ln_evidence = np.log(np.outer(SCATTER_CHANCES, _NOISE_CHANCES))
        for i, scatter in enumerate(SCATTERS):
            covs = (self.loads * self._variances(scatter)) @ self.loads.T + common + gauge
            lower = np.linalg.cholesky(covs)
            white = np.linalg.solve(lower, np.broadcast_to(away, (len(covs), *away.shape)))
            ln_det = np.log(np.einsum("kii->ki", lower)).sum(axis=1)
            ln_evidence[i] -= ln_det + 0.5 * (white**2).sum(axis=(1, 2))
        evidence: Array = ln_evidence
        return evidence

    def _away(self) -> Array:
        """What the readings are off with the parameters as before any."""
        away: Array = self.residual + self.jacobian @ (self.theta - self.prior.mean)
        return away

    def _theta_cov(self) -> Array:
        """What not knowing the parameters adds to the covariance of that."""
        cov: Array = self.jacobian @ self.prior.cov @ self.jacobian.T
        return cov


def _ln_sum(ln_values: Array) -> float:
    top = ln_values.max()
    return float(top + np.log(np.exp(ln_values - top).sum()))


def _evidence(loads: Array, sd: float, inverse: Array, pulled: Array) -> tuple[Array, Array]:
    """Natural log of the evidence for each of some effects of this spread, and its likely size.

    ``loads``: one row an effect; ``pulled``: what the readings are off, by the inverse covariance.
    """
    grown = sd**2 * np.einsum("kn,nm,km->k", loads, inverse, loads)
    aligned = loads @ pulled
    evidence = 0.5 * ((sd * aligned) ** 2 / (1 + grown) - np.log1p(grown))
    return evidence, sd**2 * aligned / (1 + grown)
