"""What this session's mesh can bear and what one click does to it, worked out from the facts."""

from __future__ import annotations

from benchterm.core.state import State
from benchterm.core.stations import Pair
from benchterm.mechanics import mesh, takeup


def stiffness_n_cm(state: State) -> float:
    """Nominal stiffness in one direction, N/cm for a strain of 1."""
    cloth = state.facts.mesh
    return mesh.stiffness_n_cm(cloth.threads_cm, cloth.thread_um, state.practice.modulus_gpa)


def breaking_n_cm(state: State) -> float:
    """Tension at which the threads part."""
    cloth = state.facts.mesh
    return mesh.breaking_tension_n_cm(cloth.threads_cm, cloth.thread_um)


def ceiling_n_cm(state: State) -> float | None:
    """Highest working tension: the mesh maker's, else worked out for polyester, else not known."""
    cloth, practice = state.facts.mesh, state.practice
    if cloth.ceiling_n_cm is not None:
        return cloth.ceiling_n_cm
    if cloth.material != "polyester":
        return None
    return mesh.working_ceiling_n_cm(
        cloth.threads_cm, cloth.thread_um, practice.ceiling_share, practice.tenacity_cn_dtex
    )


def click_mm(state: State) -> float:
    """Mesh wound up by one click of one roller."""
    stretcher = state.facts.stretcher
    return takeup.click_mm(stretcher.roller_mm, stretcher.teeth)


def nominal_step_n_cm(state: State, pair: Pair) -> float:
    """Tension which one click of one roller adds."""
    return takeup.click_step_n_cm(
        click_mm(state), state.facts.free_span_mm(pair), stiffness_n_cm(state)
    )
