"""The table of rules, and what they advise over any intents at all."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import facts, intents
from worked import at, say

from benchterm.core import (
    rules_clicks,
    rules_corner,
    rules_glue,
    rules_plan,
    rules_settling,
    rules_tension,
    rules_work,
)
from benchterm.core.advice import Severity
from benchterm.core.advise import advise
from benchterm.core.facts import Facts, Mesh
from benchterm.core.intents import Answer, Close, Go, Read, Tick, Turn
from benchterm.core.practice import COMMON_PRACTICE, DILUTION, OUR_CHOICE, SIMULATED, Practice
from benchterm.core.rules import RULES
from benchterm.core.stages import Stage
from benchterm.core.state import State
from benchterm.core.stations import ROLLERS

FAR, NEAR, LEFT, RIGHT = ROLLERS
CODES = [rule.code for rule in RULES]


def much_out_of_order():
    """A side over ceiling and target, uneven clicks, and a reading asked back."""
    bench = at(Stage.FINAL_TENSION, Tick(), Tick(), facts=Facts(mesh=Mesh(ceiling_n_cm=23)))
    for intent in (Turn(FAR, 5), Read(FAR, 26), Answer(yes=True), Read(NEAR, 25), Read(FAR, 60)):
        say(bench, intent)
    return bench.state


def codes(state, rules_off=frozenset()):
    return [a.code for a in advise(state, state.at_s, rules_off)]


# The table.


def test_codes_are_unique_and_plain():
    assert len(set(CODES)) == len(CODES)
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", code) for code in CODES)


@pytest.mark.parametrize("rule", RULES, ids=CODES)
def test_every_row_says_when_it_speaks_and_by_which_numbers(rule):
    assert rule.speaks_when
    assert set(rule.limits) <= {row.name for row in Practice().rows()}
    assert rule.source in (COMMON_PRACTICE, OUR_CHOICE, SIMULATED, DILUTION)


@pytest.mark.parametrize("rule", RULES, ids=CODES)
def test_every_rule_is_in_a_room_whose_examples_are_checked(rule):
    # test_rule_of_corners and the tests named after the other rooms hold an example of each.
    rooms = (
        rules_clicks,
        rules_corner,
        rules_glue,
        rules_plan,
        rules_settling,
        rules_tension,
        rules_work,
    )
    assert rule.find.__module__ in [room.__name__ for room in rooms]


def test_severities_rank_and_are_told_apart_without_colour():
    assert [s.value for s in Severity] == ["stop", "care", "do", "know"]
    assert [s.rank for s in Severity] == [0, 1, 2, 3]
    assert len({s.symbol for s in Severity}) == 4
    assert all(len(s.symbol) == 1 for s in Severity)


def test_most_important_first_and_in_the_order_of_the_table():
    state = much_out_of_order()
    said = advise(state, state.at_s)
    assert [(a.severity.value, a.code) for a in said][:3] == [
        ("stop", "ceiling"),
        ("care", "question"),
        ("care", "over-target"),
    ]
    ranks = [(a.severity.rank, CODES.index(a.code)) for a in said]
    assert ranks == sorted(ranks)


def test_the_shop_can_switch_rules_off():
    state = much_out_of_order()
    rest = [code for code in codes(state) if code != "ceiling"]
    assert codes(state, frozenset({"ceiling"})) == rest


def test_questions_and_cautions_cannot_be_switched_off():
    fixed = [r.code for r in RULES if not r.can_be_switched_off]
    assert fixed == ["question", "caution", "closed-gate"]
    assert codes(at(Stage.SLACK, Go()).state, frozenset(CODES)) == ["question", "caution"]


def test_a_new_bench_has_something_to_say():
    assert advise(State(), 0)[0].do


@pytest.mark.parametrize("stage", [Stage.FIRST_TENSION, Stage.DONE])
def test_a_closed_record_asks_nobody_for_anything(stage):
    assert advise(at(stage).state, 0)
    assert advise(at(stage, Close()).state, 0) == ()


# Over any intents at all.


@given(
    facts,
    st.sampled_from([s for s in Stage if s.takes_tightening]),
    st.lists(intents, min_size=15, max_size=50),
    st.floats(0, 1e5),
    st.frozensets(st.sampled_from(CODES)),
)
def test_advice_is_always_sound(facts, stage, asked, later_s, rules_off):
    bench = at(stage, facts=facts)
    for intent in asked:
        say(bench, intent)
    now_s = bench.state.at_s + later_s
    said = advise(bench.state, now_s)

    assert said == advise(bench.state, now_s)
    ranks = [(a.severity.rank, CODES.index(a.code)) for a in said]
    assert ranks == sorted(set(ranks))
    stays = {r.code for r in RULES if not r.can_be_switched_off or r.code not in rules_off}
    assert advise(bench.state, now_s, rules_off) == tuple(a for a in said if a.code in stays)

    happened = {e.seq for e in bench._recorder.events}
    for advice in said:
        assert advice.do.strip()
        assert advice.why.strip()
        words = set(re.findall(r"[a-z]+", f"{advice.do} {advice.why}".lower()))
        assert words.isdisjoint({"safe", "safely", "nan", "inf"})
        assert not re.search(r"\bNone\b|\b0 clicks\b|\b0 mm\b", advice.do)
        assert set(advice.rests_on) <= happened
        assert len(set(advice.rests_on)) == len(advice.rests_on)
