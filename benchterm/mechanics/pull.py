"""From clicks to tension: take-up, slack and toe, relaxation, coupling, knee.

One model for one sheet of mesh, worked out for many sets of parameters at once. Fitted and checked
on simulated benches (orthotropic membrane), never on real mesh.

    raw = p (h1 n1 + h2 n2) - slack              mm, for the two rollers of a direction
    taut = toe softplus(raw / toe)               the toe: threads straighten one after another
    e(t) = (sum_k [taut_k - taut_(k-1)] r(t - t_k) - eased(t) c / B) / (L + 2 w)
    r(t) = 1 - R24 log(1 + t/tau) / log(1 + 24 h/tau)
    T = K g(e + nu sqrt(K'/K) e')                the other direction's e' and K'

Of what is let back in at the corners (mean of four) the whole sheet, B wide, feels the share c / B.
``g`` is 1:1 up to the knee and has the slope ``KNEE_SLOPE`` above. Tension depends on what both
opposite rollers have wound up together, so readings cannot tell one from the other.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from benchterm.mechanics.history import DIRECTIONS, Array, Steps, When
from benchterm.mechanics.takeup import WRAPPED_MM

DAY_S = 86400.0
EASED_MM = 40.0
"""Width of sheet whose pull is let go with what is let back in at the corners; simulated."""
KNEE_SLOPE = 0.37
_KNEE_WIDTH = 0.002

LN_K, NU, SLACK, LN_TOE, LN_LOSS, LN_TAU, HELD, LN_KNEE = 0, 2, 3, 5, 6, 7, 8, 12
"""Columns of a parameter set: ``LN_K``, ``SLACK`` a direction, ``HELD`` a roller (2 x 2)."""
PARAMETERS = 13


@dataclass(frozen=True, slots=True)
class Rig:
    """What is known of the stretcher and the cloth before the first click."""

    click_mm: float
    """Mesh wound up by a click of one roller."""
    span_mm: tuple[float, float]
    """Mesh between the rollers, along and across."""
    stiffness_n_cm: tuple[float, float]
    """Nominal stiffness E A, along and across."""

    def length_mm(self, direction: int) -> float:
        """Mesh that gives: the span, and some wound on either roller."""
        return self.span_mm[direction] + 2 * WRAPPED_MM


@dataclass(frozen=True, slots=True, eq=False)
class Pull:
    """The state of the pull at some moments. Axes: parameter set, moment, direction."""

    strain: Array
    """What is left of it after relaxation."""
    raw_mm: Array
    """Take-up less slack."""
    left: tuple[Array, Array]
    """By direction, the share of each step that still pulls; here the last axis is the steps."""


def between(least: float, values: Array, most: float) -> Array:
    """Values, none beyond either end; on few of them much quicker than ``np.clip``."""
    inside: Array = np.minimum(np.maximum(values, least), most)
    return inside


def kept(theta: Array, age_s: Array) -> Array:
    """Share of a step's strain that still pulls after a time, r(t); all of it before the step.

    One row a parameter set, then the shape of ``age_s``.
    """
    # Most sets that are tried together differ in something else.
    rows = [(loss, tau) for loss, tau in theta[:, [LN_LOSS, LN_TAU]].tolist()]
    number = {row: i for i, row in enumerate(dict.fromkeys(rows))}
    loss, tau = np.exp(np.array([*number])).T.reshape(2, -1, *(1,) * age_s.ndim)
    left: Array = np.maximum(age_s, 0.0)[None] / tau
    np.log1p(left, out=left)  # In place: for hundreds of sets, room costs more than the sums.
    left /= np.log1p(DAY_S / tau)
    left *= loss
    np.subtract(1, left, out=left)
    np.maximum(left, 0.0, out=left)
    return left if len(number) == len(rows) else left[[number[row] for row in rows]]


def taut_mm(theta: Array, raw_mm: Array) -> Array:
    """Take-up that pulls, from take-up less slack. First axis: parameter set."""
    toe = np.exp(theta[:, LN_TOE]).reshape(-1, *(1,) * (raw_mm.ndim - 1))
    taut: Array = toe * np.logaddexp(0.0, raw_mm / toe)
    return taut


def pull(rig: Rig, theta: Array, steps: tuple[Steps, Steps], when: When) -> Pull:
    """Strain and take-up at some moments for each parameter set."""
    strain = np.empty((len(theta), len(when.at_s), 2))
    raw_then = np.empty_like(strain)
    left = _left(theta, steps, when)
    for d in DIRECTIONS:
        held = between(0.0, theta[:, HELD + 2 * d : HELD + 2 * d + 2], 1.5)
        wound = rig.click_mm * held @ steps[d].clicks.T + steps[d].uncalled_mm
        raw = wound - theta[:, SLACK + d, None]
        taut = taut_mm(theta, raw)
        added = taut.copy()
        added[:, 1:] -= taut[:, :-1]
        strain[:, :, d] = np.einsum("dk,dnk->dn", added, left[d]) / rig.length_mm(d)
        raw_then[:, :, d] = raw[:, when.done[:, d] - 1]
    return Pull(strain - when.eased_mm[:, None] * eased_strain(rig), raw_then, left)


def _left(theta: Array, steps: tuple[Steps, Steps], when: When) -> tuple[Array, Array]:
    first, second = (len(each.at_s) for each in steps)
    number = np.concatenate([np.arange(first), np.arange(second)])
    is_done = number < np.repeat(when.done, (first, second), axis=1)
    made_s = np.concatenate([each.at_s for each in steps])
    left = kept(theta, when.at_s[:, None] - made_s)
    left *= is_done
    return left[..., :first], left[..., first:]


def eased_strain(rig: Rig) -> Array:
    """Strain lost in each direction for a mm let back in at every corner."""
    lost: Array = np.array([EASED_MM / rig.span_mm[1 - d] / rig.length_mm(d) for d in DIRECTIONS])
    return lost


def tension_n_cm(theta: Array, strain: Array) -> Array:
    """Tension from strain, last axis the two directions, first the parameter sets."""
    pulled: Array = _stiffness(theta, strain) * _knee(theta, _coupled(theta, strain))[0]
    return np.maximum(pulled, 0.0)


def slopes(theta: Array, strain: Array) -> tuple[Array, Array]:
    """What a strain in a direction adds to its own tension and to the other direction's.

    The second is by the direction that feels it: rise along for strain across comes first.
    """
    own = _stiffness(theta, strain) * _knee(theta, _coupled(theta, strain))[1]
    return own, own * _coupling(theta, strain)


def coupling(theta: Array) -> Array:
    """Tension added in each direction (columns) for tension added in the other."""
    nu = between(0.0, theta[:, NU], 0.6)[:, None]
    ln_k = theta[:, LN_K : LN_K + 2]
    ratio: Array = nu * np.exp((ln_k - ln_k[:, ::-1]) / 2)
    return ratio


def _stiffness(theta: Array, strain: Array) -> Array:
    k: Array = np.exp(theta[:, LN_K : LN_K + 2])
    return k.reshape(-1, *(1,) * (strain.ndim - 2), 2)


def _coupling(theta: Array, strain: Array) -> Array:
    nu = between(0.0, theta[:, NU], 0.6)[:, None]
    ln_k = theta[:, LN_K : LN_K + 2]
    ratio: Array = nu * np.exp((ln_k[:, ::-1] - ln_k) / 2)
    return ratio.reshape(-1, *(1,) * (strain.ndim - 2), 2)


def _coupled(theta: Array, strain: Array) -> Array:
    coupled: Array = strain + _coupling(theta, strain) * strain[..., ::-1]
    return coupled


def _knee(theta: Array, strain: Array) -> tuple[Array, Array]:
    """The curve g and its slope."""
    knee = np.exp(theta[:, LN_KNEE]).reshape(-1, *(1,) * (strain.ndim - 1))
    beyond = strain - knee
    past = between(-60.0, beyond / _KNEE_WIDTH, 60.0)
    over = np.where(beyond > 60 * _KNEE_WIDTH, beyond, 0.0)
    soft = np.where(over > 0, over, _KNEE_WIDTH * np.logaddexp(0.0, past))
    lost = 1 - KNEE_SLOPE
    return strain - lost * soft, 1 - lost / (1 + np.exp(-past))
