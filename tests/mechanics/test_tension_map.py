"""The likely map: what must hold for any, and modes made up so that the answer is known.

Meshes simulated apart from those that the modes come from: ``tests/benchmarks/bench_map.py``.
"""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest

from benchterm.mechanics.map_modes import FILE, Hold, modes
from benchterm.mechanics.tension_map import COLUMNS, ROWS, Modes, Spot, tension_map

MIDDLE = (ROWS // 2, COLUMNS // 2)
CORNERS = [(r, c) for r in (0, ROWS - 1) for c in (0, COLUMNS - 1)]
HELD = [Hold(gap_mm, (880, 700), 60, eased) for gap_mm, eased in product((2, 20, 80), (None, 0.5))]


def even(n_cm: float = 22) -> list[Spot]:
    return [Spot(d, *place, n_cm) for d in (0, 1) for place in (MIDDLE, *CORNERS)]


def one_tilt() -> Modes:
    """A field that can only lean from left to right, by a tenth at the edge for one deviation."""
    lean = np.broadcast_to(np.linspace(-0.1, 0.1, COLUMNS), (2, ROWS, COLUMNS))
    return Modes(np.ones((2, ROWS, COLUMNS)), lean[None], np.zeros((2, ROWS, COLUMNS)))


def test_the_answer_of_a_normal_model():
    """Level and lean by hand, as if the one did not act on the other: that is so to a thousandth.

    With n = 3, x = -0.1, 0, 0.1: lean = 20 x'y / (400 x'x + s^2), s the scatter of a reading.
    """
    readings = [Spot(0, 5, 0, 18.0), Spot(0, 5, 4, 20.0), Spot(0, 5, 8, 22.0)]
    drawn = tension_map(readings, one_tilt())
    xx, xy = 0.02, 0.1 * 4
    lean = 20 * xy / (400 * xx + 0.37**2)
    assert drawn.likely[0, 5, 4] == pytest.approx(20, rel=2e-3)
    assert drawn.likely[0, 5, 8] == pytest.approx(20 + 20 * 0.1 * lean, rel=2e-3)
    assert drawn.sd[0, 5, 4] == pytest.approx(0.37 / math.sqrt(3), rel=2e-2)


def test_a_direction_that_was_not_read_is_not_known():
    drawn = tension_map([Spot(1, *MIDDLE, 20)], modes(HELD[2]))
    assert drawn.read == (False, True)
    assert np.isnan(drawn.likely[0]).all()
    assert np.isfinite(drawn.likely[1]).all()
    assert np.isfinite(drawn.sd[1]).all()


@pytest.mark.parametrize("held", HELD)
def test_readings_are_kept_to(held):
    drawn = tension_map(even(), modes(held))
    for d in (0, 1):
        for place in (MIDDLE, *CORNERS):
            assert drawn.likely[(d, *place)] == pytest.approx(22, abs=1.0)
            assert drawn.sd[(d, *place)] < 0.5


@pytest.mark.parametrize("held", HELD)
def test_more_readings_leave_less_open(held):
    open_to = modes(held)
    centre = tension_map([Spot(d, *MIDDLE, 22) for d in (0, 1)], open_to)
    assert (tension_map(even(), open_to).sd <= centre.sd + 1e-9).all()


@pytest.mark.parametrize("held", HELD)
def test_twice_the_tension_is_twice_the_map(held):
    open_to = modes(held)
    uneven = [Spot(s.direction, s.row, s.column, s.n_cm - 0.2 * s.row) for s in even(200)]
    twice = [Spot(s.direction, s.row, s.column, 2 * s.n_cm) for s in uneven]
    ratio = tension_map(twice, open_to).likely / tension_map(uneven, open_to).likely
    assert np.allclose(ratio, 2, atol=0.01)


@pytest.mark.parametrize("held", HELD)
def test_mirrored_readings_mirror_the_map(held):
    open_to = modes(held)
    leaning = [Spot(s.direction, s.row, s.column, s.n_cm + 0.2 * s.column) for s in even()]
    mirrored = [Spot(s.direction, s.row, COLUMNS - 1 - s.column, s.n_cm) for s in leaning]
    one, other = tension_map(leaning, open_to), tension_map(mirrored, open_to)
    assert np.allclose(one.likely, other.likely[:, :, ::-1], atol=0.05)


def test_readings_that_contradict_each_other_stay_bounded():
    wild = [Spot(0, *MIDDLE, 5), Spot(0, *MIDDLE, 40), Spot(0, 0, 0, 0), Spot(1, 0, 0, 60)]
    drawn = tension_map(wild, modes(HELD[1]))
    assert np.isfinite(drawn.likely).all()
    assert drawn.likely.max() < 150
    assert drawn.likely.min() >= 0


@pytest.mark.parametrize(
    "readings", [[], [Spot(0, 0, 0, math.nan)], [Spot(0, 0, 0, -1)], [Spot(0, 0, 0, 0)]]
)
def test_no_map_without_tension(readings):
    with pytest.raises(ValueError, match="a map wants"):
        tension_map(readings, modes(HELD[1]))


@pytest.mark.parametrize("gap", [0, 8, 45, 110, 400])
def test_a_guessed_gap_at_an_end_is_finite(gap: float):
    assert np.isfinite(modes(Hold(gap, (880, 700), 60, gap_sd_mm=15)).modes).all()


@pytest.mark.parametrize(
    ("gap", "rods"), [(0, "in"), (7.9, "in"), (8, "short"), (45, "far short"), (300, "far short")]
)
def test_how_far_rods_stop_short(gap: float, rods: str):
    assert Hold(gap, (880, 700), 60).rods == rods


def test_a_longer_gap_spares_the_corners_more():
    """Threads that no rod holds carry less: their ends are pulled by their neighbours alone."""
    at_corner = [modes(Hold(gap, (880, 700), 20)).mean[0, 0, 0] for gap in (25, 60, 100)]
    assert at_corner == sorted(at_corner, reverse=True)


def test_easing_takes_tension_from_the_corners():
    eased = [modes(Hold(20, (880, 700), 60, share)).mean[0, 0, 0] for share in (0.2, 0.5, 0.8)]
    assert eased == sorted(eased, reverse=True)


def test_a_gap_that_was_not_measured_leaves_more_open():
    known, guessed = (
        tension_map(even(), modes(Hold(80, (880, 700), 80, gap_sd_mm=sd))).sd for sd in (0, 15)
    )
    assert (guessed >= known - 0.01).all()
    assert guessed.mean() > known.mean()


def test_beyond_what_was_simulated_the_nearest_is_taken():
    at, beyond = Hold(110, (1200, 1200), 60), Hold(400, (3000, 3000), 60)
    assert np.allclose(modes(at).mean, modes(beyond).mean)
    assert (at.is_like_simulated, beyond.is_like_simulated) == (True, False)


def test_the_file_is_small():
    assert FILE.stat().st_size < 250_000
