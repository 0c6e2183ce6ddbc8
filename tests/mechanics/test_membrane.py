"""The sheet of finite elements against what can be worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from benchterm.mechanics.membrane import Field, Weave, pulled

WEAVE = Weave(900, 800, 0.25, 12)
X = np.array([0.0, 40, 110, 150, 260, 300])
Y = np.array([0.0, 70, 90, 200, 310, 420, 500])
"""Uneven on purpose."""


def edge() -> np.ndarray:
    held = np.zeros((len(Y), len(X)), dtype=bool)
    held[0] = held[-1] = held[:, 0] = held[:, -1] = True
    return held


@pytest.mark.parametrize(
    ("weft", "warp", "across", "along"),
    [
        (0.028, 0.025, 29.01176, 29.75294),
        (0.0243056, 0.0208333, 25.0, 25.0),
        (0.0, 0.003, 0.63529, 2.85882),
    ],
)
def test_patch(weft: float, warp: float, across: float, along: float):
    """An even strain on the edge gives it everywhere, with the tension of Tw = C11 ew + C12 ef.

    Figures computed from the constants: C11 952.9412, C22 847.0588, C12 211.7647.
    """
    field = pulled(WEAVE, X, Y, edge(), lambda x, y: (weft * x, warp * y))
    assert np.allclose(field.tension, [across, along, 0], atol=2e-4)


def test_patch_in_shear():
    field = pulled(WEAVE, X, Y, edge(), lambda x, y: (0.002 * y, 0.001 * x))
    assert np.allclose(field.tension, [0, 0, 12 * 0.003])


def test_constants():
    """C11 952.9412, C22 847.0588, C12 211.7647 (computed)."""
    assert np.round(WEAVE.matrix, 4).tolist() == [
        [847.0588, 211.7647, 0],
        [211.7647, 952.9412, 0],
        [0, 0, 12],
    ]


def test_a_quarter_turn_swaps_warp_and_weft():
    turned = Weave(900, 800, 0.25, 12, np.pi / 2).matrix
    assert np.allclose(turned, WEAVE.matrix[[1, 0, 2]][:, [1, 0, 2]])


def test_a_strip_free_at_its_sides_narrows():
    """Far from the grips of a long strip only T = E e is left: uniaxial tension."""
    x, y = np.linspace(0, 60, 7), np.linspace(0, 900, 61)
    weave = Weave(900, 800, 0.25, 300)
    held = np.zeros((61, 7), dtype=bool)
    held[0] = held[-1] = True
    field = pulled(weave, x, y, held, lambda x, y: (0 * x, 0.02 * y))
    middle = field.tension[30]
    assert np.allclose(middle[:, 1], 18, rtol=0.01)
    assert np.allclose(middle[:, [0, 2]], 0, atol=0.02)


def test_pull_is_the_same_through_every_cut():
    """Equilibrium: with free sides the pull across every line from side to side is one."""
    x, y = np.linspace(0, 300, 31), np.linspace(0, 400, 41)
    held = np.zeros((41, 31), dtype=bool)
    held[0, 5:-5] = held[-1, 5:-5] = True
    field = pulled(WEAVE, x, y, held, lambda x, y: (0 * x, 0.02 * y))
    pull = field.tension[5:-5, :, 1].sum(axis=1)
    assert np.allclose(pull, pull.mean(), rtol=0.01)


def test_a_thread_carries_one_pull_from_end_to_end():
    """Next to no shear: what the far rod is moved more than the near one hardly shows at either."""
    x, y = np.linspace(0, 600, 31), np.linspace(0, 800, 41)
    held = np.zeros((41, 31), dtype=bool)
    held[0] = held[-1] = True
    field = pulled(
        Weave(900, 800, 0.25, 1), x, y, held, lambda x, y: (0 * x, 0.02 * y + 1e-5 * y * y)
    )
    assert field.gauged(300, 100)[1] == pytest.approx(field.gauged(300, 700)[1], rel=0.002)


def test_a_gauge_shows_the_mean_under_its_foot():
    lines = np.array([0.0, 30, 50, 120, 200, 210, 300])
    rising = 20 + (lines[:-1] + lines[1:]) / 200
    sheet = np.broadcast_to(rising[None, :, None], (6, 6, 3))
    foot = Field(lines, lines, sheet).gauged(110, 150, wide_mm=100)
    # From 60 to 160 mm: 60 of 20.85 and 40 of 21.6.
    assert np.allclose(foot, 0.6 * 20.85 + 0.4 * 21.6)
