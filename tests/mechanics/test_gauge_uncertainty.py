"""Uncertainty of a mean against the worked examples of JCGM 100:2008."""

from __future__ import annotations

import math

import pytest

from benchterm.mechanics.uncertainty import (
    Combined,
    Component,
    certificate,
    mean_of,
    repeatability,
    resolution,
    stated,
)


def test_resolution_certificate_and_repeatability():
    # q/sqrt(12), U/k, s/sqrt(n) and their root sum of squares, computed here.
    parts = (resolution(0.5), certificate(0.6, 2), repeatability(0.35, 5))
    assert [p.u for p in parts] == pytest.approx([0.144338, 0.3, 0.156525], abs=5e-7)
    assert Combined(parts).u == pytest.approx(0.367877, abs=5e-7)
    assert Combined(parts).expanded() == pytest.approx(0.735754, abs=1e-6)


def test_end_gauge():
    # JCGM 100:2008, H.1: sensitivities, uncertainties and degrees of freedom as printed there.
    parts = (
        Component("standard", 25, 18),
        Component("comparison", 9.7, 25.6),
        Component("expansion", 50_000_623 * 0.1 * 0.58e-6, 50),
        Component("temperature", 50_000_623 * 11.5e-6 * 0.029, 2),
    )
    combined = Combined(parts)
    assert round(combined.u) == 32
    assert round(combined.df, 1) == 16.7
    assert combined.coverage_factor(0.95) == pytest.approx(2.12, abs=5e-3)
    assert combined.coverage_factor(0.99) == pytest.approx(2.92, abs=5e-3)


def test_resistance_and_reactance():
    # JCGM 100:2008, H.2, second approach (table H.4): five sets of V, I and phase.
    volts = [5.007, 4.994, 5.005, 4.990, 4.999]
    milliamps = [19.663, 19.639, 19.640, 19.685, 19.678]
    phases = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433]
    impedance = [1000 * v / i for v, i in zip(volts, milliamps, strict=True)]
    for values, mean, u in (
        ([z * math.cos(p) for z, p in zip(impedance, phases, strict=True)], 127.732, 0.071),
        ([z * math.sin(p) for z, p in zip(impedance, phases, strict=True)], 219.847, 0.295),
        (impedance, 254.260, 0.236),
    ):
        got = mean_of(values, step=0.0)
        assert got.value == pytest.approx(mean, abs=6e-4)
        assert got.combined.u == pytest.approx(u, abs=7e-4)


def test_more_readings_do_not_average_the_certificate_away():
    few = mean_of([24.0, 25.0] * 2, 0.5, 0.6)
    many = mean_of([24.0, 25.0] * 200, 0.5, 0.6)
    assert few.combined.u > many.combined.u > math.hypot(0.5 / math.sqrt(12), 0.3)


def test_no_scatter_at_all_leaves_infinite_degrees_of_freedom():
    got = mean_of([24.0, 24.0, 24.0], 0.5)
    assert got.combined.df == math.inf
    assert got.combined.coverage_factor() == pytest.approx(1.96, abs=5e-3)


@pytest.mark.parametrize(
    ("value", "expanded", "text"),
    # Two significant digits of U, value to the same place: JCGM 100:2008, 7.2.6.
    [
        (24.61234, 0.735754, "24.61 ± 0.74"),
        (24.6, 1.23, "24.6 ± 1.2"),
        (24.6, 12.3, "25 ± 12"),
        (24.6, 0.0456, "24.600 ± 0.046"),
        (24.6, 0, "24.6"),
    ],
)
def test_a_result_as_it_is_stated(value, expanded, text):
    assert stated(value, expanded) == text


def test_one_reading_has_no_scatter():
    with pytest.raises(ValueError, match="one reading"):
        mean_of([24.0], 0.5)
    with pytest.raises(ValueError, match="one reading"):
        repeatability(0.3, 1)
    assert repeatability(0.3, 1, df=20).u == 0.3
