"""Rules about clicks that readings do not bear out: lost by a slipping pawl or rod, or not called.

Found by the estimator. Which of two opposite sides it is cannot be told from readings.
"""

from __future__ import annotations

from benchterm.core import cloth
from benchterm.core.advice import Advice, Severity
from benchterm.core.estimate import AXES
from benchterm.core.situation import Situation, clicks, listed
from benchterm.core.stations import ROLLERS_OF, Pair


def clicks_lost(now: Situation) -> Advice | None:
    """The latest clicks of a pair give much less than the ones before, or some gave nothing."""
    if not now.tensioning or now.estimate is None:
        return None
    fit, steps = now.estimate.fit, now.estimate.history.steps
    slip = fit.slipping
    if slip is not None and slip.is_suspected:
        made = int(steps[slip.direction].own[slip.step :].clip(min=0).sum())
        why = f"the last {clicks(made)} gave about {100 * slip.share:.0f} % less than they should"
        return _look(now, slip.direction, why)
    for found in fit.uncalled:
        number = round(-found.mm / cloth.click_mm(now.state))
        if number > 0 and found.step > 0:
            why = f"{clicks(number)} of those called do not show in the readings"
            return _look(now, found.direction, why)
    return None


def clicks_uncalled(now: Situation) -> Advice | None:
    """Readings show more take-up than was called."""
    if not now.tensioning or now.estimate is None:
        return None
    for found in now.estimate.fit.uncalled:
        number = round(found.mm / cloth.click_mm(now.state))
        if number > 0 and found.step > 0:
            pair = _pair(now, found.direction)
            do = f"think back: were clicks on {listed(list(ROLLERS_OF[pair]))} not called?"
            why = f"readings show about {clicks(number)} more than were called; it is allowed for"
            return Advice("clicks-uncalled", Severity.CARE, do, why, now.turns(pair))
    return None


def _look(now: Situation, direction: int, why: str) -> Advice:
    pair = _pair(now, direction)
    do = f"look at pawl and rod on {listed(list(ROLLERS_OF[pair]))}"
    return Advice("clicks-lost", Severity.CARE, do, why, now.turns(pair))


def _pair(now: Situation, direction: int) -> Pair:
    return now.state.facts.pair_of(AXES[direction])
