"""Energy and pull of stretched mesh, against figures computed here from the formulas shown."""

from __future__ import annotations

import pint
import pytest

from benchterm.mechanics.stored import energy_j, pull_n

UNITS = pint.UnitRegistry()


def test_energy_of_one_set_of_threads():
    """T 25 N/cm, k 700 N/cm, 0.50 x 0.76 m: strain 0.0357143, 0.5 x 2500 N/m x e x 0.38 m2."""
    assert round(energy_j(25, 700, 500, 760), 3) == 16.964
    assert round(2 * energy_j(25, 700, 500, 760), 2) == 33.93


def test_pull_on_a_side():
    assert pull_n(25, 760) == 1900
    assert round((pull_n(25, 760) * UNITS.newton).to("kgf").magnitude, 1) == 193.7


def test_energy_against_pint():
    tension, stiffness = 25 * UNITS("N/cm"), 700 * UNITS("N/cm")
    energy = 0.5 * tension * (tension / stiffness) * (500 * UNITS.mm) * (760 * UNITS.mm)
    assert energy_j(25, 700, 500, 760) == pytest.approx(energy.to("joule").magnitude)
