"""The set-up sheet's figures, against tables worked by hand and by other formulas.

Geometry and stress per thread: computed here from the formulas of industrial wire-cloth terminology
(after ISO 9044) and n pi d^2/4. Windows, cut and rods: common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from benchterm.core.facts import Facts, Frame, Mesh, Pair, Stretcher, Target
from benchterm.core.plan import Plan
from benchterm.core.planning import impossible, plan
from benchterm.core.practice import Practice

# n, d, opening, open area, bound of volume, tension, cN a thread, MPa, cN/dtex, window.
MESHES = (
    (21, 150, 326.19, 46.92, 140.77, 30, 142.86, 80.84, 0.586, (28, 40)),
    (32, 100, 212.50, 46.24, 92.48, 30, 93.75, 119.37, 0.865, (25, 38)),
    (43, 80, 152.56, 43.03, 68.85, 28, 65.12, 129.54, 0.939, (25, 35)),
    (54, 64, 121.19, 42.82, 54.81, 25, 46.30, 143.91, 1.043, (22, 30)),
    (61, 64, 99.93, 37.16, 47.57, 25, 40.98, 127.40, 0.923, (22, 30)),
    (77, 48, 81.87, 39.74, 38.15, 22, 28.57, 157.89, 1.144, (18, 25)),
    (77, 55, 74.87, 33.24, 36.56, 25, 32.47, 136.66, 0.990, (20, 28)),
    (90, 48, 63.11, 32.26, 30.97, 22, 24.44, 135.09, 0.979, (18, 25)),
    (100, 40, 60.00, 36.00, 28.80, 20, 20.00, 159.15, 1.153, (16, 22)),
    (120, 34, 49.33, 35.05, 23.83, 18, 15.00, 165.21, 1.197, (15, 21)),
    (150, 31, 35.67, 28.62, 17.75, 18, 12.00, 158.99, 1.152, (14, 20)),
    (165, 27, 33.61, 30.75, 16.60, 16, 9.70, 169.36, 1.227, (13, 18)),
)


def planned(practice: Practice | None = None, **parts: object) -> Plan:
    facts = Facts(**parts)  # type: ignore[arg-type]
    practice = practice or Practice()
    assert not list(impossible(facts, practice))
    return plan(facts, practice)


def refused(**parts: object) -> list[str]:
    return list(impossible(Facts(**parts), Practice()))  # type: ignore[arg-type]


def minded(made: Plan, words: str) -> bool:
    return any(words in note for note in made.notes)


@pytest.mark.parametrize("row", MESHES, ids=lambda row: f"{row[0]}-{row[1]}")
def test_mesh_and_threads(row):
    n, d, opening, area, volume, tension, pull, stress, per_dtex, window = row
    made = planned(mesh=Mesh(n, d), target=Target(tension, tension))
    sheet, along = made.cloth, made.axes[0]
    assert round(sheet.opening_um, 2) == opening
    assert round(sheet.open_area_pct, 2) == area
    assert round(sheet.volume_bound_cm3_m2, 2) == volume
    assert round(along.per_thread_cn, 2) == pull
    assert round(along.stress_mpa, 2) == stress
    assert round(along.stress_cn_dtex, 3) == per_dtex
    assert (sheet.window.low_n_cm, sheet.window.high_n_cm) == window


def test_share_of_strength():
    """0.990 / 4.3 = 23.0 %, 0.990 / 9.0 = 11.0 % (tenacity: patent EP 3 859 057 A1)."""
    mesh, target = Mesh(77, 55), Target(25, 25)
    weak = planned(mesh=mesh, target=target)
    strong = planned(Practice(tenacity_cn_dtex=9.0), mesh=mesh, target=target)
    assert [f"{100 * p.axes[0].share_of_strength:.1f}" for p in (weak, strong)] == ["23.0", "11.0"]


def test_ceiling():
    """f 0.25 x 4.3 cN/dtex on 77-48: 20.67 N/cm (computed)."""
    made = planned(Practice(ceiling_share=0.25), mesh=Mesh(77, 48), target=Target(20, 20))
    assert round(made.cloth.ceiling_n_cm, 2) == 20.67


def test_size_to_cut_is_roller_to_roller_and_past_both():
    """25 to 38 mm past each roller (common practice, no source)."""
    made = planned(frame=Frame(580, 840), stretcher=Stretcher(span_beyond_frame_mm=120))
    along, across = made.axes
    assert (along.span_mm, along.cut_mm) == (960, (1010, 1036))
    assert (across.span_mm, across.cut_mm) == (700, (750, 776))


def test_rods_are_cut_to_the_inside_of_the_frame():
    made = planned(frame=Frame(580, 840, tube_mm=40))
    assert [(a.rod_mm, a.rod_gap_mm) for a in made.axes] == [(500, 100), (760, 100)]


def test_measured_gap_gives_the_rods():
    made = planned(frame=Frame(580, 840), stretcher=Stretcher(rod_gap_mm=3))
    assert [(a.rod_mm, a.rod_gap_mm) for a in made.axes] == [(694, 3), (954, 3)]
    assert minded(made, "rods stop 3 mm from the corner")
    assert made.corners.tear_chance > planned().corners.tear_chance


def test_a_click_and_what_can_be_promised():
    """D 40, 24 teeth: pi D / teeth = 5.23599 mm; max(1, step/2 + 0.5)."""
    made = planned(stretcher=Stretcher(roller_mm=40, teeth=24))
    step = 1.2 * 77 * math.pi / 4 * 0.055**2 * 7400 * 5.23599 / (700 + 60) / (1.2 * 0.96)
    across = made.axes[1]
    assert across.step_n_cm == pytest.approx(step, rel=1e-5)
    assert across.promise_n_cm == pytest.approx(step / 2 + 0.5, rel=1e-5)
    assert minded(made, "one click adds")
    fine = planned(stretcher=Stretcher(teeth=240))
    assert fine.axes[1].promise_n_cm == 1
    assert not minded(fine, "one click adds")


def test_clicks_lie_within_their_range_and_grow_with_the_target():
    low, high = (planned(target=Target(t, t)).axes[0].clicks for t in (15, 30))
    for likely, least, most in (low, high):
        assert least <= likely <= most
    assert low[0] < high[0]


def test_frame_loses_across_and_the_way_back():
    """F1 of the frame's tests: the long bars bow in, so it is across that loses."""
    bent = planned(frame=Frame(580, 840), target=Target(25, 25)).frame
    assert [round(mm, 4) for mm in bent.closing_mm] == [-0.3796, 2.0038]
    assert round(bent.stress_mpa, 2) == 31.66
    assert bent.left_n_cm[1] < bent.left_n_cm[0] < 25 < bent.set_n_cm[1]
    again = planned(frame=Frame(580, 840), target=Target(*bent.set_n_cm)).frame
    assert again.left_n_cm == pytest.approx((25, 25))


def test_turned_round_it_is_the_same_sheet():
    upright = planned(frame=Frame(580, 840), target=Target(24, 20))
    turned = planned(frame=Frame(840, 580), target=Target(24, 20), along_pair=Pair.LEFT_RIGHT)
    assert turned.frame == upright.frame
    for one, other in zip(turned.axes, upright.axes, strict=True):
        assert replace(one, pair=other.pair) == other


def test_wood_is_not_worked_out():
    made = planned(frame=Frame(material="wood"))
    assert made.frame is None
    assert minded(made, "nothing is known of how wood bends")


def test_metal_mesh_has_no_strength_here():
    made = planned(mesh=Mesh(77, 55, "steel"))
    assert made.cloth.ceiling_n_cm is made.cloth.strength_n_cm is made.corners is None
    assert made.axes[0].share_of_strength is None


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ({"target": Target(40, 20)}, "above the highest working tension of 38.0"),
        ({"target": Target(29, 25)}, "usual for this mesh is 20 to 28"),
        ({"frame": Frame(580, 1221)}, "a frame of 1221 mm is over 1220"),
        ({"mesh": Mesh(70, 55)}, "no usual tension is known"),
        (
            {
                "frame": Frame(580, 840),
                "target": Target(22, 25),
                "mesh": Mesh(77, 55, ceiling_n_cm=26),
            },
            "to keep 25 N/cm across",
        ),
        ({"target": Target(60, 10)}, "along it is stretched"),
    ],
)
def test_what_to_mind(parts, words):
    assert minded(planned(**parts), words)


def test_nothing_to_mind_on_a_job_well_within_everything():
    frame = Frame(500, 500, tube_mm=60, tube_height_mm=60, wall_mm=4)
    assert planned(frame=frame, stretcher=Stretcher(teeth=240)).notes == ()


def test_target_past_the_threads_strength_is_refused():
    """77-34: 4.3 cN/dtex x 12.53 dtex x 77 / 100 = 41.5 N/cm."""
    (why,) = refused(mesh=Mesh(77, 34), target=Target(42, 41))
    assert why.startswith("42 N/cm along is past 41.5")


def test_rods_without_length_are_refused():
    (why,) = refused(stretcher=Stretcher(rod_gap_mm=360))
    assert "360 mm short at both ends of 700 mm" in why


def test_a_frame_that_bends_for_good_is_refused():
    (why,) = refused(frame=Frame(1500, 2000, tube_mm=20, tube_height_mm=20, wall_mm=1.5))
    assert "20 x 20 x 1.5 mm aluminium bends for good" in why
    assert "145" in why


def test_time_adds_up():
    minutes = planned(Practice(settle_min=30)).minutes
    assert minutes.settling == 30
    assert minutes.total == pytest.approx(
        minutes.handling + minutes.tensioning + 30 + minutes.curing + minutes.cut_out
    )
