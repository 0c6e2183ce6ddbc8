"""Clicks to millimetres to tension, against values computed from the formulas shown."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchterm.mechanics import mesh, takeup


@pytest.mark.parametrize(
    ("roller_mm", "teeth", "click_mm"),
    # pi D / teeth, computed here.
    [(40, 24, 5.23599), (32, 24, 4.18879)],
)
def test_click(roller_mm, teeth, click_mm):
    assert takeup.click_mm(roller_mm, teeth) == pytest.approx(click_mm, abs=5e-6)


def test_strain_and_tension_of_one_click_on_an_uncoupled_strip():
    # Computed here: pi D / teeth over a span of 700 mm; T = k x strain with k 700 N/cm.
    click = takeup.click_mm(40, 24)
    assert 100 * click / 700 == pytest.approx(0.747998, abs=5e-7)
    assert 100 * 6 * click / 700 == pytest.approx(4.487990, abs=1e-6)
    step = takeup.click_step_n_cm(click, 700, 700, poisson=0, wrapped_mm=0)
    assert step == pytest.approx(5.23599, abs=5e-6)


def test_holding_the_other_direction_stiffens():
    # Plane-stress membrane (civil-engineering text on biaxial testing of fabrics, eqs 3.9-3.15)
    # with equal moduli, C11 = E / (1 - nu^2): 900 / (1 - 0.04), computed here.
    assert takeup.coupled_stiffness_n_cm(900, 0.2) == pytest.approx(937.5)


def test_step_by_hand():
    # K p / (L + 2 w): 1200 / 0.96 = 1250 N/cm; 1250 x 4 mm / (740 + 60) mm.
    assert takeup.click_step_n_cm(4.0, 740, 1200) == pytest.approx(6.25)


@pytest.mark.parametrize("stiffness_n_cm", [1290, 810])
@pytest.mark.parametrize("free_span_mm", [600 + 120, 800 + 120])
def test_step_on_a_usual_frame_is_coarse(stiffness_n_cm, free_span_mm):
    # K p / (L + 2 w): 4 to 8 N/cm on 60 x 80 cm, from the simulated bench.
    step = takeup.click_step_n_cm(takeup.click_mm(32, 24), free_span_mm, stiffness_n_cm)
    assert 4 <= round(step) <= 8


@pytest.mark.parametrize(
    ("step", "promise"),
    # max(1, step / 2 + 0.5): rule from the simulated bench.
    [(0.2, 1.0), (1.0, 1.0), (1.5, 1.25), (3.0, 2.0), (8.0, 4.5)],
)
def test_promised_accuracy(step, promise):
    assert takeup.promised_accuracy_n_cm(step) == pytest.approx(promise)


@given(
    teeth=st.integers(min_value=12, max_value=240),
    span=st.floats(min_value=200, max_value=3000),
)
def test_finer_teeth_and_longer_spans_give_smaller_steps(teeth, span):
    stiffness = mesh.stiffness_n_cm(77, 55, 7.4)

    def step(teeth: int, span: float) -> float:
        return takeup.click_step_n_cm(takeup.click_mm(32, teeth), span, stiffness)

    assert step(teeth + 1, span) < step(teeth, span)
    assert step(teeth, span + 1) < step(teeth, span)
