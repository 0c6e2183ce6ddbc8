"""The gauge study against two published data sets, to the printed digits, and statsmodels."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import ndtr

from benchterm.mechanics.gauge_study import Method, Standing, study
from benchterm.mechanics.ranges import D2, D3, d2_star
from benchterm.mechanics.relaxing import LOST_DF, detrend

# AIAG MSA, 4th edition: ten parts, operators A, B, C with three trials each.
AIAG = np.array(
    [
        [0.29, 0.41, 0.64, 0.08, 0.25, 0.07, 0.04, -0.11, -0.15],
        [-0.56, -0.68, -0.58, -0.47, -1.22, -0.68, -1.38, -1.13, -0.96],
        [1.34, 1.17, 1.27, 1.19, 0.94, 1.34, 0.88, 1.09, 0.67],
        [0.47, 0.50, 0.64, 0.01, 1.03, 0.20, 0.14, 0.20, 0.11],
        [-0.80, -0.92, -0.84, -0.56, -1.20, -1.28, -1.46, -1.07, -1.45],
        [0.02, -0.11, -0.21, -0.20, 0.22, 0.06, -0.29, -0.67, -0.49],
        [0.59, 0.75, 0.66, 0.47, 0.55, 0.83, 0.02, 0.01, 0.21],
        [-0.31, -0.20, -0.17, -0.63, 0.08, -0.34, -0.46, -0.56, -0.49],
        [2.26, 1.99, 2.01, 1.80, 2.12, 2.19, 1.77, 1.45, 1.87],
        [-1.36, -1.25, -1.31, -1.68, -1.62, -1.50, -1.49, -1.77, -2.16],
    ]
).reshape(10, 3, 3)

# Vardeman & VanValkenburg 1999: two pieces of paper weighed in turn, columns are five operators.
WEIGHTS = (
    np.array(
        [
            [3.481, 3.448, 3.485, 3.475, 3.472],
            [3.258, 3.254, 3.256, 3.249, 3.241],
            [3.477, 3.472, 3.464, 3.472, 3.470],
            [3.254, 3.247, 3.257, 3.238, 3.250],
            [3.470, 3.470, 3.477, 3.473, 3.474],
            [3.258, 3.239, 3.245, 3.240, 3.254],
        ]
    )
    .reshape(3, 2, 5)
    .transpose(1, 2, 0)
)


def test_aiag_sums_of_squares():
    # Computed with statsmodels.
    table = study(AIAG).anova
    assert table.part.ss == pytest.approx(88.361934, abs=5e-7)
    assert table.operator.ss == pytest.approx(3.167262, abs=5e-7)
    assert table.interaction.ss == pytest.approx(0.358982, abs=5e-7)
    assert table.error.ss == pytest.approx(2.758933, abs=5e-7)
    assert table.interaction.f == pytest.approx(0.433721, abs=5e-7)
    assert table.interaction.p == pytest.approx(0.974106, abs=5e-7)
    assert table.pooled.df == 78
    assert table.pooled.ms == pytest.approx(0.0399733, abs=5e-8)


def test_aiag_components():
    # AIAG MSA, 4th edition, ANOVA example: published figures.
    got = study(AIAG)
    assert got.method is Method.POOLED
    assert got.ev == pytest.approx(0.199933, abs=1e-6)
    assert got.av == pytest.approx(0.226838, abs=1e-6)
    assert got.grr == pytest.approx(0.302373, abs=2e-6)  # The source adds rounded squares.
    assert got.pv == pytest.approx(1.042327, abs=1e-6)
    assert [round(c, 1) for c in got.contributions_pct] == [3.4, 4.4, 7.8, 92.2]
    assert round(got.grr_pct, 2) == 27.86
    assert round(got.tolerance_pct(8), 2) == 22.68
    assert got.ndc == pytest.approx(4.861, abs=5e-4)
    assert got.standing is Standing.DEPENDS


def test_aiag_without_pooling():
    # Computed here from the mean squares above.
    got = study(AIAG, Method.FULL)
    assert got.ev == pytest.approx(0.214435, abs=5e-7)
    assert got.grr == pytest.approx(0.313217, abs=5e-7)


def test_aiag_by_average_and_range():
    # K 0.5908, 0.5231, 0.3146 (from memory); d2 computed, so the last digits may differ.
    got = study(AIAG, Method.RANGE)
    assert got.ev == pytest.approx(0.201857, abs=2e-5)
    assert got.av == pytest.approx(0.229667, abs=2e-5)
    assert got.grr == pytest.approx(0.305766, abs=2e-5)
    assert round(got.grr_pct, 2) == pytest.approx(26.68, abs=0.011)
    assert round(got.ndc, 2) == pytest.approx(5.09, abs=0.011)


def test_paper_weights():
    # Vardeman & VanValkenburg 1999, interaction variance cut to 0.
    got = study(WEIGHTS, Method.FULL)
    assert got.ev == pytest.approx(0.007153, abs=5e-7)
    assert got.av == pytest.approx(0.003682, abs=5e-7)
    assert got.grr == pytest.approx(0.008045, abs=5e-7)


@pytest.mark.parametrize("data", [AIAG, WEIGHTS], ids=["aiag", "weights"])
def test_the_table_agrees_with_statsmodels(data):
    api = pytest.importorskip("statsmodels.formula.api")
    anova = pytest.importorskip("statsmodels.stats.anova")
    index = np.indices(data.shape).reshape(3, -1)
    pd = pytest.importorskip("pandas")
    columns = pd.DataFrame({"part": index[0], "operator": index[1], "y": data.ravel()})
    theirs = anova.anova_lm(api.ols("y ~ C(part) * C(operator)", columns).fit())
    ours = study(data).anova
    for term, name in (
        (ours.part, "C(part)"),
        (ours.operator, "C(operator)"),
        (ours.interaction, "C(part):C(operator)"),
        (ours.error, "Residual"),
    ):
        assert term.ss == pytest.approx(theirs.loc[name, "sum_sq"])
        assert term.df == theirs.loc[name, "df"]
    assert ours.interaction.p == pytest.approx(theirs.loc["C(part):C(operator)", "PR(>F)"])


def test_range_constants_are_those_of_the_normal_range():
    # d2 = integral of 1 - Phi^n - (1 - Phi)^n (any text on order statistics), integrated here.
    x = np.linspace(-12, 12, 20001)
    for n, d2 in D2.items():
        p = ndtr(x)
        assert np.trapezoid(1 - p**n - (1 - p) ** n, x) == pytest.approx(d2, abs=1e-5)
    draws = np.random.default_rng(1).standard_normal((200_000, 5))
    assert np.ptp(draws, axis=1).std() == pytest.approx(D3[5], abs=5e-3)
    assert 1 / d2_star(3) == pytest.approx(0.5231, abs=5e-5)
    assert 1 / d2_star(10) == pytest.approx(0.3146, abs=5e-5)


def simulated(per_decade: float, seed: int = 3):
    """Three operators read five screens thrice; every screen is read at ever later times."""
    rng = np.random.default_rng(seed)
    pieces = np.array([14.0, 18.0, 22.0, 26.0, 30.0])[:, None, None]
    operators = np.array([-0.2, 0.0, 0.3])[None, :, None]
    minutes = 5 * 1.8 ** np.arange(9.0).reshape(3, 3)[None, :, :] * np.ones((5, 1, 1))
    noise = rng.normal(0, 0.2, (5, 3, 3))
    return pieces + operators + noise + per_decade * np.log10(minutes / 30), minutes


def test_relaxation_is_taken_out():
    steady, minutes = simulated(0.0)
    relaxing, _ = simulated(-1.5)
    assert study(relaxing).ev > 1.5 * study(steady).ev
    level = detrend(relaxing, minutes)
    assert level.per_decade == pytest.approx(-1.5, abs=3 * level.se)
    assert level.p < 0.001
    got = study(level.readings, lost_df=LOST_DF)
    assert got.ev == pytest.approx(study(steady).ev, rel=0.1)
    assert got.anova.error.df == 29


def test_all_readings_are_brought_to_the_middle_of_the_times():
    # An exact fall of 2 N/cm for ten times the time: at the geometric mean of 1 and 100 min, 20.
    minutes = np.broadcast_to([1.0, 100.0], (2, 2, 2))
    level = detrend(24 - 2 * np.log10(minutes) - 2, minutes)
    assert level.per_decade == pytest.approx(-2)
    assert level.at_minutes == pytest.approx(10)
    assert np.array(level.readings) == pytest.approx(20)


def test_the_common_slope_agrees_with_statsmodels():
    api = pytest.importorskip("statsmodels.formula.api")
    relaxing, minutes = simulated(-1.5)
    index = np.indices(relaxing.shape).reshape(3, -1)
    columns = pytest.importorskip("pandas").DataFrame(
        {
            "part": index[0],
            "operator": index[1],
            "x": np.log10(minutes).ravel(),
            "y": relaxing.ravel(),
        }
    )
    theirs = api.ols("y ~ C(part) * C(operator) + x", columns).fit()
    ours = detrend(relaxing, minutes)
    assert ours.per_decade == pytest.approx(theirs.params["x"])
    assert ours.se == pytest.approx(theirs.bse["x"])
    assert ours.p == pytest.approx(theirs.pvalues["x"])
    got = study(ours.readings, lost_df=LOST_DF)
    assert got.anova.error.ms == pytest.approx(theirs.mse_resid)


def test_a_steady_study_is_not_said_to_relax():
    steady, minutes = simulated(0.0)
    assert detrend(steady, minutes).p > 0.05


def test_the_usual_rules():
    pieces = np.arange(10.0, 60.0, 10.0)[:, None, None] * np.ones((1, 2, 2))
    wobble = np.array([[0.1, -0.1], [-0.1, 0.1]])[None]
    assert study(pieces + wobble).standing is Standing.GOOD
    alike = 20.0 + np.array([0.1, -0.1])[:, None, None] + 3 * wobble
    assert study(alike).standing is Standing.NO


def test_readings_all_alike_do_not_divide_by_nothing():
    got = study(np.full((2, 2, 2), 20.0))
    assert got.grr == 0
    assert math.isnan(got.grr_pct)
    assert got.standing is Standing.NO


@pytest.mark.parametrize(
    ("readings", "why"),
    [
        ([[[1, 2]]], "two pieces"),
        ([[[1, 2], [1]], [[1, 2], [1, 2]]], "equally often"),
        ([[[1, 2], [1, math.nan]], [[1, 2], [1, 2]]], "missing"),
    ],
)
def test_what_is_no_study_is_refused(readings, why):
    with pytest.raises(ValueError, match=why):
        study(readings)


def test_times_that_tell_nothing_are_refused():
    readings = np.ones((2, 2, 2))
    with pytest.raises(ValueError, match="one and the same time"):
        detrend(readings, np.full((2, 2, 2), 5.0))
    with pytest.raises(ValueError, match="above 0"):
        detrend(readings, np.zeros((2, 2, 2)))
    with pytest.raises(ValueError, match="its time"):
        detrend(readings, np.ones((2, 2, 3)))
