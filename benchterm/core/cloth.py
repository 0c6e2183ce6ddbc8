"""What this session's mesh can bear and what one click does to it, worked out from the facts."""

from __future__ import annotations

from benchterm.core.state import State
from benchterm.core.stations import Pair
from benchterm.mechanics import mesh, takeup

_LEAST_SLACK_MM = 10.0
"""Slack of a pair that nine sheets in ten exceed when they have just been locked in; simulated."""
_BLIND_SHARE, _BLIND_SHARE_RODS_IN = 0.8, 0.56
"""Share of the target to which such a sheet may come unread, the second with rods so far in."""
_RODS_IN_MM = 8.0
"""Gap from rod to corner below which the corners bear much less; simulated."""
_STIFFEST = 1.3
"""Stiffness over the nominal that few sheets exceed; simulated."""
_COMMON_CLICK_MM = takeup.click_mm(32, 24)


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


def scaled_clicks(state: State, clicks: float) -> int:
    """As many clicks as take up what these do on a common ratchet, never fewer.

    The shop's table counts clicks of 4.2 mm; a finer ratchet makes more of the same move.
    """
    return int(max(clicks, clicks * _COMMON_CLICK_MM / click_mm(state)))


def nominal_step_n_cm(state: State, pair: Pair) -> float:
    """Tension which one click of one roller adds."""
    return takeup.click_step_n_cm(
        click_mm(state), state.facts.free_span_mm(pair), stiffness_n_cm(state)
    )


def blind_clicks(state: State, pair: Pair) -> int:
    """Clicks on each roller of a pair that may be made before anything is read.

    Mesh locked in with hardly any slack, and stiffer than usual, would still stay well under its
    target.
    """
    facts = state.facts
    gap = facts.stretcher.rod_gap_mm
    share = _BLIND_SHARE if gap is None or gap >= _RODS_IN_MM else _BLIND_SHARE_RODS_IN
    length_mm = facts.free_span_mm(pair) + 2 * takeup.WRAPPED_MM
    stiffest = _STIFFEST * takeup.coupled_stiffness_n_cm(stiffness_n_cm(state))
    taut_mm = share * facts.target.of(facts.axis_of(pair)) * length_mm / stiffest
    clicks = int((_LEAST_SLACK_MM + taut_mm) / 2 / click_mm(state))
    return min(max(1, clicks), int(state.practice.clicks_max))
