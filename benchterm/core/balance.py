"""How even the tension is, worked out from the state: opposite sides, both axes, spread, tilt."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from benchterm.core.state import Reading, State
from benchterm.core.stations import ROLLERS_OF, Axis, Pair, Station

_T_975 = (12.706205, 4.302653, 3.182446, 2.776445, 2.570582, 2.446912, 2.364624, 2.306004)
"""Student's t, two-sided 95 %, for 1 to 8 degrees of freedom: at most nine stations are read."""

_TOGETHER_S = 300.0
"""Readings further apart do not compare, for mesh relaxes in between."""


@dataclass(frozen=True, slots=True)
class Spread:
    """How the readings of one axis are spread over the mesh. N/cm unless said otherwise."""

    n: int
    """Stations read."""
    mean: float
    range: float
    """Largest less smallest."""
    s: float | None
    """Sample standard deviation; ``None`` for one station."""
    cv_pct: float | None
    """``s`` over the mean, per cent; ``None`` for one station or a mean of nought."""
    tilt_columns: float | None
    """Slope of the least-squares plane, N/cm for one column to the right.

    ``None`` where three stations off one line have not been read.
    """
    tilt_rows: float | None
    """Slope of the same plane, N/cm for one row away from the operator."""

    @property
    def mean_half_width(self) -> float | None:
        """Half the width of the 95 % interval of the mean, t s / sqrt(n); ``None`` for one station.

        Stations are fixed places with related tensions, so this describes an idealised field.
        """
        return None if self.s is None else _T_975[self.n - 2] * self.s / math.sqrt(self.n)


@dataclass(frozen=True, slots=True)
class PairBalance:
    """One pair of opposite sides, both read in the direction which their rollers pull."""

    pair: Pair
    first: Station
    """Far or left."""
    second: Station
    """Near or right."""
    first_n_cm: float | None
    """Last reading at the first; ``None``: not read."""
    second_n_cm: float | None
    first_clicks: int
    """Net clicks of its roller since tension began."""
    second_clicks: int
    fresh: bool
    """Both have been read since either roller last turned, within five minutes of each other."""

    @property
    def apart_n_cm(self) -> float | None:
        """First less second; ``None`` where one is not read."""
        if self.first_n_cm is None or self.second_n_cm is None:
            return None
        return self.first_n_cm - self.second_n_cm

    @property
    def clicks_apart(self) -> int:
        """Net clicks of the first roller less those of the second."""
        return self.first_clicks - self.second_clicks


@dataclass(frozen=True, slots=True)
class Balance:
    """Every figure of evenness at one moment."""

    far_near: PairBalance
    left_right: PairBalance
    along: Spread | None
    """Of the readings along since a roller of its pair last turned; ``None``: none."""
    across: Spread | None

    @property
    def along_less_across_n_cm(self) -> float | None:
        """Mean along less mean across; ``None`` where an axis has no reading of now."""
        if self.along is None or self.across is None:
            return None
        return self.along.mean - self.across.mean

    def pair(self, pair: Pair) -> PairBalance:
        """The balance of one pair."""
        return self.far_near if pair is Pair.FAR_NEAR else self.left_right

    def spread(self, axis: Axis) -> Spread | None:
        """The spread on one axis."""
        return self.along if axis is Axis.ALONG else self.across


def balance(state: State) -> Balance:
    """The balance as the state has it."""
    return Balance(
        far_near=_pair_balance(state, Pair.FAR_NEAR),
        left_right=_pair_balance(state, Pair.LEFT_RIGHT),
        along=spread(_current(state, state.along)),
        across=spread(_current(state, state.across)),
    )


def spread(values: Mapping[Station, float]) -> Spread | None:
    """The spread of one value a station, N/cm; ``None`` if there is none."""
    n = len(values)
    if n == 0:
        return None
    mean = math.fsum(values.values()) / n
    s = None
    if n > 1:
        s = math.sqrt(math.fsum((v - mean) ** 2 for v in values.values()) / (n - 1))
    tilt_columns, tilt_rows = _tilt(values, mean)
    return Spread(
        n=n,
        mean=mean,
        range=max(values.values()) - min(values.values()),
        s=s,
        cv_pct=None if s is None or mean == 0 else 100 * s / mean,
        tilt_columns=tilt_columns,
        tilt_rows=tilt_rows,
    )


def _tilt(values: Mapping[Station, float], mean: float) -> tuple[float | None, float | None]:
    """Slopes of the least-squares plane, by the normal equations about the centroid."""
    n = len(values)
    if n < 3:
        return None, None
    x = y = xx = yy = xy = 0
    xz = yz = 0.0
    for station, value in values.items():
        column, row = _PLACE[station]
        z = value - mean
        x += column
        y += row
        xx += column * column
        yy += row * row
        xy += column * row
        xz += column * z
        yz += row * z
    sxx, syy, sxy = n * xx - x * x, n * yy - y * y, n * xy - x * y
    det = sxx * syy - sxy * sxy
    if det == 0:
        return None, None
    return n * (xz * syy - yz * sxy) / det, n * (yz * sxx - xz * sxy) / det


_PLACE = {station: (station.column, station.row) for station in Station}


def _current(state: State, readings: tuple[Reading | None, ...]) -> dict[Station, float]:
    """What was read before the last clicks would pass for unevenness."""
    return {r.station: r.value_n_cm for r in readings if r is not None and state.is_current(r)}


def _pair_balance(state: State, pair: Pair) -> PairBalance:
    first, second = ROLLERS_OF[pair]
    readings = state.readings(state.facts.axis_of(pair))
    at_first, at_second = readings[first], readings[second]
    return PairBalance(
        pair=pair,
        first=first,
        second=second,
        first_n_cm=None if at_first is None else at_first.value_n_cm,
        second_n_cm=None if at_second is None else at_second.value_n_cm,
        first_clicks=state.net_clicks(first),
        second_clicks=state.net_clicks(second),
        fresh=_compare(state, at_first, at_second),
    )


def _compare(state: State, first: Reading | None, second: Reading | None) -> bool:
    """Whether two readings show the same tension: nothing turned since, taken about together."""
    if first is None or second is None:
        return False
    if abs(first.at_s - second.at_s) > _TOGETHER_S:
        return False
    return state.is_current(first) and state.is_current(second)
