"""Rules about the tension: too much, uneven, about to tear, not known any more."""

from __future__ import annotations

from itertools import takewhile

from benchterm.core import cloth, rules_plan
from benchterm.core.advice import Advice, Look, Move, Severity
from benchterm.core.estimate import pass_clicks
from benchterm.core.situation import Situation, clicks, listed
from benchterm.core.stages import Stage
from benchterm.core.state import Reading, Turned
from benchterm.core.stations import ROLLERS_OF, Axis, Pair

_PAIR_SCATTER = 1.8
"""Two readings differ by more than this many standard deviations of one in a fifth of cases."""
_MOST_NOISE_N_CM = 0.5
"""No gauge, however it scatters, excuses sides further apart than this allows."""
_NEAR_CEILING = 0.95
"""Share of the ceiling from which on it is worth a word."""


def ceiling(now: Situation) -> Advice | None:
    """The mesh's highest working tension is reached or near."""
    most = cloth.ceiling_n_cm(now.state)
    if most is None or not now.loaded:
        return None
    read = [r for r in now.side_readings() if now.state.is_current(r)]
    highest = max(read, key=lambda r: r.value_n_cm, default=None)
    if highest is None or highest.value_n_cm < _NEAR_CEILING * most:
        return None
    why = f"{highest.station.label} {highest.value_n_cm:.1f}, the mesh's ceiling is {most:.1f}"
    sides = listed(list(ROLLERS_OF[now.state.facts.pair_of(highest.axis)]))
    if highest.value_n_cm > most:
        do = f"let {sides} back, one click each"
        moves = tuple(Move(s, -1) for s in ROLLERS_OF[now.state.facts.pair_of(highest.axis)])
        return Advice("ceiling", Severity.STOP, do, why, (highest.seq,), moves)
    return Advice("ceiling", Severity.CARE, f"no more clicks on {sides}", why, (highest.seq,))


def over_target(now: Situation) -> Advice | None:
    """A side reads over its target by more than the tolerance."""
    if not now.tensioning:
        return None
    state = now.state
    over = [
        r
        for r in now.side_readings()
        if state.is_current(r)
        and r.value_n_cm > state.facts.target.of(r.axis) + state.facts.target.tolerance_n_cm
    ]
    if not over:
        return None
    worst = max(over, key=lambda r: r.value_n_cm - state.facts.target.of(r.axis))
    target = state.facts.target.of(worst.axis)
    pair = state.facts.pair_of(worst.axis)
    why = (
        f"{worst.station.label} {worst.value_n_cm:.1f}, target {target:.1f}; "
        f"one click gives about {now.steps_n_cm[worst.axis]:.1f}"
    )
    moves = _moves_back(now, pair, worst)
    sides = listed(list(ROLLERS_OF[pair]))
    back = -sum(m.clicks for m in moves)
    if back == 0:
        do = f"leave {sides} as they are, and let it settle"
        return Advice("over-target", Severity.KNOW, do, why, (worst.seq,))
    do = f"{moves[0].station.label} roller: {clicks(back)} back"
    if len(moves) > 1:
        do = f"{sides}: {clicks(back)} back between them"
    return Advice("over-target", Severity.CARE, do, why, (worst.seq,), moves)


def _moves_back(now: Situation, pair: Pair, worst: Reading) -> tuple[Move, ...]:
    """By the plan; without one as many as the reading is over, the roller turned further first."""
    if now.plan is not None:
        return tuple(m for m in rules_plan.moves(now) if m.station.pair is pair and m.clicks < 0)
    excess = worst.value_n_cm - now.state.facts.target.of(worst.axis)
    back = round(excess / now.steps_n_cm[worst.axis])
    last = now.lagging(pair)
    moves = (Move(last.opposite, -((back + 1) // 2)), Move(last, -(back // 2)))
    return tuple(m for m in moves if m.clicks)


def sides_uneven(now: Situation) -> Advice | None:
    """Opposite sides, both read since the last click, are apart by more than the limit."""
    if not now.loaded:
        return None
    limit = now.state.practice.pair_balance_n_cm
    fresh = [p for p in Pair if now.balance.pair(p).fresh]
    if not fresh:
        return None
    worst = max(fresh, key=lambda p: abs(now.balance.pair(p).apart_n_cm or 0))
    pair = now.balance.pair(worst)
    apart = pair.apart_n_cm
    noise = min(now.estimate.gauge_sd_n_cm, _MOST_NOISE_N_CM) if now.estimate else 0.0
    scatter = _PAIR_SCATTER * noise
    if apart is None or abs(apart) <= limit + scatter:
        return None
    low, high = (pair.second, pair.first) if apart > 0 else (pair.first, pair.second)
    read = [now.state.reading(s) for s in (pair.first, pair.second)]
    if now.is_turned_between(read):
        return None  # The other axis has pulled one of them along.
    why = (
        f"{pair.first.label} {pair.first_n_cm:.1f}, {pair.second.label} {pair.second_n_cm:.1f}: "
        f"{abs(apart):.1f} apart, limit {limit:.1f}"
    )
    seqs = tuple(r.seq for r in read if r is not None)
    if not now.state.stage.takes_tightening:
        return Advice("sides-uneven", Severity.KNOW, "note it on the screen's record", why, seqs)
    axis = now.state.facts.axis_of(worst)
    target = now.state.facts.target
    lower = min(r.value_n_cm for r in read if r is not None)
    if now.state.net_clicks(low) > now.state.net_clicks(high):
        do = f"look at the rod and pawl on {low.label}, then read both sides again"
        looks = (Look(pair.first, axis), Look(pair.second, axis))
        return Advice("sides-uneven", Severity.CARE, do, why, seqs, read=looks)
    if lower + now.steps_n_cm[axis] > target.of(axis) + target.tolerance_n_cm:
        move, do = Move(high, -1), f"{high.label} roller: 1 click back"
    else:
        move, do = Move(low, 1), f"{low.label} roller: 1 click"
    return Advice("sides-uneven", Severity.CARE, do, why, seqs, (move,))


def clicks_uneven(now: Situation) -> Advice | None:
    """Opposite rollers have been turned by different amounts since tension began.

    Readings at the middle of a side hardly show this; the corners do.
    """
    if not Stage.FIRST_TENSION <= now.state.stage <= Stage.SETTLE:
        return None
    limit = now.state.practice.pair_balance_clicks
    worst = max(Pair, key=lambda p: abs(now.balance.pair(p).clicks_apart))
    pair = now.balance.pair(worst)
    apart = pair.clicks_apart
    if abs(apart) <= limit:
        return None
    low = pair.second if apart > 0 else pair.first
    high = low.opposite
    axis = now.state.facts.axis_of(worst)
    tension = now.tensions_n_cm[axis] or 0.0
    target = now.state.facts.target
    has_room = tension + now.steps_n_cm[axis] <= target.of(axis) + target.tolerance_n_cm
    run = now.state.run
    halfway = run is not None and run[0] is high and abs(apart) <= run[1]
    following = rules_plan.moves(now)[:1]
    led_to = following and following[0].station is low and following[0].clicks > 0
    heeded = run is None or run[0] is not high or halfway
    if ((halfway and has_room) or (led_to and heeded)) and abs(apart) <= pass_clicks(now.state):
        return None  # One side of a pass is done; the other comes next (``next-side``).
    why = (
        f"{pair.first.label} {clicks(pair.first_clicks)}, "
        f"{pair.second.label} {clicks(pair.second_clicks)} since slack: "
        f"{abs(apart)} apart, limit {limit:g}"
    )
    moves: tuple[Move, ...]
    if has_room:
        moves = (Move(low, min(abs(apart), 2)),)
        do = f"{low.label} roller: {clicks(moves[0].clicks)}"
    elif abs(apart) == 1:
        moves, do = (Move(high, -1),), f"{high.label} roller: 1 click back"
    else:
        half = abs(apart) // 2
        moves = (Move(high, -half), Move(low, half))
        do = f"{high.label} roller: {clicks(half)} back; {low.label} roller: {clicks(half)}"
    return Advice("clicks-uneven", Severity.CARE, do, why, now.turns(worst), moves)


def click_run(now: Situation) -> Advice | None:
    """One roller has been turned many times with none of the others in between."""
    run = now.state.run
    if run is None or not now.state.stage.takes_tightening:
        return None
    station, count = run
    limit = pass_clicks(now.state)
    opposite = station.opposite
    if count <= limit or now.state.net_clicks(opposite) >= now.state.net_clicks(station):
        return None
    do = f"{opposite.label} roller next"
    why = f"{station.label} has had {count} clicks in a row, limit {limit}"
    turns = [
        step
        for step in reversed(now.state.trail)
        if isinstance(step, Turned) and step.seq > now.state.stage_seq
    ]
    of_run = [turn.seq for turn in takewhile(lambda turn: turn.station is station, turns)]
    return Advice("click-run", Severity.CARE, do, why, tuple(reversed(of_run)))


def axes_apart(now: Situation) -> Advice | None:
    """Along and across are further apart than their targets are."""
    if not Stage.FINAL_TENSION <= now.state.stage <= Stage.CURE:
        return None
    tensions = now.tensions_n_cm
    along, across = tensions[Axis.ALONG], tensions[Axis.ACROSS]
    if along is None or across is None:
        return None
    target = now.state.facts.target
    apart = (along - target.along_n_cm) - (across - target.across_n_cm)
    limit = now.state.practice.axes_apart_n_cm
    if abs(apart) <= limit:
        return None
    low = Axis.ACROSS if apart > 0 else Axis.ALONG
    behind = target.of(low) - (across if low is Axis.ACROSS else along)
    is_behind = behind > now.steps_n_cm[low] / 2
    if now.state.stage is Stage.FINAL_TENSION and (is_behind or now.plan is not None):
        return None  # The axes take turns on the way up (``next-side``).
    why = (
        f"along {along:.1f}, across {across:.1f}: {abs(apart):.1f} out of step with their targets, "
        f"limit {limit:.1f}"
    )
    rests_on = tuple(r.seq for r in now.side_readings())
    if not now.state.stage.takes_tightening:
        do = "note it on the screen's record"
        return Advice("axes-apart", Severity.KNOW, do, why, rests_on)
    axis, way = (low, "on") if is_behind else (low.other, "back")
    sides = listed(list(ROLLERS_OF[now.state.facts.pair_of(axis)]))
    do = f"{sides}: 1 click {way} between them"
    return Advice("axes-apart", Severity.CARE, do, why, rests_on)


def spread_wide(now: Situation) -> Advice | None:
    """Over the stations read on an axis, the range or the variation is over its limit."""
    if now.state.stage < Stage.FINAL_TENSION or now.state.stage is Stage.RELEASE:
        return None
    practice = now.state.practice
    for axis in Axis:
        spread = now.balance.spread(axis)
        readings = [r for r in now.state.readings(axis) if r is not None]
        if spread is None or spread.n < 3 or spread.cv_pct is None:
            continue
        if not all(now.state.is_current(r) for r in readings):
            continue
        if spread.range > practice.range_n_cm or spread.cv_pct > practice.variation_pct:
            low = min(readings, key=lambda r: r.value_n_cm)
            high = max(readings, key=lambda r: r.value_n_cm)
            return Advice(
                "spread",
                Severity.KNOW,
                f"look at {low.station.label} and {high.station.label}, {axis.value}",
                f"{low.value_n_cm:.1f} to {high.value_n_cm:.1f}: range {spread.range:.1f} "
                f"(limit {practice.range_n_cm:.1f}), variation {spread.cv_pct:.1f} % "
                f"(limit {practice.variation_pct:.1f})",
                (low.seq, high.seq),
            )
    return None


def stale(now: Situation) -> Advice | None:
    """So many clicks, or so much time, since an axis was read that nobody knows what it holds."""
    if not now.loaded or now.state.stage.waits:
        return None
    practice = now.state.practice
    for axis in Axis:
        pair = now.state.facts.pair_of(axis)
        last = max(
            (r for r in now.state.readings(axis) if r is not None),
            key=lambda r: r.seq,
            default=None,
        )
        if last is None:
            turned = sum(abs(now.state.net_clicks(s)) for s in ROLLERS_OF[pair])
            since, what, seqs = turned, "never read", now.turns(pair)[-1:]
        else:
            since = abs(now.state.clicks_since(last))
            what, seqs = f"last read at {last.station.label}", (last.seq,)
        do = f"read {listed(list(ROLLERS_OF[pair]))}"
        looks = tuple(Look(side, axis) for side in ROLLERS_OF[pair])
        if since >= cloth.scaled_clicks(now.state, practice.stale_clicks):
            why = f"{axis.value}: {clicks(since)} since, {what}"
            return Advice("stale", Severity.DO, do, why, seqs, read=looks)
        if last is not None and now.now_s - last.at_s > 60 * practice.stale_min:
            minutes = (now.now_s - last.at_s) / 60
            why = f"{axis.value}: {what} {_ago(minutes)} ago"
            return Advice("stale", Severity.DO, do, why, seqs, read=looks)
    return None


def _ago(minutes: float) -> str:
    if minutes < 120:
        return f"{minutes:.0f} min"
    return f"{minutes / 60:.0f} h" if minutes < 48 * 60 else f"{minutes / 60 / 24:.0f} days"
