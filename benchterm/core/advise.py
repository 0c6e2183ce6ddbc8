"""``advise``: what to do now. Pure: the same state at the same time gives the same advice."""

from __future__ import annotations

from benchterm.core.advice import Advice
from benchterm.core.fold import rested
from benchterm.core.rules import RULES
from benchterm.core.situation import Situation
from benchterm.core.state import State


def advise(
    state: State, now_s: float, rules_off: frozenset[str] = frozenset()
) -> tuple[Advice, ...]:
    """Every piece of advice that applies at a session time, most important first; none once closed.

    ``rules_off`` holds codes of rules the shop has switched off; those about questions and cautions
    cannot be.
    """
    if state.closed:
        return ()
    situation = Situation(rested(state, now_s), now_s)
    given = [
        advice
        for rule in RULES
        if not (rule.can_be_switched_off and rule.code in rules_off)
        and (advice := rule.find(situation)) is not None
    ]
    return tuple(sorted(given, key=lambda advice: advice.severity.rank))
