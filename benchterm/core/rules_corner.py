"""The rule of the corners: ease them before they tear."""

from __future__ import annotations

from benchterm.core import cloth
from benchterm.core.advice import Advice, Severity
from benchterm.core.situation import Situation, listed
from benchterm.core.state import Reading
from benchterm.core.stations import CORNERS, ROLLERS, Axis, Station
from benchterm.mechanics import corner


def corner_ahead(now: Situation) -> Advice | None:
    """A corner is likely to tear, or reads well over the sides next to it: ease it first."""
    if not now.state.stage.takes_relief:
        return None
    by_chance = _by_tear_chance(now)
    return by_chance or _by_neighbours(now)


def _by_tear_chance(now: Situation) -> Advice | None:
    """The rule fitted on simulated benches; silent until rod gap and tension are known."""
    state = now.state
    gap = state.facts.stretcher.rod_gap_mm
    tension = _highest_tension(now)
    taken_up = _take_ups_mm(now)
    mean_up = sum(taken_up) / len(taken_up)
    if gap is None or tension is None or mean_up == 0:
        return None
    step = max(now.steps_n_cm.values())
    eased = sum(state.relief_mm[c] for c in CORNERS) / len(CORNERS) / mean_up
    ratio, seen = _corner_over_centre(now, eased)
    corners = corner.Corners(gap, eased, max(taken_up) / mean_up - 1, ratio)
    limits = (cloth.breaking_n_cm(state), cloth.stiffness_n_cm(state))
    chance = corner.tear_chance(corners, tension.value_n_cm + step, *limits)
    if chance <= state.practice.tear_chance:
        return None
    rests_on = tuple(dict.fromkeys((tension.seq, *seen)))
    target = max(state.facts.target.of(axis) for axis in Axis)
    clicks_left = max(0.0, target - tension.value_n_cm) / step / 2
    final_up = mean_up + clicks_left * cloth.click_mm(state)
    share = corner.relief_share(corners, target, *limits)
    wanted = share * final_up
    owed = [(c, wanted - state.relief_mm[c]) for c in CORNERS]
    short = [c for c, mm in owed if mm >= 1]
    if not short:
        return Advice(
            "corner-ahead",
            Severity.STOP,
            "corners are eased as far as they go: settle for less tension here",
            f"chance of a tear at the next click about {100 * chance:.0f} %, "
            f"limit {100 * state.practice.tear_chance:.0f} %",
            rests_on,
        )
    most = max(mm for _, mm in owed)
    return Advice(
        "corner-ahead",
        Severity.STOP,
        f"ease {listed(short)} by {most:.0f} mm before the next click",
        f"chance of a tear at the next click about {100 * chance:.0f} %, "
        f"limit {100 * state.practice.tear_chance:.0f} % (rods {gap:g} mm from the corner)",
        rests_on,
    )


def _highest_tension(now: Situation) -> Reading | None:
    """The higher centre reading; without one, the highest side stands in for it."""
    centre = [now.state.reading(Station.CENTRE, axis) for axis in Axis]
    read = [r for r in centre if r is not None] or now.side_readings()
    return max(read, key=lambda r: r.value_n_cm, default=None)


def _corner_over_centre(now: Situation, eased: float) -> tuple[float, tuple[int, ...]]:
    """Highest corner reading over the centre on the same axis, and the events it rests on.

    With no corner read: 1.1 before relief, falling to 0.87 at half the take-up (simulated bench).
    """
    found: list[tuple[float, tuple[int, ...]]] = []
    for reading in now.corner_readings():
        centre = now.state.reading(Station.CENTRE, reading.axis)
        if centre is not None and centre.value_n_cm > 0:
            same_time = reading.pair_clicks == centre.pair_clicks
            if same_time and not now.is_eased_since(reading):
                found.append((reading.value_n_cm / centre.value_n_cm, (reading.seq, centre.seq)))
    usual = corner.UNREAD_CORNER_RATIO - 0.46 * min(eased, 0.5)
    return max(found, default=(usual, ()))


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
        if len(read) < len(sides) or not current or now.is_eased_since(reading):
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
