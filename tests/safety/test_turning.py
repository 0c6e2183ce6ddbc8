"""The cautions about turning rollers: asked once a sitting, at whichever stage turns them first.

What they say is common practice, no source. A state machine works a bench at random, and a reader
of its record keeps by itself what has been acknowledged since the person last sat down to it.
"""

from __future__ import annotations

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule
from worked import at, moment, numbered, say

from benchterm.core.cautions import Briefing
from benchterm.core.events import (
    CheckTicked,
    RollerTurned,
    SessionOpened,
    SessionResumed,
    Source,
    StageEntered,
    Undone,
)
from benchterm.core.facts import Facts
from benchterm.core.fold import fold_all, rested
from benchterm.core.gates import CAUTION_REASONS, REASONS, open_checks, reasons, stage_checks
from benchterm.core.intents import Choose, Go, GoBack, Note, Read, Redo, Relieve, Tick, Turn, Undo
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage
from benchterm.core.stations import Station
from benchterm.records.sheet import sheet_of

SLACK, FIRST, RELIEF, FINAL, SETTLE = (Stage(n) for n in range(5, 10))
ADHESIVE, CURE, RELEASE = Stage.ADHESIVE, Stage.CURE, Stage.RELEASE
TURNING = (SLACK, FIRST, RELIEF, FINAL, SETTLE, RELEASE)
BOTH = ["slack.caution.plane", "slack.caution.pawl"]
BREAK_MIN = Practice().caution_break_min
FAR = Station.FAR


def turning_open(state):
    return [c.id for c in open_checks(state) if c.id in BOTH]


def finish(bench):
    while open_checks(bench.state):
        say(bench, Tick())


def resume(bench, away_s=60):
    later = moment(bench.state.at_s + away_s)
    bench.note([SessionResumed("0", away_s)], later, Source.BENCH)


@pytest.mark.parametrize("stage", TURNING)
def test_each_stage_that_turns_rollers_asks_before_anything_else(stage):
    bench = at(stage)
    assert turning_open(bench.state) == BOTH
    assert [c.id for c in open_checks(bench.state)][:2] == BOTH


@pytest.mark.parametrize("stage", [s for s in Stage if s not in TURNING])
def test_no_other_stage_does(stage):
    assert turning_open(at(stage).state) == []


def test_passed_over_in_one_stage_they_are_shown_in_the_next():
    bench = at(SLACK)
    say(bench, Go(reason="slack is out already"))
    assert bench.state.stage is FIRST
    assert turning_open(bench.state) == BOTH


def test_acknowledged_once_they_are_not_asked_again_in_the_same_sitting():
    bench = at(SLACK)
    finish(bench)
    for to in (FIRST, RELIEF, SLACK, FINAL, SETTLE, RELEASE):
        say(bench, Go(to, "told to"))
        assert turning_open(bench.state) == []


@pytest.mark.parametrize("stage", TURNING)
def test_taken_up_again_they_are_asked_where_the_work_stands(stage):
    bench = at(stage)
    finish(bench)
    resume(bench)
    assert turning_open(bench.state) == BOTH


def test_taken_up_again_while_the_glue_cures_they_are_asked_at_the_release():
    bench = at(SLACK)
    finish(bench)
    say(bench, Go(CURE, "told to"))
    resume(bench)
    assert turning_open(bench.state) == []
    say(bench, Go(RELEASE, "told to"))
    assert turning_open(bench.state) == BOTH


@pytest.mark.parametrize(("minutes", "asked"), [(BREAK_MIN - 1, []), (BREAK_MIN + 1, BOTH)])
def test_after_a_long_break_they_are_asked_without_a_restart(minutes, asked):
    bench = at(FINAL)
    finish(bench)
    assert turning_open(rested(bench.state, bench.state.at_s + 60 * minutes)) == asked


def test_a_screen_of_its_own_asks_anew():
    bench = at(SLACK)
    finish(bench)
    assert turning_open(at(SLACK).state) == BOTH


@pytest.mark.parametrize(
    "intent",
    [Read(FAR, 15), Turn(FAR, 1), Relieve(Station.FAR_LEFT), Note("rod looked at"), Undo()],
)
def test_while_they_wait_nothing_that_was_done_is_refused(intent):
    bench = at(FINAL)
    finish(bench)
    say(bench, Read(FAR, 14))
    resume(bench)
    assert isinstance(say(bench, intent), list)
    assert turning_open(bench.state) == BOTH


def test_the_record_keeps_which_words_and_who():
    bench = at(FIRST, facts=Facts(operator="Ada"))
    finish(bench)
    kept = sheet_of(bench._recorder.events).acknowledged
    words = [c.text for c in stage_checks(bench.state) if c.caution]
    assert [(a.stage, a.text, a.version, a.operator) for a in kept] == [
        (FIRST, text, Briefing().version, "Ada") for text in words
    ]


def test_an_acknowledgement_is_not_undone_once_the_stage_is_left():
    bench = at(SLACK)
    finish(bench)
    ticks = len(stage_checks(bench.state))
    say(bench, Go())
    refused = "That would leave cautions behind unasked: go back to their stage instead."
    assert say(bench, Undo(back=ticks + 1)) == refused


def test_a_journal_with_older_words_replays_as_it_was():
    """Until version 2 they were asked where the slack is taken out, and nowhere else."""
    opened = SessionOpened("s", "bench", "0", briefing=Briefing(version="2"))
    happened = (
        opened,
        StageEntered(SLACK),
        *(CheckTicked(SLACK, caution, "", "2") for caution in (*BOTH, "slack.caution.force")),
        StageEntered(FIRST, ("wrench",), "told to"),
        SessionResumed("0", 60),
        StageEntered(RELIEF, ("equal",), "told to"),
    )
    state = fold_all(numbered([[what] for what in happened]))
    assert turning_open(state) == []
    assert state.slipped == ()


# Reasons.


@pytest.mark.parametrize("stage", [SLACK, FIRST, ADHESIVE, Stage.CUT_OUT, RELEASE])
def test_for_a_caution_only_reasons_are_offered_that_can_be_meant(stage):
    bench = at(stage)
    say(bench, Go())
    assert reasons(bench.state) == CAUTION_REASONS
    assert not any("mesh" in reason or "stretcher" in reason for reason in CAUTION_REASONS)
    assert say(bench, Choose(4)) == "Choose a reason from 1 to 3."
    entered = say(bench, Choose(1))[-1]
    assert entered.reason == "done before, not noted here"


def test_with_the_cautions_acknowledged_every_reason_is():
    bench = at(ADHESIVE)
    while reasons(bench.state) == CAUTION_REASONS:
        say(bench, Tick())
    say(bench, Go())
    assert reasons(bench.state) == REASONS
    assert say(bench, Choose(1))[-1].reason == "not needed for this mesh and frame"


# Every way there is.


class Turns(RuleBasedStateMachine):
    """In a stage that turns rollers, the bench asks for just what was not acknowledged since the
    session was opened, taken up again, or left alone for long."""

    def __init__(self):
        super().__init__()
        self.bench = at(Stage.LOCK_IN)

    @rule(times=st.integers(1, 4))
    def tick(self, times):
        for _ in range(times):
            say(self.bench, Tick())

    @rule(to=st.sampled_from([SLACK, FIRST, RELIEF, FINAL, SETTLE, RELEASE]))
    def go_to(self, to):
        say(self.bench, Go(to, "told to"))

    @rule()
    def go_back(self):
        say(self.bench, GoBack())

    @rule(clicks=st.integers(1, 3), after_s=st.sampled_from([5, 5, 5, 60 * BREAK_MIN + 1]))
    def turn(self, clicks, after_s):
        before = self.bench.state.stage
        said = say(self.bench, Turn(FAR, clicks), after_s)
        assert (said == [RollerTurned(FAR, clicks)]) == before.takes_tightening

    @rule(back=st.integers(1, 6))
    def undo(self, back):
        say(self.bench, Undo(back))

    @rule()
    def redo(self):
        say(self.bench, Redo())

    @rule()
    def take_up_again(self):
        resume(self.bench)

    @invariant()
    def what_is_asked_is_what_is_owed(self):
        events = self.bench._recorder.events
        gone = set()
        for event in reversed(events):
            if isinstance(event.what, Undone) and event.entry not in gone:
                gone.add(event.what.entry)
        owed, last_s = set(BOTH), 0.0
        for event in events:
            if isinstance(event.what, SessionResumed) or event.at_s - last_s > 60 * BREAK_MIN:
                owed = set(BOTH)
            last_s = event.at_s
            if isinstance(event.what, CheckTicked) and event.entry not in gone:
                owed.discard(event.what.check)
        asked = set(turning_open(self.bench.state))
        assert asked == (owed if self.bench.state.stage in TURNING else set())
        assert self.bench.state.slipped == ()


TestTurns = Turns.TestCase
TestTurns.settings = settings(max_examples=150, stateful_step_count=30, deadline=None)
