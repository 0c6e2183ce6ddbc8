"""What a stretched mesh will have lost by tomorrow, from the readings of its first minutes.

Each step of tension is kept by r(t) = 1 - R24 phi(t) / phi(24 h), and steps add up (linear
superposition, from memory). R24, the share lost in a day, and the shape phi are unknown: both are
averaged over a grid, weighted by what has been read (Bayes); the level of each axis and the scatter
of the gauge are integrated out. Shapes are of three families alike: the log of time, stretched
exponentials and Prony series. A mesh that has been read overnight before is known by what it loses
after the first quarter of an hour, for a gauge sees both ends of that; R24 begins at a click that
it does not see. Set on simulated benches, never checked on real mesh.

Plain Python: it is worked out after an entry. Times are seconds, tensions N/cm.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

Kept = Callable[[float], float]
"""What has passed of a relaxation, or is kept of a step, by its age in seconds."""

DAY_S = 86400.0
QUARTER_HOUR_S = 900.0
WITHIN_90 = 1.6449
"""Half-width of a 90 % interval in standard deviations."""

_NOISES = ((0.2, 0.25), (0.35, 0.5), (0.6, 0.2), (1.0, 0.05))
"""Scatter of one reading and how likely that is."""
_PLACE_SD = 0.02
"""Middle of a side against the centre, as a share; simulated."""
_TAIL_DF = 4.0
_NODES = tuple(0.4 * i for i in range(-12, 13))
"""Points of the grid over the loss, in standard deviations from what is likely."""
_NODE_CHANCES = tuple((1 + z * z / (_TAIL_DF - 2)) ** (-(_TAIL_DF + 1) / 2) for z in _NODES)
"""Heavy tails: t with 4 df, scaled to a standard deviation of 1."""
_LOSS_RANGE = (0.01, 0.45)
_NEGLIGIBLE = -20.0
"""Log of a weight, against the largest, that changes no figure."""


@dataclass(frozen=True, slots=True)
class Likely:
    """A value with its standard deviation."""

    value: float
    sd: float

    @property
    def low(self) -> float:
        """Lower end of the interval that holds it with 90 %."""
        return self.value - WITHIN_90 * self.sd

    @property
    def high(self) -> float:
        """Upper end."""
        return self.value + WITHIN_90 * self.sd


@dataclass(frozen=True, slots=True)
class Prior:
    """What is known of the loss before anything is read."""

    loss: float = 0.14
    """Share lost in 24 h. Simulated; trade articles tell of 0.10 to 0.15 overnight (Feb 2001)."""
    sd: float = 0.035
    later: Likely | None = None
    """Share lost between a quarter of an hour and 24 h, of what is there then. If this is known of
    a mesh, it counts instead."""

    def losses(self, passed: float) -> list[tuple[float, float]]:
        """Shares lost in 24 h and their chances, not yet summing to 1.

        Args:
            passed: how much of that has passed after a quarter of an hour.
        """
        known = self.later or Likely(self.loss, self.sd)
        nodes = [max(0.0, known.value + known.sd * z) for z in _NODES]
        if self.later:
            nodes = [later / (1 - passed + later * passed) for later in nodes]
        low, high = _LOSS_RANGE
        return [
            (loss, p) for loss, p in zip(nodes, _NODE_CHANCES, strict=True) if low < loss < high
        ]


@dataclass(frozen=True, slots=True)
class Step:
    """Tension added, or let go if negative, as it was at that moment."""

    at_s: float
    n_cm: float


@dataclass(frozen=True, slots=True)
class Seen:
    """A reading after the last step."""

    at_s: float
    spot: Hashable
    """Tells places apart; ``None`` is the centre."""
    n_cm: float


def log_time(tau_s: float) -> Kept:
    """Of phi = log(1 + t / tau), which never ends."""
    return lambda age_s: math.log1p(age_s / tau_s)


def stretched(beta: float, tau_s: float) -> Kept:
    """Of phi = 1 - exp(-(t / tau)^beta)."""
    return lambda age_s: -math.expm1(-((age_s / tau_s) ** beta))


def prony(parts: Sequence[tuple[float, float]]) -> Kept:
    """Of phi = sum of g (1 - exp(-t / tau)), parts as g and tau, seconds."""
    return lambda age_s: sum([g * -math.expm1(-age_s / tau) for g, tau in parts])


def superposed(steps: Iterable[Step], at_s: float, kept: Kept) -> float:
    """Tension left of steps at a time, each kept by its age: sum of T_k r(t - t_k)."""
    return math.fsum(s.n_cm * kept(at_s - s.at_s) for s in steps if s.at_s <= at_s)


class _Shape:
    """How a relaxation goes on, as a share of what has happened after 24 h."""

    def __init__(self, family_size: int, phi: Kept) -> None:
        self.chance = 1 / family_size
        self._phi = phi
        self._whole = phi(DAY_S)
        self.early = self.passed(QUARTER_HOUR_S)

    def passed(self, age_s: float) -> float:
        """The share after a time; nought before it began."""
        return self._phi(age_s) / self._whole if age_s > 0 else 0.0


def _family(phis: Iterable[Kept]) -> list[_Shape]:
    listed = list(phis)
    return [_Shape(len(listed), phi) for phi in listed]


_DECADES_S = (1e1, 1e2, 1e3, 1e4, 1e5)
_SHAPES = (
    *_family(log_time(tau) for tau in (1, 6, 32, 180, 1000)),
    *_family(stretched(*p) for p in product((0.2, 0.3, 0.4), (600, 3600, 21600))),
    *_family(
        prony([(math.exp(tilt * i), tau) for i, tau in enumerate(_DECADES_S)])
        for tilt in (-0.6, -0.2, 0.2, 0.6)
    ),
)


class _Moments:
    """Weighted sums over the grid at one shape: all that means and variances need.

    Every figure asked for is a level times a factor that is straight in the loss.
    """

    def __init__(self) -> None:
        self._first = [0.0, 0.0]
        self._second = [0.0, 0.0, 0.0]

    def add(self, weight: float, loss: float, mean: float, variance: float) -> None:
        """One point of the grid: its weight, its loss, its level."""
        first, second = weight * mean, weight * (mean * mean + variance)
        self._first[0] += first
        self._first[1] += first * loss
        self._second[0] += second
        self._second[1] += second * loss
        self._second[2] += second * loss * loss

    def of(self, at_nought: float, slope: float) -> tuple[float, float]:
        """Sum of (at_nought + slope x loss) x level, and of its square."""
        level, with_loss = self._first
        square, once, twice = self._second
        return (
            at_nought * level + slope * with_loss,
            at_nought * at_nought * square + 2 * at_nought * slope * once + slope * slope * twice,
        )


class Settling:
    """What is known of a mesh's settling. Axes are those that were read."""

    def __init__(
        self,
        steps: Mapping[Hashable, Sequence[Step]],
        seen: Mapping[Hashable, Sequence[Seen]],
        prior: Prior | None = None,
    ) -> None:
        """Steps and readings by axis.

        Raises:
            ValueError: an axis was read and never tensioned, or nothing was read.
        """
        self._axes = [axis for axis in seen if seen[axis]]
        if not self._axes:
            raise ValueError("nothing has been read since the last click")
        self._steps = {axis: _shares(steps.get(axis, ())) for axis in self._axes}
        self._levels = {axis: {shape: _Moments() for shape in _SHAPES} for axis in self._axes}
        self._losses = {shape: _Moments() for shape in _SHAPES}
        self.later_share = self._weigh(seen, prior or Prior())
        """Of a step as it is after a quarter of an hour, the share lost from then to 24 h."""

    def tension(self, axis: Hashable, at_s: float) -> Likely:
        """The tension of an axis at a time from the last step on, N/cm, if nothing is turned."""
        return _mixed(self._levels[axis], lambda shape: (1.0, -self._gone(axis, at_s, shape)))

    def lost(self, axis: Hashable, from_s: float, to_s: float) -> Likely:
        """Tension lost between two times, N/cm."""

        def factor(shape: _Shape) -> tuple[float, float]:
            return 0.0, self._gone(axis, to_s, shape) - self._gone(axis, from_s, shape)

        return _mixed(self._levels[axis], factor)

    def topped_up(self, axis: Hashable, added_n_cm: float, now_s: float, at_s: float) -> Likely:
        """The tension at a time if an axis is given more tension now, N/cm."""

        def then(shape: _Shape) -> tuple[float, float]:
            return added_n_cm, -added_n_cm * shape.passed(at_s - now_s)

        now = self.tension(axis, at_s)
        more = _mixed(self._losses, then)
        return Likely(now.value + more.value, now.sd + more.sd)

    def may_be_glued_s(self, axis: Hashable, allowed_n_cm: float, now_s: float) -> float | None:
        """From when on a further day costs no more than this, most likely; ``None``: not for a day.

        Found to the minute.
        """

        def a_day_costs(from_s: float) -> float:
            return self.lost(axis, from_s, from_s + DAY_S).value

        if a_day_costs(now_s) <= allowed_n_cm:
            return now_s
        low, high = now_s, now_s + DAY_S
        if a_day_costs(high) > allowed_n_cm:
            return None
        while high - low > 60:
            middle = math.sqrt((low - now_s + 60) * (high - now_s + 60)) - 60 + now_s
            low, high = (low, middle) if a_day_costs(middle) <= allowed_n_cm else (middle, high)
        return high

    def _gone(self, axis: Hashable, at_s: float, shape: _Shape) -> float:
        """Share of R24 gone by a time, all steps together."""
        return sum([share * shape.passed(at_s - then_s) for then_s, share in self._steps[axis]])

    def _weigh(self, seen: Mapping[Hashable, Sequence[Seen]], prior: Prior) -> Likely:
        """Fill the sums; the share lost later on."""
        found: list[tuple[float, _Shape, float, list[_Fit]]] = []
        for shape in _SHAPES:
            gone = {axis: self._gones(axis, seen[axis], shape) for axis in self._axes}
            losses = prior.losses(shape.early)
            for noise, chance in _NOISES:
                sums = [_Sums(seen[axis], gone[axis], noise) for axis in self._axes]
                for loss, likely in losses:
                    fits = [one.fit(loss) for one in sums]
                    log = math.log(shape.chance * chance * likely) + sum(f.log for f in fits)
                    found.append((log, shape, loss, fits))
        top = max(log for log, *_ in found)
        found = [one for one in found if one[0] - top > _NEGLIGIBLE]
        whole = math.fsum(math.exp(log - top) for log, *_ in found)
        mean = square = 0.0
        for log, shape, loss, fits in found:
            weight = math.exp(log - top) / whole
            later = loss * (1 - shape.early) / (1 - loss * shape.early)
            mean += weight * later
            square += weight * later * later
            self._losses[shape].add(weight, loss, 1.0, 0.0)
            for axis, fit in zip(self._axes, fits, strict=True):
                self._levels[axis][shape].add(weight, loss, fit.level, fit.variance)
        return Likely(mean, math.sqrt(max(0.0, square - mean * mean)))

    def _gones(self, axis: Hashable, seen: Sequence[Seen], shape: _Shape) -> list[float]:
        return [self._gone(axis, one.at_s, shape) for one in seen]


def _mixed(
    moments: Mapping[_Shape, _Moments], factor: Callable[[_Shape], tuple[float, float]]
) -> Likely:
    """A level times a factor, at no loss and what a loss of 1 adds to it, over all shapes."""
    sums = [of.of(*factor(shape)) for shape, of in moments.items()]
    mean, square = (math.fsum(column) for column in zip(*sums, strict=True))
    return Likely(mean, math.sqrt(max(0.0, square - mean * mean)))


class _Fit(NamedTuple):
    """Readings of one axis at one loss."""

    log: float
    """Log of how well they fit, the level integrated out."""
    level: float
    variance: float
    """Of the level."""


class _Sums:
    """Readings of one axis against the model f = 1 - R24 u, for one scatter and one shape.

    Readings of one side share an offset, so their covariance is sigma^2 I + s^2 11'; its inverse is
    known, and every product is a sum over places.
    """

    def __init__(self, seen: Sequence[Seen], gone: Sequence[float], noise: float) -> None:
        offset = (_PLACE_SD * math.fsum(one.n_cm for one in seen) / len(seen)) ** 2
        variance = noise * noise
        self._11 = self._1u = self._uu = self._y1 = self._yu = self._yy = self._log_det = 0.0
        for spot in {one.spot for one in seen}:
            here = [(o.n_cm, u) for o, u in zip(seen, gone, strict=True) if o.spot == spot]
            n = len(here)
            shared = 0.0 if spot is None else offset
            less = shared / (variance + n * shared)
            y1, u1 = sum([y for y, _ in here]), sum([u for _, u in here])
            self._11 += (n - less * n * n) / variance
            self._1u += (u1 - less * n * u1) / variance
            self._y1 += (y1 - less * n * y1) / variance
            self._uu += (sum([u * u for _, u in here]) - less * u1 * u1) / variance
            self._yu += (sum([y * u for y, u in here]) - less * y1 * u1) / variance
            self._yy += (sum([y * y for y, _ in here]) - less * y1 * y1) / variance
            self._log_det += (n - 1) * math.log(variance) + math.log(variance + n * shared)

    def fit(self, loss: float) -> _Fit:
        """How well a loss fits, and the level that it asks for."""
        ff = self._11 - 2 * loss * self._1u + loss * loss * self._uu
        yf = self._y1 - loss * self._yu
        log = -0.5 * (self._yy - yf * yf / ff + math.log(ff) + self._log_det)
        return _Fit(log, yf / ff, 1 / ff)


def _shares(steps: Sequence[Step]) -> list[tuple[float, float]]:
    """Steps as shares of the tension they came to.

    Raises:
        ValueError: they came to nothing.
    """
    whole = math.fsum(step.n_cm for step in steps)
    if whole <= 0:
        raise ValueError("no tension was added on an axis that was read")
    return [(step.at_s, step.n_cm / whole) for step in steps]
