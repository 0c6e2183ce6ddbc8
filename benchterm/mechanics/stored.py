"""What a stretched mesh holds and would give back at once: energy, and the pull on a side."""

from __future__ import annotations

_M2_PER_MM2 = 1e-6
_N_M_PER_N_CM = 100.0


def energy_j(tension_n_cm: float, stiffness_n_cm: float, width_mm: float, depth_mm: float) -> float:
    """Energy stored by one set of threads, half tension x strain x area, joules.

    ``stiffness_n_cm`` is the tension for a strain of 1; strain is taken to follow tension straight.
    """
    strain = tension_n_cm / stiffness_n_cm
    area_m2 = width_mm * depth_mm * _M2_PER_MM2
    return 0.5 * tension_n_cm * _N_M_PER_N_CM * strain * area_m2


def pull_n(tension_n_cm: float, side_mm: float) -> float:
    """Force of the mesh on one side, tension x length, newtons."""
    return tension_n_cm * side_mm / 10
