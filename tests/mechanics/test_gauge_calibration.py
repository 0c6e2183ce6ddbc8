"""The calibration line against figures computed from its formulas, and against statsmodels."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchterm.mechanics.calibration import Verdict, fit_line

REFERENCES = [10, 15, 20, 25, 30, 35]
READINGS = [10.4, 15.3, 20.5, 25.2, 30.6, 35.3]


def test_the_line_of_six_points():
    # Computed independently from the least-squares formulas, to the digits shown.
    line = fit_line(REFERENCES, READINGS)
    assert line.slope == pytest.approx(1.000571, abs=5e-7)
    assert line.intercept == pytest.approx(0.370476, abs=5e-7)
    assert line.s == pytest.approx(0.164462, abs=5e-7)
    assert line.se_slope == pytest.approx(0.0078628, abs=5e-8)
    assert line.mean_bias == pytest.approx(0.383333, abs=5e-7)
    assert line.t_slope == pytest.approx(0.0727, abs=5e-5)


def test_a_corrected_reading_has_its_uncertainty():
    # s/b sqrt(1 + 1/n + (y - ybar)^2/(b^2 Sxx)) and t(4) = 2.776, computed here.
    line = fit_line(REFERENCES, READINGS)
    assert line.corrected(24.8) == pytest.approx(24.41557, abs=5e-6)
    assert line.u_corrected(24.8) == pytest.approx(0.178174, abs=5e-7)
    assert line.u95_corrected(24.8) == pytest.approx(0.4947, abs=5e-5)


def test_the_line_agrees_with_statsmodels():
    sm = pytest.importorskip("statsmodels.api")
    ours = fit_line(REFERENCES, READINGS)
    theirs = sm.OLS(READINGS, sm.add_constant(REFERENCES)).fit()
    assert (ours.intercept, ours.slope) == pytest.approx(tuple(theirs.params))
    assert (ours.se_intercept, ours.se_slope) == pytest.approx(tuple(theirs.bse))
    assert ours.s == pytest.approx(math.sqrt(theirs.mse_resid))
    assert ours.p_slope == pytest.approx(float(theirs.t_test("x1 = 1").pvalue))


def test_the_same_error_everywhere_is_bias():
    assert fit_line(REFERENCES, READINGS).verdict is Verdict.BIAS


def test_an_error_that_grows_is_a_scale_error():
    readings = [1.05 * r + e for r, e in zip(REFERENCES, [0.1, -0.1, 0, 0.1, -0.1, 0], strict=True)]
    assert fit_line(REFERENCES, readings).verdict is Verdict.SCALE


def test_scatter_about_the_references_is_no_error():
    readings = [r + e for r, e in zip(REFERENCES, [0.2, -0.2, 0.1, -0.2, 0.2, -0.1], strict=True)]
    assert fit_line(REFERENCES, readings).verdict is Verdict.NONE


def test_a_perfect_gauge_needs_nothing():
    line = fit_line([10, 20, 30], [10, 20, 30])
    assert line.verdict is Verdict.NONE
    assert line.corrected(25) == pytest.approx(25)


def test_a_perfect_line_beside_the_references_is_still_seen():
    assert fit_line([10, 20, 30], [10.5, 20.5, 30.5]).verdict is Verdict.BIAS
    assert fit_line([10, 20, 30], [11, 22, 33]).verdict is Verdict.SCALE


@pytest.mark.parametrize(
    ("references", "readings", "why"),
    [
        ([10, 20], [10, 20], "3 points"),
        ([10, 20, 30], [10, 20], "3 points"),
        ([10, 10, 10], [10, 11, 10], "same"),
        ([10, 20, 30], [30, 20, 10], "rise"),
        ([10, 20, math.nan], [10, 20, 30], "not a number"),
    ],
)
def test_what_is_no_line_is_refused(references, readings, why):
    with pytest.raises(ValueError, match=why):
        fit_line(references, readings)


@given(
    slope=st.floats(0.5, 2),
    intercept=st.floats(-5, 5),
    value=st.floats(1, 60),
)
def test_correcting_takes_away_exactly_what_the_gauge_puts_on(slope, intercept, value):
    line = fit_line(REFERENCES, [intercept + slope * r for r in REFERENCES])
    assert line.corrected(intercept + slope * value) == pytest.approx(value, abs=1e-6)
