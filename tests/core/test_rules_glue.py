"""Rules about glue, and the air budget of a session."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from worked import moment, say

from benchterm.core.advice import Severity
from benchterm.core.advise import advise
from benchterm.core.air_budget import air_budget, waiting
from benchterm.core.bench import Bench, InMemory
from benchterm.core.cautions import Briefing, Vapour
from benchterm.core.events import SessionOpened, Source, StageEntered
from benchterm.core.facts import Facts
from benchterm.core.intents import Go, GoBack, StartTimer, Tick
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage

ACETONE = Vapour("acetone", 3.3678, 250, "NIOSH TWA 1994", 2.5)
"""8 g: 56.13 ppm in 60 m3, 13.47 % of the lower explosive limit in 1 m3 (computed by hand)."""
ROOM = Practice(room_m3=60, room_air_m3_h=360, room_mixing=3, pocket_m3=1)


def gluing(briefing, practice=ROOM, stage=Stage.ADHESIVE, cautions=True):
    """A bench that has entered a stage, with its cautions acknowledged."""
    bench = Bench(InMemory())
    opened = SessionOpened("s1", "bench", "0", Facts(), practice, briefing)
    bench.note((opened,), moment(0), Source.BENCH)
    bench.note((StageEntered(stage),), moment(0), Source.BENCH)
    while cautions and any(a.code == "caution" for a in advise(bench.state, bench.state.at_s)):
        bench.take(Tick(), moment(0), Source.KEYPAD)
    return bench


def told(bench, code, after_s=0.0):
    """What a rule advises: how much it matters, what to do, why, and what it rests on."""
    for one in advise(bench.state, bench.state.at_s + after_s):
        if one.code == code:
            return one.severity, one.do, one.why, one.rests_on
    return None


def test_air_just_after_gluing():
    budget = air_budget(gluing(Briefing(vapours=(ACETONE,))).state, 0)
    assert budget.index == pytest.approx(56.13 / 250, abs=1e-4)
    assert round(budget.pocket_lel_pct, 2) == 13.47
    assert budget.day_share == 0
    assert budget.wait_h == 0
    assert budget.worst is ACETONE


def test_air_clears():
    """From 56.13 to 25 ppm in 24.264 min."""
    state = gluing(Briefing(vapours=(ACETONE,))).state
    assert air_budget(state, 24.264 * 60).index == pytest.approx(25 / 250, rel=1e-4)


def test_a_day_is_used_up_by_what_is_breathed():
    """All of it gone by: (C0 / n) / (8 h x limit), n = 360 / (3 x 60) = 2 an hour."""
    budget = air_budget(gluing(Briefing(vapours=(ACETONE,))).state, 1e6)
    assert budget.day_share == pytest.approx(56.13 / 2 / (8 * 250), rel=1e-4)


def test_no_fresh_air_is_told_and_never_clears():
    still = replace(ROOM, room_air_m3_h=0)
    strict = replace(ACETONE, limit_ppm=20)
    bench = gluing(Briefing(vapours=(strict,)), replace(still, pocket_m3=100))
    budget = air_budget(bench.state, 3600)
    assert budget.index == pytest.approx(56.13 / 20, rel=1e-4)
    assert math.isinf(budget.wait_h)
    assert "no end without fresh air" in told(bench, "air")[1]


def test_every_visit_counts_and_an_undone_one_does_not():
    bench = gluing(Briefing(vapours=(ACETONE,)))
    once = air_budget(bench.state, bench.state.at_s).index
    say(bench, GoBack())
    say(bench, Go(Stage.ADHESIVE, "told to"))
    assert air_budget(bench.state, bench.state.at_s).index == pytest.approx(2 * once, rel=0.01)


def test_nothing_glued_or_nothing_known_is_no_budget():
    known = Briefing(vapours=(ACETONE,))
    assert air_budget(gluing(known, stage=Stage.SETTLE).state, 0) is None
    assert air_budget(gluing(Briefing()).state, 0) is None
    assert air_budget(gluing(Briefing(vapours=(replace(ACETONE, litres=0.0),))).state, 0) is None


def test_air_by_the_bench_near_burning_wants_care():
    bench = gluing(Briefing(vapours=(ACETONE,)))
    assert told(bench, "air") == (
        Severity.CARE,
        "more air by the bench, no spark: up to 13 % LEL there",
        "air about 22 % of the limit, mostly acetone; 0 % of a day's allowance used; "
        "by the bench up to 13 % LEL",
        (2,),
    )


def test_air_within_its_limits_is_only_shown():
    bench = gluing(Briefing(vapours=(ACETONE,)), replace(ROOM, pocket_m3=2))
    assert told(bench, "air")[:2] == (Severity.KNOW, "keep air moving out of the room")


def test_air_over_its_limit_wants_a_wait():
    """56.13 ppm against 20: (3 x 60 / 360) ln(2.81) h = 31 min."""
    strict = replace(ACETONE, limit_ppm=20)
    bench = gluing(Briefing(vapours=(strict,)), replace(ROOM, pocket_m3=2))
    assert told(bench, "air")[:2] == (
        Severity.CARE,
        "open up, run the fan; no more glue for 31 min",
    )
    say(bench, Go(Stage.CUT_OUT, "told to"))
    assert told(bench, "air")[0] is Severity.KNOW
    assert told(bench, "air", after_s=6 * 3600) is None


def test_a_day_used_up_ends_gluing_for_today():
    strict = replace(ACETONE, limit_ppm=0.5)
    bench = gluing(Briefing(vapours=(strict,)), replace(ROOM, pocket_m3=2))
    assert told(bench, "air", after_s=7200)[1].endswith("no more glue today in this air")


def test_a_room_left_at_its_default_figures_is_said():
    bench = gluing(Briefing(vapours=(ACETONE,)), Practice())
    assert told(bench, "air")[2].endswith("the room's own figures are not set")


@pytest.mark.parametrize(
    ("hours", "words"),
    [(0, "0 min"), (0.001, "1 min"), (1.5, "90 min"), (2.04, "2.0 h"),
     (math.inf, "no end without fresh air")],
)  # fmt: skip
def test_waits_in_words(hours, words):
    assert waiting(hours) == words


@given(
    st.floats(0, 1e5), st.floats(1e-6, 50), st.floats(0, 1e4), st.floats(3, 1e4), st.floats(1, 10)
)
def test_the_budget_never_falls_below_nothing_and_what_is_used_is_never_given_back(
    later_s, litres, flow, volume, mixing
):
    practice = Practice(room_m3=volume, room_air_m3_h=flow, room_mixing=mixing)
    state = gluing(Briefing(vapours=(replace(ACETONE, litres=litres),)), practice).state
    first, second = air_budget(state, later_s), air_budget(state, later_s + 60)
    assert 0 <= second.index <= first.index
    assert 0 <= first.day_share <= second.day_share * (1 + 1e-12)
    assert first.pocket_lel_pct >= 0


CLOSED = Briefing(closed=("Old thinner holds dichloromethane: restricted.",))


def test_a_closed_gate_is_told_in_time():
    for stage, severity in ((Stage.PREPARE, Severity.KNOW), (Stage.SETTLE, Severity.CARE)):
        assert told(gluing(CLOSED, stage=stage), "closed-gate") == (
            severity,
            "mend the product file or choose other products: no glue with these",
            "Old thinner holds dichloromethane: restricted.",
            (),
        )
    assert told(gluing(CLOSED, stage=Stage.CURE), "closed-gate") is None
    assert told(gluing(Briefing(), stage=Stage.SETTLE), "closed-gate") is None


def test_open_time_is_timed_by_the_data_sheet():
    bench = gluing(Briefing(open_min=3), cautions=False)
    assert told(bench, "open-time") is None
    bench = gluing(Briefing(open_min=3))
    why = "open time 3 min by its data sheet"
    assert told(bench, "open-time") == (
        Severity.DO,
        "start the timer with the first glue",
        why,
        (2,),
    )
    say(bench, StartTimer())
    started = (bench.state.last_seq,)
    assert told(bench, "open-time", after_s=50) == (
        Severity.KNOW,
        "glue stays workable 2:10, then activator by sections",
        why,
        started,
    )
    over = (Severity.CARE, "open time is over: spread no more", why, started)
    assert told(bench, "open-time", after_s=180) == over
    assert told(gluing(Briefing()), "open-time") is None
