"""The gate before the adhesive: no way past its cautions without each acknowledged, or a reason.

A state machine works a bench at random, resumes it, leaves it alone and changes its glue, and
keeps by itself what has been acknowledged since it last had to be asked. It knows nothing of
windows, ids or folding.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule
from worked import moment, say

from benchterm.core.bench import Bench, InMemory
from benchterm.core.cautions import GENERAL, VERSION, Briefing
from benchterm.core.events import (
    CheckTicked,
    ProductsChosen,
    SessionOpened,
    SessionResumed,
    Source,
    StageEntered,
    Undone,
)
from benchterm.core.facts import Facts
from benchterm.core.fold import fold_all, rested
from benchterm.core.gates import open_checks, open_items, stage_checks
from benchterm.core.intents import (
    Answer,
    Choose,
    Go,
    GoBack,
    Note,
    Redo,
    StartTimer,
    Tick,
    Undo,
)
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage
from benchterm.safety.briefing import briefing_for

TODAY = date(2026, 3, 2)
SETTLE, ADHESIVE, CURE, CUT_OUT = Stage.SETTLE, Stage.ADHESIVE, Stage.CURE, Stage.CUT_OUT
PRACTICE = Practice(settle_min=0.1, cure_min=0.1, caution_break_min=30)
INSTANT = briefing_for(["demo-bond", "demo-spray"], PRACTICE, TODAY)
TWO_PART = briefing_for(["demo-two-part", "demo-hardener"], PRACTICE, TODAY)
CLOSED = replace(INSTANT, closed=("The file cannot be read.",))


def bench_at(stage=ADHESIVE, briefing=INSTANT, operator="Ada"):
    bench = Bench(InMemory())
    opened = SessionOpened("s1", "bench", "0", Facts(operator=operator), PRACTICE, briefing)
    bench.note((opened,), moment(0), Source.BENCH)
    bench.note((StageEntered(stage),), moment(0), Source.BENCH)
    return bench


def cautions_open(state):
    return [c.id for c in open_checks(state) if c.caution]


def acknowledge(bench, how_many=99):
    while cautions_open(bench.state) and how_many:
        assert isinstance(say(bench, Tick()), list)
        how_many -= 1


def finish(bench):
    while open_checks(bench.state):
        say(bench, Tick())


def choose(bench, briefing):
    bench.note([ProductsChosen(("x",), briefing)], moment(bench.state.at_s + 1), Source.KEYPAD)


# One way past after the other.


def test_the_cautions_are_those_of_the_very_products():
    said = [c.text for c in stage_checks(bench_at().state) if c.caution]
    assert said == [c.text for c in INSTANT.cautions]
    assert said[0] == "Safety data sheets read: Demo thick bond and Demo quick spray."
    assert not any("socyanate" in text for text in said)
    said = " ".join(c.text for c in stage_checks(bench_at(briefing=TWO_PART).state))
    assert "Isocyanate" in said
    assert "instant glue" not in said


def test_with_no_product_named_every_general_caution_is_asked():
    said = [c.text for c in stage_checks(bench_at(briefing=Briefing()).state) if c.caution]
    assert said == [c.text for c in GENERAL]


def test_an_acknowledgement_says_what_in_which_words_and_by_whom():
    (ticked,) = say(bench_at(), Tick())
    first = INSTANT.cautions[0]
    assert ticked == CheckTicked(
        ADHESIVE, f"adhesive.caution.{first.id}", first.text, VERSION, "Ada"
    )


def test_the_way_on_is_held_until_each_is_acknowledged():
    bench = bench_at()
    for left in range(len(INSTANT.cautions), 0, -1):
        assert len(cautions_open(bench.state)) == left
        asked = say(bench, Go())[0]
        assert [c.text for c in INSTANT.cautions[-left:]] == list(asked.open_items[:left])
        say(bench, Answer(yes=False))
        say(bench, Tick())
    finish(bench)
    assert say(bench, Go()) == [StageEntered(CURE)]


def test_going_on_without_takes_a_reason_that_is_kept():
    bench = bench_at()
    say(bench, Go())
    assert say(bench, Answer(yes=True)) == (
        "A reason is needed: choose its number, or note it in words."
    )
    entered = say(bench, Note("told to by the foreman"))[-1]
    assert entered.reason == "told to by the foreman"
    assert entered.passed_over[0] == INSTANT.cautions[0].text
    assert bench.state.slipped == ()


def test_undoing_an_acknowledgement_asks_again():
    bench = bench_at()
    acknowledge(bench)
    say(bench, Undo())
    assert cautions_open(bench.state) == [f"adhesive.caution.{INSTANT.cautions[-1].id}"]


def test_an_acknowledgement_is_not_undone_behind_the_gate():
    bench = bench_at()
    finish(bench)
    say(bench, Go())
    ticks = len(stage_checks(bench.state, ADHESIVE))
    refused = say(bench, Undo(back=ticks + 1))
    assert refused == ("That would leave cautions behind unasked: go back to their stage instead.")
    assert isinstance(say(bench, Undo(back=2)), list), "a plain check may be"


def test_redo_does_not_lead_past_either():
    bench = bench_at()
    finish(bench)
    say(bench, Go())
    say(bench, Undo())
    assert bench.state.stage is ADHESIVE
    bench.note([SessionResumed("0", 60)], moment(bench.state.at_s + 60), Source.BENCH)
    assert say(bench, Redo()) == (
        "That would lead past the cautions of the adhesive: say next instead."
    )
    assert bench.state.stage is ADHESIVE


def test_undoing_a_way_back_does_not_lead_past_other_glue():
    bench = bench_at()
    finish(bench)
    say(bench, Go())
    say(bench, Go(SETTLE))
    choose(bench, TWO_PART)
    assert isinstance(say(bench, Undo()), str)
    assert bench.state.stage is SETTLE


def test_resuming_asks_again():
    bench = bench_at()
    acknowledge(bench)
    bench.note([SessionResumed("0", 60)], moment(bench.state.at_s + 60), Source.BENCH)
    assert len(cautions_open(bench.state)) == len(INSTANT.cautions)


def test_coming_back_asks_again():
    bench = bench_at()
    acknowledge(bench)
    say(bench, GoBack())
    finish(bench)
    say(bench, Go(reason="told to"))
    assert len(cautions_open(bench.state)) == len(INSTANT.cautions)


@pytest.mark.parametrize(("minutes", "asked"), [(29.9, False), (30.1, True)])
def test_after_a_break_they_are_asked_again(minutes, asked):
    bench = bench_at()
    finish(bench)
    said = say(bench, Go(), after_s=60 * minutes)
    assert isinstance(said[0], StageEntered) != asked
    assert bool(cautions_open(rested(bench.state, bench.state.at_s))) == asked


def test_a_break_is_not_undone():
    bench = bench_at()
    finish(bench)
    say(bench, Note("back from lunch"), after_s=3600)
    say(bench, Undo())
    assert len(cautions_open(bench.state)) == len(INSTANT.cautions)


def test_other_glue_asks_again_and_cannot_be_undone():
    bench = bench_at()
    finish(bench)
    choose(bench, TWO_PART)
    assert len(cautions_open(bench.state)) == len(TWO_PART.cautions)
    say(bench, Undo())
    assert bench.state.briefing == TWO_PART
    assert cautions_open(bench.state)


def test_a_closed_gate_takes_no_reason():
    refused = "No way on to adhesive: The file cannot be read. Mend that or choose other products."
    bench = bench_at(SETTLE, CLOSED)
    assert say(bench, Go(ADHESIVE, "told to")) == refused
    for to in (CURE, CUT_OUT, Stage.DONE):
        assert say(bench, Go(to, "told to")) == refused.replace("adhesive", to.label)
    choose(bench, INSTANT)
    assert isinstance(say(bench, Go(ADHESIVE, "told to")), list)


def test_a_gate_that_closes_while_gluing_lets_nobody_on_but_back():
    bench = bench_at()
    finish(bench)
    choose(bench, CLOSED)
    acknowledge(bench)
    assert isinstance(say(bench, Go(CURE, "told to")), str)
    assert isinstance(say(bench, GoBack()), list)


def test_a_gate_that_closes_after_gluing_keeps_nobody_at_the_glue():
    bench = bench_at(CURE)
    choose(bench, CLOSED)
    assert isinstance(say(bench, Go(CUT_OUT, "told to")), list)


def test_replaying_gives_the_same_gate():
    bench = bench_at()
    acknowledge(bench, 3)
    kept = bench._recorder.events
    for stop in range(len(kept) + 1):
        state = fold_all(kept[:stop])
        if state.stage is ADHESIVE:
            assert len(cautions_open(state)) == len(INSTANT.cautions) - (stop - 2)


def test_a_journal_that_skips_them_shows_it():
    bench = bench_at()
    bench.note((StageEntered(CURE),), moment(5), Source.BENCH)
    assert len(bench.state.slipped) == len(INSTANT.cautions)
    bench = bench_at(SETTLE)
    acknowledge(bench)
    bench.note((StageEntered(CURE),), moment(5), Source.BENCH)
    assert bench.state.slipped == ("whole stage: adhesive",)


# The waits that follow.


def test_cut_out_waits_for_the_cure_of_the_data_sheet():
    bench = bench_at(CURE, replace(INSTANT, cure_min=20))
    finish(bench)
    say(bench, StartTimer())
    assert open_items(bench.state, bench.state.at_s + 1199.5) == (
        "the wait is not over: 0:01 left",
    )
    assert open_items(bench.state, bench.state.at_s + 1200) == ()


def test_a_cure_timed_shorter_is_still_open():
    bench = bench_at(CURE, replace(INSTANT, cure_min=20))
    finish(bench)
    say(bench, StartTimer(5))
    assert open_items(bench.state, bench.state.at_s + 300) == ("5 min timed, the cure takes 20",)
    assert open_items(bench.state, bench.state.at_s + 1200) == ()


def test_without_a_figure_of_its_own_the_shops_table_counts():
    bench = bench_at(CURE, Briefing())
    assert say(bench, StartTimer())[0].minutes == PRACTICE.cure_min


def test_new_glue_cures_anew():
    bench = bench_at(CURE)
    say(bench, StartTimer())
    say(bench, GoBack())
    finish(bench)
    say(bench, Go())
    assert "the wait has not been timed" in open_items(bench.state, bench.state.at_s + 9999)


def test_at_the_glue_the_timer_runs_for_the_open_time():
    assert say(bench_at(), StartTimer())[0].minutes == INSTANT.open_min == 4


GLUES = {"instant": INSTANT, "two-part": TWO_PART, "none": Briefing(), "closed": CLOSED}


def counted(events):
    """Each event, with whether it counts: an undo does unless a later one undoes it."""
    gone = set()
    for event in reversed(events):
        if isinstance(event.what, Undone) and event.entry not in gone:
            gone.add(event.what.entry)
    return [(event, event.entry not in gone) for event in events]


class Reader:
    """Reads a record from its first line to its last, as an inspector would."""

    def __init__(self):
        self.stage, self.glue, self.heard, self.last_s = Stage.PREPARE, Briefing(), set(), 0.0

    def owed(self):
        return {c.text for c in self.glue.cautions or GENERAL} - self.heard

    def read(self, event, counts):
        if event.at_s - self.last_s > 60 * PRACTICE.caution_break_min:
            self.heard.clear()
        self.last_s = event.at_s
        if not counts:
            return
        match event.what:
            case SessionOpened():
                self.glue = event.what.briefing
            case ProductsChosen():
                self.glue = event.what.briefing
                self.heard.clear()
            case SessionResumed():
                self.heard.clear()
            case CheckTicked():
                self.heard.add(event.what.text)
            case StageEntered():
                self.enter(event.what)

    def enter(self, entered):
        if self.stage <= ADHESIVE < entered.stage:
            assert not self.glue.closed
            if self.stage is ADHESIVE:
                assert self.owed() <= set(entered.passed_over)
                assert entered.reason or not self.owed()
            else:
                assert "whole stage: adhesive" in entered.passed_over
                assert entered.reason
        if entered.stage is ADHESIVE:
            assert self.stage > ADHESIVE or not self.glue.closed
            self.heard.clear()
        self.stage = entered.stage


class Gate(RuleBasedStateMachine):
    """Whoever is past the adhesive stage has acknowledged every caution of the glue in use there,
    since it last had to be asked; or a reason is in the record, or the whole stage was passed over
    with one."""

    def __init__(self):
        super().__init__()
        self.bench = bench_at(SETTLE)
        self.kept = self.bench._recorder

    @initialize(glue=st.sampled_from(["instant", "two-part", "none"]))
    def begin(self, glue):
        self.bench = bench_at(SETTLE, GLUES[glue])
        self.kept = self.bench._recorder

    @rule(times=st.integers(1, 20))
    def tick(self, times):
        for _ in range(times):
            say(self.bench, Tick())

    @rule()
    def acknowledge_all(self):
        finish(self.bench)

    @rule()
    def time_the_wait(self):
        say(self.bench, StartTimer())

    @rule(
        to=st.sampled_from([None, SETTLE, ADHESIVE, CURE, CUT_OUT]),
        after_s=st.sampled_from([10, 10, 3000]),
    )
    def go_on(self, to, after_s):
        if to is not None or self.bench.state.stage < CUT_OUT:
            say(self.bench, Go(to), after_s)

    @rule(to=st.sampled_from([ADHESIVE, CURE, CUT_OUT]))
    def go_on_for_a_reason(self, to):
        say(self.bench, Go(to, "told to"))

    @rule(number=st.integers(1, 5))
    def give_a_reason(self, number):
        if self.bench.state.way_on is not None:
            say(self.bench, Choose(number))

    @rule()
    def go_back(self):
        say(self.bench, GoBack())

    @rule(back=st.integers(1, 24))
    def undo(self, back):
        say(self.bench, Undo(back))

    @rule()
    def redo(self):
        say(self.bench, Redo())

    @rule(minutes=st.sampled_from([5, 45]))
    def leave_alone(self, minutes):
        say(self.bench, Note("back"), after_s=60 * minutes)

    @rule()
    def resume(self):
        later = moment(self.bench.state.at_s + 30)
        self.bench.note([SessionResumed("0", 30)], later, Source.BENCH)

    @rule(glue=st.sampled_from(["instant", "two-part", "none", "closed"]))
    def change_the_glue(self, glue):
        choose(self.bench, GLUES[glue])

    @invariant()
    def the_gate_is_closed_to_whoever_has_not_acknowledged(self):
        reader = Reader()
        for event, counts in counted(self.kept.events):
            reader.read(event, counts)
        assert reader.stage is self.bench.state.stage
        assert self.bench.state.slipped == ()
        if reader.stage is ADHESIVE:
            owed = [c.text for c in open_checks(self.bench.state) if c.caution]
            assert set(owed) == reader.owed()


TestGate = Gate.TestCase
TestGate.settings = settings(max_examples=300, stateful_step_count=40, deadline=None)
