"""The rule of the corners: ease them before they tear."""

from __future__ import annotations

from benchterm.core import cloth
from benchterm.core.advice import Advice, Ease, Look, Severity
from benchterm.core.estimate import AXES
from benchterm.core.situation import Situation, listed
from benchterm.core.state import Reading
from benchterm.core.stations import CORNERS, ROLLERS


def corner_ahead(now: Situation) -> Advice | None:
    """A corner is likely to tear, or reads well over the sides next to it: ease it first."""
    if not now.state.stage.takes_relief:
        return None
    if now.state.facts.stretcher.rod_gap_mm is None:
        return _by_neighbours(now)
    return _by_chance(now)


def _by_chance(now: Situation) -> Advice | None:
    """By the rule fitted on simulated benches; silent until rod gap and tension are known."""
    state, plan = now.state, now.plan
    if plan is None or plan.tear_chance is None:
        return None
    seqs = tuple(r.seq for r in (*now.corner_readings(), *now.side_readings()))
    rods = f"(rods {state.facts.stretcher.rod_gap_mm:g} mm from the corner)"
    why = (
        f"chance of a tear on the way to the target about {100 * plan.tear_chance:.0f} %, "
        f"limit {100 * plan.tear_limit:.0f} % {rods}"
    )
    if plan.read_corners:
        pair = (CORNERS[0], CORNERS[0].opposite)
        axes = [AXES[d] for d in plan.read_corners]
        looks = tuple(Look(c, axis) for c in pair for axis in axes)
        do = f"read {listed(list(pair))}, {' and '.join(a.value for a in axes)}, first"
        why = (
            f"chance of a tear by the target about {100 * plan.tear_chance:.0f} %: "
            f"it may spare easing them {rods}"
        )
        return Advice("corner-ahead", Severity.STOP, do, why, seqs, read=looks)
    if plan.ease_mm:
        short = [(c, plan.ease_mm - state.relief_mm[c]) for c in CORNERS]
        ease = tuple(Ease(c, float(round(mm))) for c, mm in short if mm >= 1)
        most = max((e.mm for e in ease), default=0.0)
        do = f"ease {listed([e.station for e in ease])} by {most:.0f} mm before the next click"
        return Advice("corner-ahead", Severity.STOP, do, why, seqs, ease=ease)
    if plan.held_back and not plan.moves:
        do = "corners are eased as far as they go: settle for less tension here"
        return Advice("corner-ahead", Severity.STOP, do, why, seqs)
    return None


def _by_neighbours(now: Situation) -> Advice | None:
    """The corner furthest over its two sides, all three read since the last clicks.

    Each is taken against the level of its own axis, since along and across may differ by intent.
    """
    state = now.state
    worst: tuple[float, Reading, list[Reading]] | None = None
    for reading in now.corner_readings():
        sides = [state.reading(s) for s in reading.station.neighbours]
        read = [r for r in sides if r is not None]
        current = all(state.is_current(r) for r in (reading, *read))
        if len(read) < len(sides) or not current:
            continue
        beside = sum(_over_level(now, r) for r in read) / len(read)
        if beside == 0:
            continue
        ratio = _over_level(now, reading) / beside
        if ratio > state.practice.corner_over_sides and (worst is None or ratio > worst[0]):
            worst = (ratio, reading, read)
    if worst is None:
        return None
    ratio, reading, read = worst
    sides_read = ", ".join(f"{r.station.label} {r.value_n_cm:.1f}" for r in read)
    return Advice(
        "corner-ahead",
        Severity.CARE,
        f"ease {reading.station.label} by {_usual_relief_mm(now):.0f} mm before the next click",
        f"{reading.axis.value} {reading.value_n_cm:.1f} beside {sides_read}: {ratio:.2f} times, "
        f"limit {state.practice.corner_over_sides:.2f}",
        (reading.seq, *(r.seq for r in read)),
        ease=(Ease(reading.station, float(round(_usual_relief_mm(now)))),),
    )


def _over_level(now: Situation, reading: Reading) -> float:
    """A reading over the mean of the sides that pull its axis; 0 where none is read or taut."""
    sides = [r.value_n_cm for r in now.side_readings() if r.axis is reading.axis]
    return reading.value_n_cm * len(sides) / sum(sides) if any(sides) else 0.0


def _usual_relief_mm(now: Situation) -> float:
    """The shop's usual amount, but no more than half of what a roller has taken up, at least 1."""
    usual = now.state.practice.relief_mm
    taken_up = _mean_take_up_mm(now)
    return min(usual, max(1.0, taken_up / 2)) if taken_up else usual


def _mean_take_up_mm(now: Situation) -> float:
    return sum(_take_ups_mm(now)) / len(ROLLERS)


def _take_ups_mm(now: Situation) -> list[float]:
    """Mesh wound up by each roller since tension began."""
    click_mm = cloth.click_mm(now.state)
    return [max(0, now.state.net_clicks(r)) * click_mm for r in ROLLERS]
