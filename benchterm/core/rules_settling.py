"""The rule about settling: what will be left tomorrow, when to glue, whether a top-up helps."""

from __future__ import annotations

from benchterm.core.advice import Advice, Severity
from benchterm.core.cloth import ceiling_n_cm
from benchterm.core.gates import open_items
from benchterm.core.rules_plan import settle
from benchterm.core.settling import Outlook, outlooks, record
from benchterm.core.situation import Situation
from benchterm.core.stages import Stage
from benchterm.core.stations import Axis
from benchterm.mechanics.settling import DAY_S

_WORTH_N_CM = 0.3
"""A top-up that brings tomorrow's tension less than this nearer is not worth a click."""


def settling(now: Situation) -> Advice | None:
    """What the mesh will have lost a day after the last click."""
    state = now.state
    reached = state.stage is Stage.FINAL_TENSION and settle(now) is not None
    if not (reached or state.stage is Stage.SETTLE):
        return None
    found = outlooks(state)
    if not found:
        do, why = "read the centre, along and across", "tomorrow's tension cannot be told unread"
        return Advice("settling", _severity(now), do, why, (state.stage_seq,))
    told = [
        f"{one.tomorrow.value:.1f} ({max(0.0, one.tomorrow.low):.1f} to {one.tomorrow.high:.1f}) "
        f"{axis.value}"
        for axis, one in found.items()
    ]
    records = [record(state, axis) for axis in found]
    last_read_s = max(of.seen[-1].at_s for of in records)
    if now.now_s - last_read_s >= DAY_S / 2:
        return None
    return Advice(
        "settling",
        _severity(now),
        f"tomorrow about {', '.join(told)}",
        _why(now, found),
        tuple(sorted(seq for of in records for seq in of.seqs)),
    )


def _severity(now: Situation) -> Severity:
    """First while the wait before the adhesive runs, and until what it has lost is dealt with."""
    state = now.state
    timed = state.timer is not None and state.timer.stage is state.stage is Stage.SETTLE
    return Severity.DO if timed and open_items(state, now.now_s) else Severity.KNOW


def _why(now: Situation, found: dict[Axis, Outlook]) -> str:
    """What is decided by first: the end may not fit in the line."""
    parts = [_glue(now, found)]
    tops = [words for axis, one in found.items() if (words := _top_up(now, axis, one))]
    if tops:
        parts.append(f"a click more: {', '.join(tops)}")
    parts += [f"{axis.value} not read since the last click" for axis in Axis if axis not in found]
    lost = ", ".join(f"{max(0.0, one.lost):.1f} {axis.value}" for axis, one in found.items())
    return "; ".join([*parts, f"lost so far {lost}"])


def _glue(now: Situation, found: dict[Axis, Outlook]) -> str:
    """When a further day costs no more than the tolerance, on every axis that was read."""
    allowed = now.state.facts.target.tolerance_n_cm
    waits = [one.glue_from_s for one in found.values()]
    known = [at_s for at_s in waits if at_s is not None]
    if len(known) < len(waits):
        return f"a day costs more than {allowed:g} even after a day's wait"
    left_s = max(known) - now.now_s
    if left_s <= 0:
        return f"a day costs {allowed:g} or less from now on"
    hours, minutes = divmod(round(left_s / 60), 60)
    wait = f"{hours} h {minutes} min" if hours else f"{max(minutes, 1)} min"
    return f"in {wait} a day costs {allowed:g} or less"


def _top_up(now: Situation, axis: Axis, one: Outlook) -> str:
    """What tomorrow brings after one click more, if it is nearer to the target."""
    target, ceiling = now.state.facts.target.of(axis), ceiling_n_cm(now.state)
    more = one.topped_up.value
    nearer = abs(one.tomorrow.value - target) - abs(more - target)
    added = more - one.tomorrow.value
    if nearer < _WORTH_N_CM or (ceiling is not None and target + added > ceiling):
        return ""
    return f"{more:.1f} {axis.value}"
