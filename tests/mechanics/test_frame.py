"""A closed frame under load: worked tables, and random frames against a finite-element package.

Tables: computed from slope-deflection and, for the figures of F1 to F3, repeated with PyNiteFEA
3.2.0 at 40 elements a bar. Aluminium 6063: E 69 GPa as frames use it (68.9 in Aluminum Association
typical data), expansion 23.4e-6 a kelvin.
"""

from __future__ import annotations

from itertools import pairwise
from random import Random

import pytest
from Pynite import FEModel3D

from benchterm.mechanics.frame import MATERIALS, Held, Section, bending, warmed_n_cm

ALUMINIUM = MATERIALS["aluminium"]

# Outer short and long side, tube depth, height and wall, tension.
FRAMES = {
    "F1": (580, 840, 40, 40, 2.0, 25),
    "F2": (510, 610, 38, 38, 1.8, 30),
    "F3": (1000, 1400, 60, 40, 3.0, 22),
}
# I, A, corner moment, mid moment and mid deflection long and short, closing at mid, corner stress.
WORKED = {
    "F1": ("73365.33", "304.00", "104083.3", "95916.7", "-12958.3", "0.9890", "-0.2027"),
    "F2": ("57066.26", "260.64", "69996.0", "52698.0", "13548.0", "0.3350", "-0.0027"),
    "F3": ("273852.00", "564.00", "260260.0", "233530.0", "-17270.0", "1.7964", "-0.3377"),
}
CLOSED = {
    "F1": ("2.0038", "-0.3796", "31.66"),
    "F2": ("0.6924", "0.0172", "26.60"),
    "F3": ("3.6284", "-0.6397", "31.12"),
}


def loaded(name: str):
    short, long, depth, height, wall, tension = FRAMES[name]
    section = Section.tube(depth, height, wall)
    e = ALUMINIUM.modulus_gpa
    return section, bending(section, e, long - depth, short - depth, tension, tension)


@pytest.mark.parametrize("name", FRAMES)
def test_worked_frames(name: str):
    section, bent = loaded(name)
    assert (
        f"{section.inertia_mm4:.2f}",
        f"{section.area_mm2:.2f}",
        f"{bent.corner_moment:.1f}",
        f"{bent.a.mid_moment:.1f}",
        f"{bent.b.mid_moment:.1f}",
        f"{bent.a.mid_deflection:.4f}",
        f"{bent.b.mid_deflection:.4f}",
    ) == WORKED[name]
    assert (
        f"{bent.a.mid_closing:.4f}",
        f"{bent.b.mid_closing:.4f}",
        f"{bent.corner_stress_mpa:.2f}",
    ) == CLOSED[name]


def test_short_bars_of_an_oblong_frame_bow_outward():
    _, bent = loaded("F1")
    assert bent.b.mid_deflection < 0 < bent.a.mid_deflection


def test_neither_simply_supported_nor_fixed():
    """5wL^4/384EI = 2.6339 mm and wL^4/384EI = 0.5268 mm: standard beam tables, from memory."""
    section, bent = loaded("F1")
    ei = 69000 * section.inertia_mm4
    simple, fixed = 5 * 2.5 * 800**4 / (384 * ei), 2.5 * 800**4 / (384 * ei)
    assert (f"{simple:.4f}", f"{fixed:.4f}") == ("2.6339", "0.5268")
    assert fixed < bent.a.mid_deflection < simple


def test_unequal_tensions():
    """F1 with 28 N/cm across the short span and 22 along the long one (computed)."""
    bent = bending(Section.tube(40, 40, 2), 69, 800, 540, 28, 22)
    assert f"{bent.corner_moment:.1f}" == "110697.8"
    assert f"{bent.a.mid_closing:.5f}" == "2.42996"
    assert f"{bent.b.mid_closing:.5f}" == "-0.60915"


F1 = Held(Section.tube(40, 40, 2), 69, 800, 540, 700, 700)


def test_what_is_left_when_cut_out():
    """F1 glued at 25 N/cm, mesh of 700 N/cm a unit strain (computed from the formula)."""
    assert tuple(f"{t:.3f}" for t in F1.left_of(25, 25)) == ("23.468", "25.205")
    assert tuple(f"{t:.3f}" for t in F1.left_of(25, 25, mid=True)) == ("22.581", "25.241")


def test_first_guess_without_coupling():
    """The same with the bow of the full 25 N/cm: 22.195 across, 25.350 along (computed)."""
    bent = bending(F1.section, 69, 800, 540, 25, 25)
    across = 25 - 700 * bent.a.mid_closing / 500
    along = 25 - 700 * bent.b.mid_closing / 760
    assert (f"{across:.3f}", f"{along:.3f}") == ("22.195", "25.350")


@pytest.mark.parametrize("poisson", [0.0, 0.2])
@pytest.mark.parametrize("mid", [False, True])
def test_what_to_set_is_the_way_back(poisson: float, mid: bool):
    held = Held(Section.tube(60, 40, 3), 69, 1340, 940, 1300, 900, poisson)
    assert held.left_of(*held.set_for(24, 19, mid=mid), mid=mid) == pytest.approx((24, 19))


def test_a_warmer_frame():
    """700 N/cm x 23.4e-6 x 20 K = 0.3276 N/cm (computed)."""
    assert round(warmed_n_cm(700, ALUMINIUM.expansion_per_k, 20), 4) == 0.3276


@pytest.mark.parametrize(("depth", "height", "wall"), [(40, 40, 21), (40, 10, 6), (40, 40, 0)])
def test_walls_that_do_not_fit(depth: float, height: float, wall: float):
    with pytest.raises(ValueError, match="do not fit"):
        Section.tube(depth, height, wall)


def test_a_solid_bar():
    """b h^3 / 12 (standard beam tables, from memory)."""
    assert Section.tube(30, 20, 10).inertia_mm4 == pytest.approx(20 * 30**3 / 12)
    assert Section.tube(30, 20, 10).area_mm2 == 600


def finite_elements(
    section: Section, modulus_gpa: float, a: float, b: float, on_a: float, on_b: float
) -> tuple[float, float]:
    """Closing of either pair at the middle by PyNiteFEA, mm."""
    model = FEModel3D()
    model.add_material("metal", modulus_gpa * 1000, modulus_gpa * 400, 0.3, 0)
    inertia = section.inertia_mm4
    model.add_section("tube", section.area_mm2, inertia, inertia, inertia)
    corners = {"SW": (0, 0), "SE": (a, 0), "NE": (a, b), "NW": (0, b)}
    mids = {"S": (a / 2, 0), "E": (a, b / 2), "N": (a / 2, b), "W": (0, b / 2)}
    for name, (x, y) in {**corners, **mids}.items():
        model.add_node(name, x, y, 0)
        model.def_support(
            name,
            support_DX=name in ("S", "N"),
            support_DY=name in ("E", "W"),
            support_DZ=True,
            support_RX=True,
            support_RY=True,
        )
    ring = ["SW", "S", "SE", "E", "NE", "N", "NW", "W", "SW"]
    inward = {"S": ("FY", on_a), "N": ("FY", -on_a), "E": ("FX", -on_b), "W": ("FX", on_b)}
    for start, end in pairwise(ring):
        model.add_member(start + end, start, end, "metal", "tube")
        way, load = inward[start if len(start) == 1 else end]
        model.add_member_dist_load(start + end, way, load * 0.1, load * 0.1)
    model.analyze_linear(check_statics=False)
    dy = model.nodes["S"].DY["Combo 1"] - model.nodes["N"].DY["Combo 1"]
    dx = model.nodes["W"].DX["Combo 1"] - model.nodes["E"].DX["Combo 1"]
    return dy, dx


@pytest.mark.parametrize("number", range(8))
def test_random_frames_against_finite_elements(number: int):
    pick = Random(number).uniform
    a, b, on_a, on_b = pick(300, 1800), pick(300, 1800), pick(8, 40), pick(8, 40)
    section = Section.tube(pick(25, 80), pick(25, 60), pick(1.5, 5))
    bent = bending(section, 69, a, b, on_a, on_b)
    expected = finite_elements(section, 69, a, b, on_a, on_b)
    assert (bent.a.mid_closing, bent.b.mid_closing) == pytest.approx(expected, rel=1e-6, abs=1e-6)
