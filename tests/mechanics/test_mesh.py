"""Mesh geometry and strength, against published values and tables computed from the formulas."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from benchterm.mechanics import mesh

# Computed here from the formulas of ISO 9044 (pitch 1/n, aperture p - d, open area 100 (w/p)^2) and
# n pi d^2/4, 1e4 rho area, 100 T/n, T/A. Which thread goes with which count: common practice, no
# source. Density 1.38 g/cm3 for polyester: from memory.
# n/cm, d um, w um, a0 %, V at 2d, A mm2/cm, dtex, T, cN a thread, MPa, cN/dtex
TABLE = [
    (21, 150, 326.19, 46.92, 140.77, 0.3711, 243.87, 30, 142.86, 80.84, 0.586),
    (32, 100, 212.50, 46.24, 92.48, 0.2513, 108.38, 30, 93.75, 119.37, 0.865),
    (43, 80, 152.56, 43.03, 68.85, 0.2161, 69.37, 28, 65.12, 129.54, 0.939),
    (54, 64, 121.19, 42.82, 54.81, 0.1737, 44.39, 25, 46.30, 143.91, 1.043),
    (61, 64, 99.93, 37.16, 47.57, 0.1962, 44.39, 25, 40.98, 127.40, 0.923),
    (77, 48, 81.87, 39.74, 38.15, 0.1393, 24.97, 22, 28.57, 157.89, 1.144),
    (77, 55, 74.87, 33.24, 36.56, 0.1829, 32.79, 25, 32.47, 136.66, 0.990),
    (90, 48, 63.11, 32.26, 30.97, 0.1629, 24.97, 22, 24.44, 135.09, 0.979),
    (100, 40, 60.00, 36.00, 28.80, 0.1257, 17.34, 20, 20.00, 159.15, 1.153),
    (120, 34, 49.33, 35.05, 23.83, 0.1090, 12.53, 18, 15.00, 165.21, 1.197),
    (150, 31, 35.67, 28.62, 17.75, 0.1132, 10.42, 18, 12.00, 158.99, 1.152),
    (165, 27, 33.61, 30.75, 16.60, 0.0945, 7.90, 16, 9.70, 169.36, 1.227),
]


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row[0]}-{row[1]}")
def test_table_of_meshes(row):
    n, d, opening, area, volume, section, dtex, tension, force, stress, specific = row
    assert mesh.opening_um(n, d) == pytest.approx(opening, abs=0.0051)
    assert mesh.open_area_pct(n, d) == pytest.approx(area, abs=0.0051)
    assert mesh.theoretical_volume_cm3_m2(n, d) == pytest.approx(volume, abs=0.0051)
    assert mesh.yarn_section_mm2_cm(n, d) == pytest.approx(section, abs=0.000051)
    assert mesh.dtex(d) == pytest.approx(dtex, abs=0.0051)
    assert mesh.force_per_thread_cn(tension, n) == pytest.approx(force, abs=0.0051)
    assert mesh.thread_stress_mpa(tension, n, d) == pytest.approx(stress, abs=0.0051)
    assert mesh.specific_stress_cn_dtex(tension, n, d) == pytest.approx(specific, abs=0.00051)


def test_volume_from_a_measured_thickness():
    # 305/in in 40 um woven to 63 um: trade article "Mesh Matters", June 2009; the rest computed
    # here by the formulas of ISO 9044.
    n = 305 / 2.54
    assert mesh.opening_um(n, 40) == pytest.approx(43.279, abs=5e-4)
    assert mesh.open_area_pct(n, 40) == pytest.approx(27.007, abs=5e-4)
    assert mesh.theoretical_volume_cm3_m2(n, 40, 63) == pytest.approx(17.015, abs=5e-4)


def test_fraction_of_strength():
    # Tenacity 4.3 to 9.0 cN/dtex: patent EP 3 859 057 A1; the shares computed here.
    stress = mesh.specific_stress_cn_dtex(25, 77, 55)
    assert stress / 4.3 == pytest.approx(0.230, abs=5e-4)
    assert stress / 9.0 == pytest.approx(0.110, abs=5e-4)


def test_working_ceiling():
    # f x tenacity x dtex x n / 100 computed here; tenacity from patent EP 3 859 057 A1.
    assert mesh.working_ceiling_n_cm(77, 48, 0.25, 4.3) == pytest.approx(20.67, abs=5e-3)


def test_tension_at_equal_stress_goes_with_the_square_of_the_thread():
    # Computed here. 380/in in 34 um holds 3 to 4 N/cm more than in 31 um: trade article, Feb 2001.
    n = 380 / 2.54
    gain = mesh.breaking_tension_n_cm(n, 34) / mesh.breaking_tension_n_cm(n, 31)
    assert gain == pytest.approx(1.2029, abs=5e-5)
    assert 18 * (gain - 1) == pytest.approx(3.65, abs=5e-3)
    assert 3 < 18 * (gain - 1) < 4


@pytest.mark.parametrize(("n", "d", "breaking"), [(54, 64, 104), (120, 34, 65)])
def test_breaking_tension(n, d, breaking):
    # n pi/4 d^2 x 600 MPa, computed here; 600 MPa is a simulated default.
    assert round(mesh.breaking_tension_n_cm(n, d)) == breaking


@pytest.mark.parametrize(
    ("n", "d", "modulus_gpa", "stiffness", "within"),
    [
        (77, 48, 5, 696.7, 0.05),  # E A computed here; drawn polyester 4 to 14 GPa: from memory
        (54, 64, 7.4, 1290, 5),  # 7.4 GPa: simulated default
        (120, 34, 7.4, 810, 5),
    ],
)
def test_stiffness(n, d, modulus_gpa, stiffness, within):
    assert mesh.stiffness_n_cm(n, d, modulus_gpa) == pytest.approx(stiffness, abs=within)


@pytest.mark.parametrize(("n", "d"), [(100, 100), (100, 120)])
def test_threads_too_thick_for_their_count_are_refused(n, d):
    with pytest.raises(ValueError, match="no opening at 100/cm"):
        mesh.opening_um(n, d)


counts = st.floats(min_value=10, max_value=200)
threads = st.floats(min_value=20, max_value=200)


@given(n=counts, d=threads)
def test_pitch_is_thread_and_opening(n, d):
    assume(d < mesh.pitch_um(n))
    assert mesh.opening_um(n, d) + d == pytest.approx(mesh.pitch_um(n))
    assert 0 < mesh.open_area_pct(n, d) < 100


@given(n=counts, d=threads, tension=st.floats(min_value=0.5, max_value=60))
def test_stress_by_section_and_by_weight_agree(n, d, tension):
    # cN/dtex = MPa / (100 rho), by definition of both units.
    by_section = mesh.thread_stress_mpa(tension, n, d) / (100 * mesh.PET_DENSITY_G_CM3)
    assert mesh.specific_stress_cn_dtex(tension, n, d) == pytest.approx(by_section)


@given(n=counts, d=threads, share=st.floats(min_value=0.05, max_value=1))
def test_at_the_ceiling_the_threads_carry_that_share_of_their_tenacity(n, d, share):
    ceiling = mesh.working_ceiling_n_cm(n, d, share, 4.3)
    assert mesh.specific_stress_cn_dtex(ceiling, n, d) == pytest.approx(share * 4.3)


@given(n=counts, d=threads, strength=st.floats(min_value=100, max_value=1000))
def test_at_the_breaking_tension_the_threads_are_at_their_strength(n, d, strength):
    breaking = mesh.breaking_tension_n_cm(n, d, strength)
    assert math.isclose(mesh.thread_stress_mpa(breaking, n, d), strength)
