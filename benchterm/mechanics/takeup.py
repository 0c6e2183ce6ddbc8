"""What one click of one roller winds up, and what that does to the tension.

The step formula was checked on a simulated bench (orthotropic membrane), not on real mesh. It
leaves out slack, the give of the weave at low tension and relaxation, so it bounds a fresh click
on taut mesh from above.
"""

from __future__ import annotations

import math

POISSON = 0.2
"""How much pulling one set of threads asks of the other; simulated default."""
WRAPPED_MM = 30.0
"""Mesh wound on each roller that still gives, mm; simulated default."""


def click_mm(roller_mm: float, teeth: int) -> float:
    """Mesh wound up by one click, pi D / teeth, mm.

    ``roller_mm`` is the diameter over the mesh already wound on, ``teeth`` the clicks in one turn.
    """
    return math.pi * roller_mm / teeth


def coupled_stiffness_n_cm(stiffness_n_cm: float, poisson: float = POISSON) -> float:
    """Stiffness of one direction while the other is held, K = E A / (1 - nu^2), N/cm."""
    return stiffness_n_cm / (1 - poisson**2)


def click_step_n_cm(
    click_mm: float,
    free_span_mm: float,
    stiffness_n_cm: float,
    poisson: float = POISSON,
    wrapped_mm: float = WRAPPED_MM,
) -> float:
    """Tension that one click of one roller adds in its own direction, K p / (L + 2 w), N/cm.

    ``free_span_mm`` is the mesh between the two rollers, ``stiffness_n_cm`` the nominal E A.
    """
    coupled = coupled_stiffness_n_cm(stiffness_n_cm, poisson)
    return coupled * click_mm / (free_span_mm + 2 * wrapped_mm)


def promised_accuracy_n_cm(step_n_cm: float) -> float:
    """How near to a target whole clicks can be promised to come, max(1, step / 2 + 0.5), N/cm.

    Simulated: a planner held it on 90 % of 200 simulated benches.
    """
    return max(1.0, step_n_cm / 2 + 0.5)
