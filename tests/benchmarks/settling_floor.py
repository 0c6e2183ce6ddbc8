"""The best that can be told of the 24 h tension on the benches of ``bench_settling.py``.

Run: ``python tests/benchmarks/settling_floor.py [BENCHES] [FIRST_SEED]``. The mean of the exact
posterior has the least square error that any way of telling can reach. Here it is worked out by
brute force: thousands of draws of the very distribution that the truth is drawn from (loss, family,
shape, error of the steps), each weighted by the chance of what the gauge has shown, rounding to
half newtons included. Only the level is taken as unknown from the start, as it is in the shop.

It is told, too, what forty readings in the last minute would be worth, so what is left to gain by
reading more often.
"""

from __future__ import annotations

import math
import sys

import numpy as np
from bench_settling import AXES, FAMILIES, LOOKS, PLANS, Bench, Plan, Score, bench, readings, tell
from scipy.special import ndtr

from benchterm.mechanics.settling import DAY_S, Seen

DRAWS = 3000
GAUGE_SD = math.hypot(0.3, 0.1)
SIDE_SD = 0.015
STEP_SD = 0.1
LEVELS = np.linspace(-3.5, 3.5, 25)
"""Levels that are summed over, in standard deviations about the best one."""

Array = np.ndarray


class Drawn:
    """Draws of a relaxation."""

    def __init__(self, random: np.random.Generator) -> None:
        each = DRAWS // len(FAMILIES)
        self.random = random
        self.loss = random.uniform(0.08, 0.20, each * len(FAMILIES))
        self._tau = 10 ** random.uniform(0, 3, (each, 1))
        self._beta = random.uniform(0.2, 0.4, (each, 1))
        self._scale = 600 * 36 ** random.random((each, 1))
        self._parts = np.exp(random.uniform(-0.6, 0.6, (each, 1)) * (np.arange(5) - 2))
        self._day = self._phi(np.array([DAY_S]))

    def passed(self, ages: Array) -> Array:
        """Share of the day's loss, one row a draw, one column an age."""
        return self._phi(np.maximum(ages, 0.0)) / self._day

    def _phi(self, ages: Array) -> Array:
        log_time = np.log1p(ages / self._tau)
        stretched = -np.expm1(-((ages / self._scale) ** self._beta))
        prony = -self._parts @ np.expm1(-ages / 10.0 ** np.arange(1, 6)[:, None])
        return np.concatenate([log_time, stretched, prony])


def kept(one: Bench, axis: str, drawn: Drawn, times: list[float]) -> Array:
    """What is left of the tension of an axis, one row a draw, one column a time."""
    at = np.array([step.at_s for step in one.told[axis]])
    told = np.array([step.n_cm for step in one.told[axis]])
    passed = drawn.passed(np.subtract.outer(times, at).ravel()).reshape(-1, len(times), len(at))
    scatter = 1 + STEP_SD * drawn.random.standard_normal((len(passed), len(at)))
    steps = told / np.maximum(scatter, 0.5)
    shares = steps / steps.sum(axis=1, keepdims=True)
    return 1 - drawn.loss[:, None] * np.einsum("dts,ds->dt", passed, shares)


def weighed(seen: list[Seen], left: Array) -> tuple[Array, Array, Array]:
    """Of each draw: log of the chance of the readings, mean and mean square of the level.

    A side is read once, so that its offset is but more scatter.
    """
    shown = np.array([one.n_cm for one in seen])
    side = np.array([one.spot is not None for one in seen]) * SIDE_SD
    rough = GAUGE_SD**2 + (side * shown) ** 2 + 0.5**2 / 12
    square = (left**2 / rough).sum(axis=1)
    best = (left * shown / rough).sum(axis=1) / square
    level = best[:, None] + LEVELS / np.sqrt(square)[:, None]
    chance = np.ones_like(level)
    for i, n_cm in enumerate(shown):
        true = level * left[:, i : i + 1]
        sd = np.hypot(GAUGE_SD, side[i] * true)
        chance *= ndtr((n_cm + 0.25 - true) / sd) - ndtr((n_cm - 0.25 - true) / sd)
    whole = np.maximum(chance.sum(axis=1), 1e-300)
    log = np.log(whole / np.sqrt(square))
    return log, (chance * level).sum(axis=1) / whole, (chance * level**2).sum(axis=1) / whole


def best(one: Bench, seen: dict[str, list[Seen]], drawn: Drawn) -> dict[str, tuple[float, float]]:
    """Mean and standard deviation of each axis's tension after 24 h."""
    log = np.zeros(len(drawn.loss))
    moments = {}
    for axis in AXES:
        left = kept(one, axis, drawn, [s.at_s for s in seen[axis]] + [DAY_S])
        more, mean, square = weighed(seen[axis], left[:, :-1])
        log += more
        moments[axis] = mean * left[:, -1], square * left[:, -1] ** 2
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    told = {}
    for axis, (mean, square) in moments.items():
        value = float(weight @ mean)
        told[axis] = value, math.sqrt(float(weight @ square) - value**2)
    return told


def forty(minutes: float, _: int) -> Plan:
    """At the centre, in the last minute."""
    return [(60 * minutes - 1.5 * i, AXES[i % 2], None) for i in range(40)]


def main(benches: int, first: int) -> None:
    """Work out and print."""
    tell(f"best posterior mean, RMSE N/cm (coverage of 90 %), {benches} benches from seed {first}")
    tell(f"{'':34}all          " + "  ".join(f"{f.__name__:11}" for f in FAMILIES))
    random = np.random.default_rng(first)
    for minutes, count in LOOKS:
        for name, plan in {**PLANS, "forty in the last minute": forty}.items():
            score = Score()
            for seed in range(first, first + benches):
                one = bench(seed)
                told = best(one, readings(one, plan(minutes, count)), Drawn(random))
                for axis, (value, sd) in told.items():
                    score.add(seed % 3, value, sd, one.tension(axis, DAY_S))
            tell(f"{minutes:2} min, {name:26}{score}")


if __name__ == "__main__":
    given = [int(text) for text in sys.argv[1:]]
    main(*(given + [200, 10_000][len(given) :]))
