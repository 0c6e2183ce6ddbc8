"""Uncertainty of a mean of readings by a calibrated gauge."""

from __future__ import annotations

import math

import pytest
from gauge.test_calibrated import calibration

from benchterm.gauge.trust import mean_uncertainty

CORRECTED = 24.41557
"""Reading 24.8 by the line; by hand s / b sqrt(1 + 1/n + (y - ybar)^2 / (b^2 Sxx)) = 0.178174."""


def parts(combined):
    return {part.name: part.u for part in combined.components}


def test_one_reading_has_the_uncertainty_of_a_corrected_reading():
    found = parts(mean_uncertainty([CORRECTED], calibration(), same_place=True))
    assert math.hypot(found["line"], found["repeatability"]) == pytest.approx(0.178174, abs=1e-6)
    # JCGM 100, F.2.2.1: a step of 0.1 is 0.1 / sqrt(12).
    assert found["resolution"] == pytest.approx(0.028868, abs=1e-6)


def test_averaging_shrinks_repeatability_and_nothing_else():
    one = mean_uncertainty([CORRECTED], calibration(reference_u_n_cm=0.2), same_place=False)
    four = mean_uncertainty([CORRECTED] * 4, calibration(reference_u_n_cm=0.2), same_place=False)
    before, after = parts(one), parts(four)
    assert after.pop("repeatability") == pytest.approx(before.pop("repeatability") / 2)
    assert after == pytest.approx(before)
    assert before["references"] == 0.2


def test_scatter_between_places_is_the_mesh_and_not_the_gauge():
    sheet = [21.0, 23.0, 25.0, 27.0]
    here = parts(mean_uncertainty(sheet, calibration(), same_place=False))
    there = parts(mean_uncertainty(sheet, calibration(), same_place=True))
    assert here["repeatability"] == pytest.approx(0.164462 / 1.000571 / 2, abs=1e-6)
    # Sample standard deviation of 21, 23, 25, 27 is sqrt(20 / 3), over sqrt(4).
    assert there["repeatability"] == pytest.approx(math.sqrt(20 / 3) / 2)


def test_where_nothing_is_known_nothing_is_said():
    assert mean_uncertainty([22.0], None, same_place=True) is None
    assert mean_uncertainty([], calibration(), same_place=True) is None
    broken = calibration(references_n_cm=(1.0,), readings_n_cm=(1.0,))
    assert mean_uncertainty([22.0], broken, same_place=True) is None
