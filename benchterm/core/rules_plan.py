"""Rules that follow the plan: which roller next, what to read, when it is as near as it comes."""

from __future__ import annotations

from benchterm.core import cloth
from benchterm.core.advice import Advice, Look, Move, Severity
from benchterm.core.estimate import AXES, spot
from benchterm.core.situation import Situation, clicks, listed
from benchterm.core.stages import Stage
from benchterm.core.stations import ROLLERS, ROLLERS_OF, Axis, Pair, Station

_MOST_CLICKS = 2
"""Clicks advised on one roller before its opposite is turned (common practice: few a pass)."""


def next_side(now: Situation) -> Advice | None:
    """Which roller to turn next and by how much, or which side to read before that is known."""
    stage, plan = now.state.stage, now.plan
    if stage is Stage.SLACK:
        return _next_slack(now)
    if stage not in (Stage.FIRST_TENSION, Stage.FINAL_TENSION):
        return None
    if plan is None:
        return _next_unplanned(now)
    if plan.read_corners or plan.ease_mm or (plan.held_back and not plan.moves):
        return None  # The corners come first (``corner-ahead``).
    return _next_move(now) or _next_reading(now)


def settle(now: Situation) -> Advice | None:
    """All four sides are read and no whole click brings them nearer: time to let it settle."""
    state, plan = now.state, now.plan
    sides = now.side_readings()
    if state.stage is not Stage.FINAL_TENSION or len(sides) < len(ROLLERS):
        return None
    if not all(state.is_current(r) for r in sides):
        return None
    if plan is not None and (plan.moves or plan.read_corners or plan.ease_mm or plan.held_back):
        return None  # There is more to do, or the corners allow no more (``corner-ahead``).
    target = state.facts.target
    off = max(abs(r.value_n_cm - target.of(r.axis)) for r in sides)
    reach = {a: max(target.tolerance_n_cm, now.steps_n_cm[a] / 2) for a in Axis}
    near = all(abs(r.value_n_cm - target.of(r.axis)) <= reach[r.axis] for r in sides)
    if plan is None and not near:
        return None
    why = f"all four sides read, none more than {off:.1f} from its target"
    if off > target.tolerance_n_cm:
        why += f": as near as whole clicks of {max(now.steps_n_cm.values()):.1f} come"
    return Advice("settle", Severity.DO, "let it settle", why, tuple(r.seq for r in sides))


def moves(now: Situation) -> tuple[Move, ...]:
    """The clicks of the next pass, in order."""
    if now.plan is None:
        return ()
    rollers = [ROLLERS_OF[now.state.facts.pair_of(axis)] for axis in AXES]
    return tuple(Move(rollers[m.direction][m.roller], m.clicks) for m in now.plan.moves)


def _next_slack(now: Situation) -> Advice | None:
    """While there is slack: a pair after the other, its roller with fewer clicks first."""
    state = now.state
    for pair in sorted(Pair, key=lambda p: sum(state.clicks[s] for s in ROLLERS_OF[p])):
        fewest = min(ROLLERS_OF[pair], key=lambda s: state.clicks[s])
        had, opposite = state.clicks[fewest], state.clicks[fewest.opposite]
        number = opposite - had or (0 if had else cloth.blind_clicks(state, pair))
        if number > 0:
            why = f"it has had {clicks(had)}, {fewest.opposite.label} {clicks(opposite)}"
            do = f"{fewest.label} roller: {clicks(number)}"
            return Advice("next-side", Severity.DO, do, why, moves=(Move(fewest, number),))
    return None


def _next_unplanned(now: Situation) -> Advice | None:
    """Before a reading with clicks before it: the axis furthest behind, its lagging side first."""
    state = now.state
    wants = {pair: _want_n_cm(now, pair) for pair in Pair}
    pair = max(Pair, key=lambda p: wants[p])
    halfway = state.run[0].pair if state.run else None
    if halfway and now.balance.pair(halfway).clicks_apart and wants[halfway] > 0:
        pair = halfway  # The opposite side of a pass comes before the other axis.
    axis = state.facts.axis_of(pair)
    step, want = now.steps_n_cm[axis], wants[pair]
    if want <= step / 2:
        return None
    rollers, tension = ROLLERS_OF[pair], now.tensions_n_cm[axis]
    roller = now.lagging(pair)
    behind = state.net_clicks(roller.opposite) - state.net_clicks(roller)
    if tension is None:
        number = behind or cloth.blind_clicks(state, pair) - max(state.clicks[s] for s in rollers)
        if number <= 0:
            unread = [p for p in Pair if now.tensions_n_cm[state.facts.axis_of(p)] is None]
            looks = tuple(Look(ROLLERS_OF[p][0], state.facts.axis_of(p)) for p in unread)
            do = f"read {listed([look.station for look in looks])}"
            why = f"{' and '.join(look.axis.value for look in looks)}: not read yet"
            return Advice("next-side", Severity.DO, do, why, read=looks)
        have = "unread"
    else:
        number = min(behind, round(want / step)) if behind else int(want / step / 2)
        number = max(1, min(number, _MOST_CLICKS))
        have = f"about {tension:.1f}"
    why = f"{axis.value} {have}, going for {now.aim_n_cm(axis):.1f}; one click gives {step:.1f}"
    do = f"{roller.label} roller: {clicks(number)}"
    seqs = tuple(r.seq for r in now.side_readings())
    return Advice("next-side", Severity.DO, do, why, seqs, moves=(Move(roller, number),))


def _want_n_cm(now: Situation, pair: Pair) -> float:
    axis = now.state.facts.axis_of(pair)
    return now.aim_n_cm(axis) - (now.tensions_n_cm[axis] or 0.0)


def _next_move(now: Situation) -> Advice | None:
    state, plan = now.state, now.plan
    if plan is None or not plan.moves:
        return None
    move = moves(now)[0]
    d = plan.moves[0].direction
    axis, have, then = AXES[d], plan.now[d], plan.expected[d]
    known = any(r is not None for r in state.readings(axis))
    about = f"about {have.mean:.1f}" if known else "unread"
    why = (
        f"{axis.value} {about}, going for {now.aim_n_cm(axis):.1f}; "
        f"after this pass {then.low:.1f} to {then.high:.1f}"
    )
    way = clicks(move.clicks) if move.clicks > 0 else f"{clicks(-move.clicks)} back"
    do = f"{move.station.label} roller: {way}"
    seqs = tuple(r.seq for r in now.side_readings())
    return Advice("next-side", Severity.DO, do, why, seqs, moves=(move,))


def _next_reading(now: Situation) -> Advice | None:
    """After a pass: a side of each axis that was turned. At the end: every side.

    First tensioning ends with each side read once: the corners come next, and more clicks.
    """
    state, estimate = now.state, now.estimate
    if estimate is None:
        return None
    turned = [axis for d, axis in enumerate(AXES) if estimate.history.turned_since_read(d)]
    looks = [Look(_longest_unread(now, axis), axis) for axis in turned]
    if not looks:
        first_pass = state.stage is Stage.FIRST_TENSION
        sides = ((side, state.reading(side)) for side in ROLLERS)
        wanted = [s for s, r in sides if r is None or not (first_pass or state.is_current(r))]
        looks = [Look(side, state.facts.usual_axis(side)) for side in wanted]
    if not looks:
        return None
    first = looks[0]
    likely = estimate.reading(spot(state.facts.along_pair, first.station, first.axis))
    do = f"read {listed([look.station for look in looks])}"
    why = f"{first.station.label} should show {likely.low:.1f} to {likely.high:.1f}"
    seqs = tuple(r.seq for r in now.side_readings())
    return Advice("next-side", Severity.DO, do, why, seqs, read=tuple(looks))


def _longest_unread(now: Situation, axis: Axis) -> Station:
    def read_at(side: Station) -> int:
        reading = now.state.reading(side, axis)
        return reading.seq if reading else 0

    return min(ROLLERS_OF[now.state.facts.pair_of(axis)], key=read_at)
