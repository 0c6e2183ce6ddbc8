"""The forward model against formulas worked by hand and the laws it must keep.

All of it describes simulated benches, never real mesh.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchterm.mechanics.history import Gauged, Place, Spot, Turn, history
from benchterm.mechanics.priors import priors
from benchterm.mechanics.pull import (
    HELD,
    LN_K,
    LN_KNEE,
    LN_LOSS,
    LN_TAU,
    LN_TOE,
    NU,
    SLACK,
    Rig,
    kept,
    pull,
    slopes,
    tension_n_cm,
)

RIG = Rig(4.0, (640.0, 840.0), (1000.0, 1000.0))
DAY_S = 86400


def parameters(**changes):
    """One set: K 1000, no slack, a hard toe, no loss, every click held, a knee far away."""
    theta = priors(RIG).mean.copy()
    theta[LN_K : LN_K + 2] = math.log(1000)
    theta[NU], theta[LN_KNEE] = 0.0, math.log(1.0)
    theta[SLACK : SLACK + 2] = 0.0
    theta[LN_TOE], theta[LN_LOSS], theta[LN_TAU] = math.log(1e-3), math.log(1e-9), math.log(25)
    theta[HELD : HELD + 4] = 1.0
    for name, value in changes.items():
        theta[globals()[name]] = value
    return theta[None]


def tension(records, theta, after_s=0.0):
    """Tension along and across at the end of the records, or later."""
    seen = history(records)
    when = seen.after(seen.end_s + after_s)
    return tension_n_cm(theta, pull(RIG, theta, seen.steps, when).strain)[0, 0]


def test_a_click_of_either_roller_adds_the_same():
    # Computed here: K p / (L + 2 w) = 1000 x 4 / (640 + 60) = 5.714 N/cm along.
    for roller in (0, 1):
        along, across = tension([Turn(0, 0, roller, 1)], parameters())
        assert along == pytest.approx(1000 * 4 / 700, rel=1e-3)
        assert across == pytest.approx(0, abs=1e-2)


def test_slack_takes_up_clicks_first():
    turns = [Turn(0, 1, 0, 3), Turn(1, 1, 1, 2)]
    slack_across = parameters()
    slack_across[0, SLACK + 1] = 12.0
    _, across = tension(turns, slack_across)
    assert across == pytest.approx(1000 * (20 - 12) / 900, rel=1e-3)


def test_the_toe_is_soft():
    # softplus(0) = ln 2: at the point of coming taut a toe of 1 mm has pulled ln 2 mm.
    along, _ = tension([Turn(0, 0, 0, 1)], parameters(SLACK=4.0, LN_TOE=0.0))
    assert along == pytest.approx(1000 * math.log(2) / 700, rel=1e-3)


def test_each_direction_pulls_the_other_along():
    # Plane-stress membrane: T_w = K_w (e_w + nu sqrt(K_f / K_w) e_f); here K_w 900, K_f 1600,
    # nu 0.3, e_w 0.02, e_f 0.01: 18 + 3.6 and 16 + 7.2.
    theta = parameters(NU=0.3)
    theta[0, LN_K : LN_K + 2] = np.log([900, 1600])
    strain = np.array([[[0.02, 0.01]]])
    assert tension_n_cm(theta, strain)[0, 0] == pytest.approx([21.6, 23.2])


def test_above_the_knee_mesh_gives_less():
    theta = parameters(LN_KNEE=math.log(0.03))
    below, above = (tension_n_cm(theta, np.full((1, 1, 2), e))[0, 0, 0] for e in (0.02, 0.06))
    assert below == pytest.approx(20, rel=1e-2)
    assert above == pytest.approx(1000 * (0.03 + 0.37 * 0.03), rel=3e-2)


def test_mesh_never_pushes():
    along, _ = tension([Turn(0, 0, 0, 3), Turn(9, 0, 0, -5)], parameters())
    assert along == 0


def test_a_day_loses_what_is_lost_in_a_day():
    theta = parameters(LN_LOSS=math.log(0.2), LN_TAU=math.log(40))
    assert kept(theta, np.array([-5.0, 0.0, DAY_S]))[0] == pytest.approx([1, 1, 0.8])
    # Computed here from 1 - 0.2 ln(1 + t / 40) / ln(1 + 86400 / 40) at 600 s: 0.92777.
    assert kept(theta, np.array([600.0]))[0, 0] == pytest.approx(
        1 - 0.2 * math.log(16) / math.log(2161)
    )


def test_retensioning_is_no_special_case():
    # Superposition: two steps, each relaxing from its own moment.
    theta = parameters(LN_LOSS=math.log(0.2), LN_TAU=math.log(40))
    turns = [Turn(0, 0, 0, 4), Turn(3600, 0, 1, 1)]
    along, _ = tension(turns, theta, after_s=600)
    first, second = kept(theta, np.array([4200.0, 600.0]))[0]
    assert along == pytest.approx(1000 * (16 * first + 4 * second) / 700, rel=1e-3)


def test_slopes_are_the_derivatives():
    theta = parameters(NU=0.25, LN_KNEE=math.log(0.02))
    theta[0, LN_K : LN_K + 2] = np.log([900, 1600])
    at = np.array([[[0.019, 0.014]]])
    own, crossed = slopes(theta, at)
    for d in (0, 1):
        more = at.copy()
        more[0, 0, d] += 1e-7
        rise = (tension_n_cm(theta, more) - tension_n_cm(theta, at))[0, 0] / 1e-7
        assert rise[d] == pytest.approx(own[0, 0, d], rel=1e-4)
        assert rise[1 - d] == pytest.approx(crossed[0, 0, 1 - d], rel=1e-4)


SPOT = Spot(0, Place.CENTRE)
steps = st.lists(
    st.one_of(
        st.builds(
            Turn,
            st.floats(0, 1e5),
            st.integers(0, 1),
            st.integers(0, 1),
            st.integers(-20, 20),
        ),
        st.builds(Gauged, st.floats(0, 1e5), st.just(SPOT), st.floats(0, 80)),
    ),
    max_size=120,
)


@given(steps)
def test_many_sets_at_once_are_each_set_alone(records):
    seen = history(records)
    rng = np.random.default_rng(0)
    theta = rng.multivariate_normal(priors(RIG).mean, priors(RIG).cov, 5)
    together = pull(RIG, theta, seen.steps, seen.when).strain
    for one, strain in zip(theta, together, strict=True):
        alone = pull(RIG, one[None], seen.steps, seen.when).strain[0]
        assert alone == pytest.approx(strain)
    assert np.all(np.isfinite(together))


@given(steps)
def test_a_history_keeps_every_click(records):
    seen = history(records)
    for d in (0, 1):
        for roller in (0, 1):
            turned = [
                r.clicks
                for r in records
                if isinstance(r, Turn) and (r.direction, r.roller) == (d, roller)
            ]
            assert seen.steps[d].clicks[-1, roller] == sum(turned)
        assert np.all(np.diff(seen.steps[d].at_s) >= 0)
        assert np.all(seen.when.done[:, d] <= len(seen.steps[d].at_s))
    assert np.all(np.diff(seen.when.at_s) >= 0)
