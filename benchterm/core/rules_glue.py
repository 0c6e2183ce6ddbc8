"""Rules about glue: a gate that stays closed, the open time, the air."""

from __future__ import annotations

from benchterm.core.advice import Advice, Severity
from benchterm.core.air_budget import air_budget, waiting
from benchterm.core.gates import minutes_and_seconds, open_checks, shut
from benchterm.core.situation import Situation
from benchterm.core.stages import Stage


def closed_gate(now: Situation) -> Advice | None:
    """The products of the session may not be glued with, or cannot be read."""
    state = now.state
    why = shut(state, Stage.CURE)
    if not why:
        return None
    near = state.stage >= Stage.SETTLE
    severity = Severity.CARE if near else Severity.KNOW
    do = "mend the product file or choose other products: no glue with these"
    return Advice("closed-gate", severity, do, why[0])


def open_time(now: Situation) -> Advice | None:
    """The glue is workable for a while: to be timed, running, or over."""
    state = now.state
    minutes = state.briefing.open_min
    cautions_open = any(check.caution for check in open_checks(state))
    if state.stage is not Stage.ADHESIVE or minutes is None or cautions_open:
        return None
    timer, why = state.timer, f"open time {minutes:g} min by its data sheet"
    if timer is None or timer.stage is not Stage.ADHESIVE or timer.seq < state.stage_seq:
        do = "start the timer with the first glue"
        return Advice("open-time", Severity.DO, do, why, (state.stage_seq,))
    left_s = timer.left_s(now.now_s)
    if left_s > 0:
        do = f"glue stays workable {minutes_and_seconds(left_s)}, then activator by sections"
        return Advice("open-time", Severity.KNOW, do, why, (timer.seq,))
    do = "open time is over: spread no more"
    return Advice("open-time", Severity.CARE, do, why, (timer.seq,))


def air(now: Situation) -> Advice | None:
    """Vapour of the glue is in the room."""
    state = now.state
    budget = air_budget(state, now.now_s)
    if budget is None:
        return None
    seqs = tuple(glued.seq for glued in state.glued)
    practice = state.practice
    if state.stage is Stage.ADHESIVE and budget.pocket_lel_pct > practice.lel_share_pct:
        do = f"more air by the bench, no spark: up to {budget.pocket_lel_pct:.0f} % LEL there"
        return Advice("air", Severity.CARE, do, budget.line, seqs)
    if state.stage <= Stage.CURE and max(budget.index, budget.day_share) > 1:
        do = f"open up, run the fan; no more glue for {waiting(budget.wait_h)}"
        if budget.day_share > 1:
            do = "open up, run the fan; no more glue today in this air"
        return Advice("air", Severity.CARE, do, budget.line, seqs)
    if state.stage > Stage.CURE and budget.index < _FAINT:
        return None
    return Advice("air", Severity.KNOW, "keep air moving out of the room", budget.line, seqs)


_FAINT = 0.05
"""Part of the limit below which the air is no news any more."""
