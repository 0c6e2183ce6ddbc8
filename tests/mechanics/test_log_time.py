"""The log-time line, against worked figures, statsmodels and scipy.

Worked figures: computed from the least-squares formulas on the eight readings below.
"""

from __future__ import annotations

import math
from random import Random

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats

from benchterm.mechanics.log_time import fit_log_line

MINUTES = (2, 5, 10, 15, 20, 30, 45, 60)
TENSIONS = (27.1, 26.5, 26.0, 25.8, 25.5, 25.3, 25.0, 24.9)
LINE = fit_log_line(MINUTES, TENSIONS)


def test_the_line():
    assert f"{LINE.a:.6f}" == "27.548344"
    assert f"{LINE.b:.6f}" == "1.522198"
    assert f"{LINE.s:.7f}" == "0.0443701"
    assert f"{LINE.se_b:.7f}" == "0.0338253"
    assert f"{LINE.r2:.6f}" == "0.997046"
    ci = LINE.b_interval()
    assert (f"{ci.low:.6f}", f"{ci.high:.6f}") == ("1.439431", "1.604966")


def test_near_one_minute_the_line_is_a_power_of_time():
    """T1 t^-m falls as the line does at 1 min where m = b / (a ln 10) = 0.023997 (computed)."""
    assert f"{LINE.b / (LINE.a * math.log(10)):.6f}" == "0.023997"


def test_two_hours_ahead():
    ahead = LINE.reading_at(120)
    assert [f"{v:.3f}" for v in (ahead.value, ahead.low, ahead.high)] == [
        "24.383",
        "24.246",
        "24.521",
    ]


def test_a_day_ahead():
    mean, reading = LINE.line_at(1440), LINE.reading_at(1440)
    assert [f"{v:.3f}" for v in (mean.value, mean.low, mean.high)] == ["22.741", "22.572", "22.909"]
    assert [f"{v:.3f}" for v in (reading.low, reading.high)] == ["22.540", "22.941"]


def test_no_further_than_the_readings_allow():
    LINE.reading_at(60 * 10**1.49)
    with pytest.raises(ValueError, match="readings up to 60 min say nothing of 2880"):
        LINE.reading_at(2880)
    with pytest.raises(ValueError, match="say nothing"):
        fit_log_line((2, 5, 10, 15), TENSIONS[:4]).line_at(1440)


@pytest.mark.parametrize(("allowed", "minutes"), [(0.5, 1273.8), (1.0, 406.9), (1.5, 166.1)])
def test_settled(allowed: float, minutes: float):
    """H / (10^(d/b) - 1), H = 1440 min (computed)."""
    assert round(LINE.settled_after_min(allowed, 1440), 1) == minutes
    assert LINE.lost(minutes, 1440) == pytest.approx(allowed, abs=1e-3)


@pytest.mark.parametrize(("start", "loss"), [(15, 3.0243), (30, 2.5728), (60, 2.1279)])
def test_loss_of_the_day_to_come(start: float, loss: float):
    assert round(LINE.lost(start, 1440), 4) == loss


@pytest.mark.parametrize("number", range(5))
def test_against_other_packages(number: int):
    draw = Random(number)
    minutes = sorted(draw.uniform(1, 90) for _ in range(4 + 3 * number))
    tensions = [24 - 1.3 * math.log10(t) + draw.gauss(0, 0.3) for t in minutes]
    line = fit_log_line(minutes, tensions)
    x = np.log10(minutes)

    simple = stats.linregress(x, tensions)
    assert (line.a, -line.b, line.se_b) == pytest.approx(
        (simple.intercept, simple.slope, simple.stderr)
    )
    fitted = sm.OLS(tensions, sm.add_constant(x)).fit()
    ahead = 1.5 * max(minutes)
    frame = fitted.get_prediction([[1.0, math.log10(ahead)]]).summary_frame(alpha=0.10)
    mean, reading = line.line_at(ahead, 0.90), line.reading_at(ahead, 0.90)
    assert (mean.value, mean.low, mean.high) == pytest.approx(
        (frame["mean"][0], frame["mean_ci_lower"][0], frame["mean_ci_upper"][0])
    )
    assert (reading.low, reading.high) == pytest.approx(
        (frame["obs_ci_lower"][0], frame["obs_ci_upper"][0])
    )
    assert line.r2 == pytest.approx(fitted.rsquared)


@pytest.mark.parametrize(
    ("minutes", "tensions"),
    [
        ((1, 2, 3), (20, 20, 20)),
        ((1, 2, 3, 4), (20, 20, 20)),
        ((0, 2, 3, 4), (20, 20, 20, 20)),
        ((5, 5, 5, 5), (20, 20, 20, 20)),
        ((1, 2, 3, 4), (20, 20, 20, math.nan)),
    ],
)
def test_too_little_for_a_line(minutes, tensions):
    with pytest.raises(ValueError, match=r"readings|minutes"):
        fit_log_line(minutes, tensions)


def test_a_rising_tension_never_settles():
    with pytest.raises(ValueError, match="does not fall"):
        fit_log_line((1, 2, 4, 8), (20, 20.1, 20.2, 20.3)).settled_after_min(1, 1440)
