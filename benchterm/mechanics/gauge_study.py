"""Gauge repeatability and reproducibility: a crossed study of pieces, operators and trials.

Analysis of variance of the balanced two-way layout with interaction (any text on measurement
systems analysis; the AIAG manual, 4th edition, for the names EV, AV, GRR, PV, TV and ndc), or the
older average-and-range method. A variance that comes out negative is reported as none.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np
import numpy.typing as npt
from scipy.special import fdtrc

from benchterm.mechanics.ranges import D2, d2_star

POOLING_CHANCE = 0.25
"""Interaction is pooled with the error above this chance; common practice, no source."""
NDC_FACTOR = 1.41
"""As the AIAG manual writes it for the root of 2."""
GOOD_PCT, USABLE_PCT = 10.0, 30.0
"""%GRR under 10 is good, over 30 is not; AIAG 2010 as cited in a metrology journal."""
LEAST_NDC = 5
"""Categories that a gauge must tell apart; the same source."""

Array = npt.NDArray[np.float64]


class Method(Enum):
    """How the components are worked out."""

    POOLED = "analysis of variance, interaction pooled with the error"
    FULL = "analysis of variance with interaction"
    RANGE = "average and range"


class Standing(Enum):
    """What the usual rules say of the gauge."""

    GOOD = "good"
    DEPENDS = "depends on the use"
    NO = "not fit for this"


@dataclass(frozen=True, slots=True)
class Term:
    """One line of the table of analysis of variance."""

    name: str
    df: float
    ss: float
    f: float | None = None
    p: float | None = None
    """Chance of so large an F if the term were nothing."""

    @property
    def ms(self) -> float:
        """Mean square."""
        return self.ss / self.df


@dataclass(frozen=True, slots=True)
class Anova:
    """The table of the balanced layout with interaction."""

    part: Term
    operator: Term
    interaction: Term
    error: Term
    pooled: Term
    """Interaction and error together."""


@dataclass(frozen=True, slots=True)
class Result:
    """Standard deviations by source, in the unit of the readings."""

    method: Method
    parts: int
    operators: int
    trials: int
    ev: float
    """Equipment variation: repeatability."""
    av: float
    """Appraiser variation: between operators, with the interaction if it is not pooled."""
    pv: float
    """Part variation: between pieces."""
    anova: Anova | None = None
    """``None`` for average and range."""

    @property
    def grr(self) -> float:
        """Repeatability and reproducibility together."""
        return math.hypot(self.ev, self.av)

    @property
    def tv(self) -> float:
        """Total variation."""
        return math.hypot(self.grr, self.pv)

    @property
    def grr_pct(self) -> float:
        """Share of the total variation (standard deviations), %."""
        return 100 * self.grr / self.tv if self.tv else math.nan

    @property
    def contributions_pct(self) -> tuple[float, float, float, float]:
        """Shares of the total variance: repeatability, reproducibility, both, pieces, %."""
        unit = self.tv**2 / 100 or math.nan
        return self.ev**2 / unit, self.av**2 / unit, self.grr**2 / unit, self.pv**2 / unit

    def tolerance_pct(self, width: float) -> float:
        """Six GRR against the width of a tolerance, %."""
        return 100 * 6 * self.grr / width

    @property
    def ndc(self) -> float:
        """Distinct categories, 1.41 PV / GRR, before it is truncated."""
        return NDC_FACTOR * self.pv / self.grr if self.grr else math.inf

    @property
    def standing(self) -> Standing:
        """What the usual rules say, by %GRR and the truncated number of categories."""
        if not self.grr_pct <= USABLE_PCT:
            return Standing.NO
        enough = self.ndc >= LEAST_NDC
        return Standing.GOOD if self.grr_pct < GOOD_PCT and enough else Standing.DEPENDS


def study(
    readings: Sequence[Sequence[Sequence[float]]],
    method: Method | None = None,
    *,
    lost_df: int = 0,
) -> Result:
    """The components of a crossed study.

    Args:
        readings: by piece, then operator, then trial; two or more of each.
        method: ``None``: analysis of variance, pooled if the interaction's chance is over 0.25.
        lost_df: degrees of freedom which a correction before this has used up.

    Raises:
        ValueError: the study is not balanced, too small, or holds what is no number.
    """
    y = _array(readings)
    if method is Method.RANGE:
        return _by_range(y)
    table = _anova(y, lost_df)
    if method is None:
        p = table.interaction.p
        method = Method.POOLED if p is not None and p > POOLING_CHANCE else Method.FULL
    parts, operators, trials = y.shape
    pooled = method is Method.POOLED
    base = table.pooled if pooled else table.interaction
    error = table.pooled.ms if pooled else table.error.ms
    both = 0.0 if pooled else max(0.0, (table.interaction.ms - table.error.ms) / trials)
    operator = max(0.0, (table.operator.ms - base.ms) / (parts * trials))
    part = max(0.0, (table.part.ms - base.ms) / (operators * trials))
    return Result(
        method,
        parts,
        operators,
        trials,
        ev=math.sqrt(error),
        av=math.sqrt(operator + both),
        pv=math.sqrt(part),
        anova=table,
    )


def _array(readings: Sequence[Sequence[Sequence[float]]]) -> Array:
    try:
        y = np.asarray(readings, dtype=float)
    except ValueError as error:
        raise ValueError("every operator must read every piece equally often") from error
    if y.ndim != 3 or min(y.shape) < 2:
        raise ValueError("a study wants two pieces, operators and trials or more of each")
    if not np.isfinite(y).all():
        raise ValueError("a reading is missing or is not a number")
    return y


def _anova(y: Array, lost_df: int) -> Anova:
    parts, operators, trials = y.shape
    mean = y.mean()
    by_part, by_operator, by_cell = y.mean(axis=(1, 2)), y.mean(axis=(0, 2)), y.mean(axis=2)
    both = by_cell - by_part[:, None] - by_operator[None, :] + mean
    df_error = parts * operators * (trials - 1) - lost_df
    if df_error < 1:
        raise ValueError("too few readings for what is to be told from them")
    error = Term("repeatability", df_error, float(((y - by_cell[:, :, None]) ** 2).sum()))
    df_both = (parts - 1) * (operators - 1)
    interaction = _tested("interaction", df_both, trials * float((both**2).sum()), error)
    pooled = Term("pooled error", error.df + interaction.df, error.ss + interaction.ss)
    return Anova(
        _tested(
            "pieces",
            parts - 1,
            operators * trials * float(((by_part - mean) ** 2).sum()),
            interaction,
        ),
        _tested(
            "operators",
            operators - 1,
            parts * trials * float(((by_operator - mean) ** 2).sum()),
            interaction,
        ),
        interaction,
        error,
        pooled,
    )


def _tested(name: str, df: int, ss: float, against: Term) -> Term:
    if against.ms <= 0:
        return Term(name, df, ss)
    f = ss / df / against.ms
    return Term(name, df, ss, f, float(fdtrc(df, against.df, f)))


def _by_range(y: Array) -> Result:
    parts, operators, trials = y.shape
    if max(y.shape) > max(D2):
        raise ValueError(f"average and range is tabled for up to {max(D2)} of each")
    ev = float(np.ptp(y, axis=2).mean()) / D2[trials]
    between = float(np.ptp(y.mean(axis=(0, 2)))) / d2_star(operators)
    av = math.sqrt(max(0.0, between**2 - ev**2 / (parts * trials)))
    pv = float(np.ptp(y.mean(axis=(1, 2)))) / d2_star(parts)
    return Result(Method.RANGE, parts, operators, trials, ev=ev, av=av, pv=pv)
