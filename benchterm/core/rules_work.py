"""Rules about the work: questions, cautions, waits, corners to look at, the next step."""

from __future__ import annotations

from collections import Counter

from benchterm.core.advice import Advice, Look, Severity
from benchterm.core.gates import (
    minutes_and_seconds,
    open_checks,
    open_items,
    stage_checks,
    wait_min,
)
from benchterm.core.settling import last_turn_s
from benchterm.core.situation import Situation, listed
from benchterm.core.stages import Stage
from benchterm.core.state import Reading
from benchterm.core.stations import CORNERS, Axis, Station

_LATE_READINGS = 2
"""On each axis."""
_LATE_S = 60.0
"""A reading so soon before the wait is over counts as taken after it."""


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
        then = ", then read the centre" if state.stage is Stage.SETTLE else ""
        why = f"{state.stage.label}: {timer.minutes:g} min were set{then}"
        return Advice("wait", Severity.KNOW, do, why, (timer.seq,))
    if state.stage is Stage.SETTLE:
        late_s = timer.started_s + 60 * timer.minutes - _LATE_S
        return _late_look(now, timer.seq, max(late_s, last_turn_s(state)))
    return None


def _late_look(now: Situation, seq: int, from_s: float) -> Advice | None:
    """The centre, twice each way, when the wait is over, and again after a top-up.

    Of the readings that can be taken in a quarter of an hour the last ones tell tomorrow's tension
    best, and at the centre better than at the sides (``tests/benchmarks/bench_settling.py``).
    """
    taken = Counter(
        step.axis
        for step in now.state.trail
        if isinstance(step, Reading) and step.station is Station.CENTRE and step.at_s >= from_s
    )
    left = {axis: n for axis in Axis if (n := _LATE_READINGS - taken[axis]) > 0}
    if not left:
        return None
    times = " and ".join(f"{'twice' if n > 1 else 'once'} {a.value}" for a, n in left.items())
    looks = [
        Look(Station.CENTRE, a) for turn in range(_LATE_READINGS) for a in left if turn < left[a]
    ]
    why = "the wait is over: late readings tell tomorrow's tension best"
    return Advice("wait", Severity.DO, f"read centre {times}", why, (seq,), read=tuple(looks))


def relief_look(now: Situation) -> Advice | None:
    """Corner relief: two opposite corners and the centre, both axes, not read since the clicks."""
    state = now.state
    if state.stage is not Stage.CORNER_RELIEF or state.relieved:
        return None
    fresh = {r.station for r in now.corner_readings() if state.is_current(r)}
    first = next((c for c in CORNERS if c in fresh), CORNERS[0])
    wanted = [(s, axis) for s in (first, first.opposite, Station.CENTRE) for axis in Axis]
    looks = tuple(
        Look(station, axis)
        for station, axis in wanted
        if (r := state.reading(station, axis)) is None or not state.is_current(r)
    )
    if not looks:
        return None
    unread = list(dict.fromkeys(look.station for look in looks))
    do = f"read {listed(unread)}, along and across"
    why = f"{len(wanted) - len(looks)} of {len(wanted)} read since the last click"
    seqs = tuple(r.seq for r in now.side_readings())
    return Advice("relief-look", Severity.DO, do, why, seqs, read=looks)


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
    if open_items(state, now.now_s):
        return None
    following = state.stage.next
    seqs = (state.stage_seq,) if state.stage_seq else ()
    if following is None:
        return Advice("go-on", Severity.DO, "next: close the record", "the screen is done", seqs)
    why = "every line of this stage is done"
    return Advice("go-on", Severity.DO, f"next: {following.label}", why, seqs)


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
