"""Conversions, against the definitions, against a units library, and there and back."""

from __future__ import annotations

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchterm.core.units import (
    CountUnit,
    TensionUnit,
    from_n_per_cm,
    threads_per_cm,
    to_n_per_cm,
)

UREG = pint.UnitRegistry()
PINT_TENSION = {
    TensionUnit.N_PER_CM: UREG.newton / UREG.centimeter,
    TensionUnit.KGF_PER_CM: UREG.kilogram_force / UREG.centimeter,
    TensionUnit.LBF_PER_INCH: UREG.pound_force / UREG.inch,
}

tensions = st.floats(min_value=0, max_value=500)


@pytest.mark.parametrize(
    ("value", "unit", "n_per_cm"),
    [
        # From the definitions of kgf, lbf and inch in NIST SP 811, worked out by hand.
        (1, TensionUnit.N_PER_CM, 1),
        (1, TensionUnit.KGF_PER_CM, 9.80665),
        (1, TensionUnit.LBF_PER_INCH, 1.751268352464764),
        (14.275368, TensionUnit.LBF_PER_INCH, 25),
        (10.278265, TensionUnit.LBF_PER_INCH, 18),
        (2.549291, TensionUnit.KGF_PER_CM, 25),
    ],
)
def test_tension_by_definition(value, unit, n_per_cm):
    assert to_n_per_cm(value, unit) == pytest.approx(n_per_cm, rel=2e-7)


def test_one_newton_per_centimetre_in_the_other_units():
    # From the same definitions in NIST SP 811.
    assert from_n_per_cm(1, TensionUnit.LBF_PER_INCH) == pytest.approx(0.5710147154732647)
    assert from_n_per_cm(1, TensionUnit.KGF_PER_CM) == pytest.approx(0.10197162129779283)


@pytest.mark.parametrize("unit", TensionUnit)
@given(value=tensions)
def test_tension_agrees_with_pint(unit, value):
    expected = UREG.Quantity(value, PINT_TENSION[unit]).to("newton / centimeter").magnitude
    assert to_n_per_cm(value, unit) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("count", "unit", "per_cm"),
    [
        # 1 in = 2.54 cm by definition (NIST SP 811).
        (77, CountUnit.PER_CM, 77),
        (195.58, CountUnit.PER_INCH, 77),
        (305, CountUnit.PER_INCH, 120.0787),
    ],
)
def test_mesh_count(count, unit, per_cm):
    assert threads_per_cm(count, unit) == pytest.approx(per_cm, abs=5e-5)


@given(count=st.floats(min_value=10, max_value=600))
def test_mesh_count_agrees_with_pint(count):
    expected = UREG.Quantity(count, "1 / inch").to("1 / centimeter").magnitude
    assert threads_per_cm(count, CountUnit.PER_INCH) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("unit", TensionUnit)
@given(value=tensions)
def test_tension_survives_there_and_back(unit, value):
    assert from_n_per_cm(to_n_per_cm(value, unit), unit) == pytest.approx(value, rel=1e-12)
