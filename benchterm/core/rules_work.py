"""Rules about the work: questions, cautions, waits, the next side, the next step."""

from __future__ import annotations

from benchterm.core.advice import Advice, Severity
from benchterm.core.gates import (
    minutes_and_seconds,
    open_checks,
    open_items,
    stage_checks,
    wait_min,
)
from benchterm.core.situation import Situation, clicks, listed
from benchterm.core.stages import Stage
from benchterm.core.stations import CORNERS, ROLLERS, ROLLERS_OF, Axis, Pair, Station

_MOST_CLICKS = 2
"""Clicks advised on one roller before its opposite is turned (common practice: few a pass)."""


def question(now: Situation) -> Advice | None:
    """The bench has asked something and waits for the answer."""
    held, way_on = now.state.held, now.state.way_on
    if held is not None:
        return Advice(
            "question",
            Severity.CARE,
            f"{held.value_n_cm:.1f} at {held.station.label}, {held.axis.value}: keep it? yes or no",
            f"expected about {held.expected_n_cm:.1f}",
            (held.seq,),
        )
    if way_on is not None:
        return Advice(
            "question",
            Severity.CARE,
            f"a reason for going on to {way_on.to.label}, or no to stay",
            f"still open: {'; '.join(way_on.open_items)}",
            (way_on.seq,),
        )
    return None


def caution(now: Situation) -> Advice | None:
    """A caution of this stage has not been acknowledged."""
    waiting = [c for c in open_checks(now.state) if c.caution]
    if not waiting:
        return None
    total = sum(c.caution for c in stage_checks(now.state))
    number = total - len(waiting) + 1
    why = f"caution {number} of {total}, to acknowledge one by one"
    return Advice("caution", Severity.CARE, waiting[0].text, why, (now.state.stage_seq,))


def wait(now: Situation) -> Advice | None:
    """A wait is to be started, is running, or is over."""
    state = now.state
    if not state.stage.waits:
        return None
    timer = state.timer
    minutes = wait_min(state)
    by_sheet = state.stage is Stage.CURE and state.briefing.cure_min is not None
    whose = "the glue's data sheet" if by_sheet else "the shop's table"
    if timer is None or timer.stage is not state.stage:
        why = f"{state.stage.label}: {minutes:g} min by {whose}"
        return Advice("wait", Severity.DO, "start the timer", why, (state.stage_seq,))
    left_s = timer.left_s(now.now_s)
    if left_s > 0:
        do = f"wait {minutes_and_seconds(left_s)}"
        why = f"{state.stage.label}: {timer.minutes:g} min were set"
        return Advice("wait", Severity.KNOW, do, why, (timer.seq,))
    if state.stage is Stage.SETTLE and not _read_since(now, timer.seq):
        why = f"{timer.minutes:g} min have passed: see what it has lost"
        return Advice("wait", Severity.DO, f"read {listed(list(ROLLERS))}", why, (timer.seq,))
    return None


def _read_since(now: Situation, seq: int) -> bool:
    return any(r.seq > seq for r in now.side_readings())


def relief_look(now: Situation) -> Advice | None:
    """Corner relief: the corners have not been read since the last clicks."""
    if now.state.stage is not Stage.CORNER_RELIEF:
        return None
    fresh = {r.station for r in now.corner_readings() if now.state.is_current(r)}
    unread = [c for c in CORNERS if c not in fresh]
    if len(fresh) >= 2 or now.state.relieved:
        return None
    why = f"{len(fresh)} of 4 corners read since the last click"
    return Advice("relief-look", Severity.DO, f"read {listed(unread)}", why, _seqs(now))


def next_side(now: Situation) -> Advice | None:
    """Which roller to turn next and by how much: the axis furthest behind, lagging side first."""
    state = now.state
    if state.stage is Stage.SLACK:
        return _next_slack(now)
    if state.stage not in (Stage.FIRST_TENSION, Stage.FINAL_TENSION):
        return None
    wants = {pair: _want_n_cm(now, pair) for pair in Pair}
    pair = max(Pair, key=lambda p: wants[p])
    halfway = state.run[0].pair if state.run else None
    if halfway and now.balance.pair(halfway).clicks_apart and wants[halfway] > 0:
        pair = halfway  # The opposite side of a pass comes before the other axis.
    axis = state.facts.axis_of(pair)
    step = now.steps_n_cm[axis]
    want = wants[pair]
    if want <= step / 2:
        return None
    first, second = ROLLERS_OF[pair]
    tension = now.tensions_n_cm[axis]
    if tension is None and sum(state.net_clicks(s) for s in (first, second)) >= 2 * _MOST_CLICKS:
        do, why = f"read {listed([first, second])}", f"{axis.value} has not been read yet"
        return Advice("next-side", Severity.DO, do, why)
    roller = now.lagging(pair)
    behind = state.net_clicks(roller.opposite) - state.net_clicks(roller)
    number = min(behind, round(want / step)) if behind else int(want / step / 2)
    number = max(1, min(number, _MOST_CLICKS))
    have = "unread" if tension is None else f"about {tension:.1f}"
    why = f"{axis.value} {have}, going for {now.aim_n_cm(axis):.1f}; one click gives {step:.1f}"
    do = f"{roller.label} roller: {clicks(number)}"
    return Advice("next-side", Severity.DO, do, why, _seqs(now))


def _want_n_cm(now: Situation, pair: Pair) -> float:
    axis = now.state.facts.axis_of(pair)
    return now.aim_n_cm(axis) - (now.tensions_n_cm[axis] or 0.0)


def _next_slack(now: Situation) -> Advice | None:
    """While there is slack: whichever roller has had the fewest clicks."""
    fewest = min(ROLLERS, key=lambda s: (now.state.clicks[s], ROLLERS.index(s)))
    most = max(now.state.clicks[s] for s in ROLLERS)
    if most > 0 and now.state.clicks[fewest] == most:
        return None
    why = f"it has had {clicks(now.state.clicks[fewest])}, the most any has had is {most}"
    return Advice("next-side", Severity.DO, f"{fewest.label} roller: 1 click", why)


def settle(now: Situation) -> Advice | None:
    """Final tension is reached on both axes: time to let it settle."""
    state = now.state
    if state.stage is not Stage.FINAL_TENSION:
        return None
    sides = now.side_readings()
    if len(sides) < len(ROLLERS) or not all(state.is_current(r) for r in sides):
        return None
    target = state.facts.target
    reach = {a: max(target.tolerance_n_cm, now.steps_n_cm[a] / 2) for a in Axis}
    if any(abs(r.value_n_cm - target.of(r.axis)) > reach[r.axis] for r in sides):
        return None
    off = max(abs(r.value_n_cm - target.of(r.axis)) for r in sides)
    why = f"all four sides read, none more than {off:.1f} from its target"
    if off > target.tolerance_n_cm:
        why += f": as near as whole clicks of {max(now.steps_n_cm.values()):.1f} come"
    return Advice("settle", Severity.DO, "let it settle", why, tuple(r.seq for r in sides))


def check(now: Situation) -> Advice | None:
    """The next line of the check-list."""
    waiting = [c for c in open_checks(now.state) if not c.caution]
    if not waiting:
        return None
    every = stage_checks(now.state)
    why = f"check {every.index(waiting[0]) + 1} of {len(every)}"
    return Advice("check", Severity.DO, waiting[0].text, why, (now.state.stage_seq,))


def go_on(now: Situation) -> Advice | None:
    """Nothing of this stage is open."""
    state = now.state
    if state.closed or open_items(state, now.now_s):
        return None
    following = state.stage.next
    seqs = (state.stage_seq,) if state.stage_seq else ()
    if following is None:
        return Advice("go-on", Severity.DO, "next: close the record", "the screen is done", seqs)
    why = "every line of this stage is done"
    return Advice("go-on", Severity.DO, f"next: {following.label}", why, seqs)


def _seqs(now: Situation) -> tuple[int, ...]:
    return tuple(r.seq for r in now.side_readings())


def centre_unread(now: Situation) -> Advice | None:
    """Off the stretcher, the centre has not been read."""
    if now.state.stage is not Stage.READ_AGAIN:
        return None
    unread = [
        axis.value
        for axis in Axis
        if (r := now.state.reading(Station.CENTRE, axis)) is None or r.seq < now.state.stage_seq
    ]
    if not unread:
        return None
    why = "what the frame and the cut have taken shows only here"
    return Advice("read-off", Severity.DO, f"read centre {' and '.join(unread)}", why)
