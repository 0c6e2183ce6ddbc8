"""What an intent amounts to in a stage, or the exact words with which it is refused."""

from __future__ import annotations

import math
from typing import get_args

import pytest
from hypothesis import Phase, find, given, settings
from hypothesis import strategies as st
from strategies import intents
from worked import at, say

from benchterm.core.bench import InMemory
from benchterm.core.events import (
    CheckTicked,
    CornerRelieved,
    MarkMade,
    NoteMade,
    ReadingTaken,
    RollerTurned,
    SessionClosed,
    StageEntered,
    TargetChanged,
    TimerStarted,
    TimerStopped,
)
from benchterm.core.facts import Facts
from benchterm.core.fold import fold_all
from benchterm.core.gates import open_checks, stage_checks
from benchterm.core.intents import (
    Aim,
    Answer,
    Ask,
    Choose,
    Close,
    Go,
    GoBack,
    Intent,
    Listen,
    Mark,
    Note,
    Read,
    Redo,
    Relieve,
    StartTimer,
    StopTimer,
    Tick,
    Turn,
    Undo,
)
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage
from benchterm.core.stations import CORNERS, ROLLERS, Axis, Pair, Station

ALONG, ACROSS = Axis
FAR, _, LEFT, RIGHT = ROLLERS
CENTRE, FAR_LEFT = Station.CENTRE, Station.FAR_LEFT
PREPARE, SLACK, FIRST, RELIEF, SETTLE, AGAIN = (
    Stage.PREPARE,
    Stage.SLACK,
    Stage.FIRST_TENSION,
    Stage.CORNER_RELIEF,
    Stage.SETTLE,
    Stage.READ_AGAIN,
)


# What happens.


@pytest.mark.parametrize(
    ("intent", "happens"),
    [
        (Read(FAR, 15), [ReadingTaken(FAR, ALONG, 15)]),
        (Read(LEFT, 15), [ReadingTaken(LEFT, ACROSS, 15)]),
        (Read(CENTRE, 15), [ReadingTaken(CENTRE, ALONG, 15)]),
        (Read(FAR_LEFT, 15), [ReadingTaken(FAR_LEFT, ALONG, 15)]),
        (Read(CENTRE, 15, ACROSS), [ReadingTaken(CENTRE, ACROSS, 15)]),
        (Read(FAR, 15, ACROSS), [ReadingTaken(FAR, ACROSS, 15)]),
        (Read(FAR, 0), [ReadingTaken(FAR, ALONG, 0)]),
        (Turn(FAR, 3), [RollerTurned(FAR, 3)]),
        (Turn(FAR, -1), [RollerTurned(FAR, -1)]),
        (Turn(RIGHT, 20), [RollerTurned(RIGHT, 20)]),
        (Turn(FAR, 3, 15), [RollerTurned(FAR, 3), ReadingTaken(FAR, ALONG, 15)]),
        (Turn(FAR, -2, 15, ACROSS), [RollerTurned(FAR, -2), ReadingTaken(FAR, ACROSS, 15)]),
        (Relieve(FAR_LEFT), [CornerRelieved(FAR_LEFT, 6, measured=False)]),
        (Relieve(FAR_LEFT, 4.5), [CornerRelieved(FAR_LEFT, 4.5, measured=True)]),
        (Note(" left rod creeps "), [NoteMade("left rod creeps")]),
        (Mark(), [MarkMade(1)]),
        (Mark(7), [MarkMade(7)]),
        (StartTimer(), [TimerStarted(FIRST, 15)]),
        (StartTimer(5), [TimerStarted(FIRST, 5)]),
        (Aim(20), [TargetChanged(ALONG, 20), TargetChanged(ACROSS, 20)]),
        (Aim(20, ACROSS), [TargetChanged(ACROSS, 20)]),
        (Close(" torn "), [SessionClosed(finished=False, reason="torn")]),
        (GoBack(), [StageEntered(SLACK)]),
        (Go(PREPARE), [StageEntered(PREPARE)]),
        (Ask("next"), []),
        (Listen(on=False), []),
    ],
)
def test_in_first_tensioning(intent, happens):
    assert say(at(FIRST), intent) == happens


def test_a_screen_that_is_done_is_not_given_up_however_its_record_is_closed():
    for closing in (Go(), Close()):
        assert say(at(Stage.DONE), closing) == [SessionClosed(finished=True)]


def test_the_axis_follows_how_the_roll_lies():
    bench = at(FIRST, facts=Facts(along_pair=Pair.LEFT_RIGHT))
    assert say(bench, Read(FAR, 15)) == [ReadingTaken(FAR, ACROSS, 15)]
    assert say(bench, Read(LEFT, 15)) == [ReadingTaken(LEFT, ALONG, 15)]


def test_marks_are_numbered_on():
    bench = at(FIRST, Mark(7))
    assert say(bench, Mark()) == [MarkMade(8)]


def test_how_long_a_wait_is_comes_from_the_shops_table():
    practice = Practice(settle_min=20, cure_min=45)
    assert say(at(SETTLE, practice=practice), StartTimer()) == [TimerStarted(SETTLE, 20)]
    assert say(at(Stage.CURE, practice=practice), StartTimer()) == [TimerStarted(Stage.CURE, 45)]


def test_a_timer_is_stopped_under_the_stage_it_was_set_in():
    bench = at(SETTLE, StartTimer(), GoBack())
    assert say(bench, StopTimer()) == [TimerStopped(SETTLE)]


# What is refused, word for word.

REFUSED = [
    (PREPARE, Read(FAR, 22), "No reading in this stage (prepare frame and stretcher): the mesh is "
     "not pulled."),
    (FIRST, Read(FAR, 225), "225 N/cm is more than mesh holds (limit 80). Was it 22.5?"),
    (FIRST, Read(FAR, 2250), "2250 N/cm is more than mesh holds (limit 80)."),
    (FIRST, Read(FAR, 80.5), "80.5 N/cm is more than mesh holds (limit 80). Was it 8.1?"),
    (FIRST, Read(FAR, -22), "-22 is negative: mesh does not push."),
    (FIRST, Read(FAR, math.nan), "That is no number."),
    (FIRST, Read(FAR, math.inf), "That is no number."),
    (FIRST, Read(FAR, -math.inf), "That is no number."),
    (FIRST, Turn(CENTRE, 1), "Centre has no roller to turn."),
    (FIRST, Turn(FAR_LEFT, 1), "Far left has no roller to turn."),
    (FIRST, Turn(FAR, 0), "Far: how many clicks?"),
    (FIRST, Turn(FAR, 1000), "1000 clicks in one entry is beyond reason (limit 20)."),
    (FIRST, Turn(FAR, -21), "21 clicks in one entry is beyond reason (limit 20)."),
    (FIRST, Turn(FAR, 3, 225), "225 N/cm is more than mesh holds (limit 80). Was it 22.5?"),
    (FIRST, Turn(FAR, 3, -1), "-1 is negative: mesh does not push."),
    (FIRST, Turn(FAR, 3, math.nan), "That is no number."),
    (PREPARE, Turn(FAR, 1), "No tightening in this stage (prepare frame and stretcher)."),
    (Stage.CURE, Turn(FAR, 1, 22), "No tightening in this stage (cure)."),
    (Stage.CURE, Turn(FAR, -1), "No letting back in this stage (cure)."),
    (Stage.RELEASE, Turn(FAR, 1), "No tightening in this stage (release the rollers)."),
    (Stage.RELEASE, Turn(FAR, -1, 20), "No reading in this stage (release the rollers): the mesh "
     "is not pulled."),
    (FIRST, Relieve(FAR), "Far is no corner: relief is for corners."),
    (FIRST, Relieve(CENTRE, 4), "Centre is no corner: relief is for corners."),
    (SLACK, Relieve(FAR_LEFT), "No corner relief in this stage (take out the slack)."),
    (SETTLE, Relieve(FAR_LEFT), "No corner relief in this stage (settle)."),
    (FIRST, Relieve(FAR_LEFT, 0), "0 mm of relief is beyond reason (more than 0, up to 60)."),
    (FIRST, Relieve(FAR_LEFT, -3), "-3 mm of relief is beyond reason (more than 0, up to 60)."),
    (FIRST, Relieve(FAR_LEFT, 61), "61 mm of relief is beyond reason (more than 0, up to 60)."),
    (FIRST, Relieve(FAR_LEFT, math.nan),
     "nan mm of relief is beyond reason (more than 0, up to 60)."),
    (FIRST, Relieve(FAR_LEFT, math.inf),
     "inf mm of relief is beyond reason (more than 0, up to 60)."),
    (FIRST, Undo(), "Nothing to undo that far back: no entry can be undone."),
    (FIRST, Undo(1, FAR), "Nothing to undo that far back at far: no entry can be undone."),
    (FIRST, Undo(0), "Nothing to undo that far back: no entry can be undone."),
    (FIRST, Redo(), "No undo to take back."),
    (AGAIN, Tick(3), "This stage has 2 checks; there is no number 3."),
    (AGAIN, Tick(0), "This stage has 2 checks; there is no number 0."),
    (Stage.DONE, Tick(), "Every check of this stage is ticked. Say next to go on."),
    (Stage.DONE, Answer(yes=True), "Every check of this stage is ticked. Say next to go on."),
    (FIRST, Answer(yes=False), "No question is open."),
    (AGAIN, Choose(3), "This stage has 2 checks; there is no number 3."),
    (FIRST, Go(FIRST), "This is the stage: first tensioning."),
    (PREPARE, GoBack(), "This is the first stage."),
    (FIRST, Note("  "), "The note is empty."),
    (FIRST, Mark(0), "A mark has a number from 1 to 999."),
    (FIRST, Mark(1000), "A mark has a number from 1 to 999."),
    (SETTLE, StartTimer(0), "A wait is more than 0 and at most 2880 minutes (two days)."),
    (SETTLE, StartTimer(-1), "A wait is more than 0 and at most 2880 minutes (two days)."),
    (SETTLE, StartTimer(2881), "A wait is more than 0 and at most 2880 minutes (two days)."),
    (SETTLE, StartTimer(math.nan), "A wait is more than 0 and at most 2880 minutes (two days)."),
    (SETTLE, StopTimer(), "No timer is running."),
    (FIRST, Aim(0), "A target of nothing is no target."),
    (FIRST, Aim(5e-324), "A target of nothing is no target."),
    (FIRST, Aim(-1), "-1 is negative: mesh does not push."),
    (FIRST, Aim(220), "220 N/cm is more than mesh holds (limit 80). Was it 22.0?"),
    (FIRST, Aim(math.nan), "That is no number."),
]  # fmt: skip


@pytest.mark.parametrize(("stage", "intent", "why"), REFUSED)
def test_refused(stage, intent, why):
    bench = at(stage)
    before = bench.state
    assert say(bench, intent) == why
    assert bench.state is before
    assert bench.state == at(stage).state


def test_the_last_mark_is_the_last():
    assert say(at(FIRST, Mark(999)), Mark()) == "A mark has a number from 1 to 999."


def test_limits_come_from_the_shops_table():
    practice = Practice(clicks_max=5, reading_max_n_cm=40, relief_max_mm=10)
    bench = at(FIRST, practice=practice)
    assert say(bench, Turn(FAR, 6)) == "6 clicks in one entry is beyond reason (limit 5)."
    assert say(bench, Read(FAR, 41)) == "41 N/cm is more than mesh holds (limit 40). Was it 4.1?"
    assert say(bench, Relieve(FAR_LEFT, 11)).endswith("(more than 0, up to 10).")


@pytest.mark.parametrize("stage", Stage)
def test_every_stage_takes_what_belongs_to_it(stage):
    taken = {
        what
        for what, intent in {
            "reading": Read(CENTRE, 15),
            "tighten": Turn(FAR, 1),
            "let back": Turn(FAR, -1),
            "relieve": Relieve(FAR_LEFT),
        }.items()
        if isinstance(say(at(stage), intent), list)
    }
    # The stages of the job as the trade goes through them; common practice, no source.
    everything = {"reading", "tighten", "let back", "relieve"}
    assert taken == {
        Stage.SLACK: everything - {"relieve"},
        Stage.FIRST_TENSION: everything,
        Stage.CORNER_RELIEF: everything,
        Stage.FINAL_TENSION: everything,
        Stage.SETTLE: everything - {"relieve"},
        Stage.ADHESIVE: {"reading"},
        Stage.CURE: {"reading"},
        Stage.RELEASE: {"let back"},
        Stage.READ_AGAIN: {"reading"},
        Stage.DONE: {"reading"},
    }.get(stage, set())


@pytest.mark.parametrize("side", ROLLERS)
def test_relief_at_a_side_is_refused_in_every_stage(side):
    for stage in Stage:
        assert say(at(stage), Relieve(side)).endswith("is no corner: relief is for corners.")


@pytest.mark.parametrize("corner", CORNERS)
def test_a_corner_can_be_eased_and_not_turned(corner):
    assert say(at(RELIEF), Relieve(corner)) == [CornerRelieved(corner, 6, measured=False)]
    assert say(at(RELIEF), Turn(corner, 1)).endswith("has no roller to turn.")


# Ticks.


def test_yes_ticks_the_next_check():
    bench = at(AGAIN)
    first, second = stage_checks(bench.state)
    assert say(bench, Answer(yes=True)) == [CheckTicked(AGAIN, first.id, first.text)]
    assert say(bench, Tick()) == [CheckTicked(AGAIN, second.id, second.text)]
    assert say(bench, Tick()) == "Every check of this stage is ticked. Say next to go on."


@pytest.mark.parametrize("intent", [Tick(2), Choose(2)])
def test_a_check_is_ticked_by_its_number(intent):
    bench = at(AGAIN)
    first, second = stage_checks(bench.state)
    assert say(bench, intent) == [CheckTicked(AGAIN, second.id, second.text)]
    assert say(bench, intent) == f"Already ticked: {second.text}"
    assert open_checks(bench.state) == (first,)


def test_cautions_come_first_in_order_and_are_signed():
    bench = at(SLACK, facts=Facts(operator="Jo"))
    plane, pawl, wrench, *_ = stage_checks(bench.state)
    first = f"Cautions come first, in order: {plane.text}"
    assert say(bench, Tick(2)) == say(bench, Tick(3)) == first
    say(bench, Tick(1))
    assert say(bench, Tick(3)) == f"Cautions come first, in order: {pawl.text}"
    assert say(bench, Tick(1)) == f"Already ticked: {plane.text}"
    (ticked,) = say(bench, Tick(2))
    assert ticked == CheckTicked(SLACK, pawl.id, pawl.text, pawl.version, "Jo")
    assert say(bench, Tick(3)) == [CheckTicked(SLACK, wrench.id, wrench.text)]


# A closed session.


@pytest.mark.parametrize(
    "intent", [Read(FAR, 22), Turn(FAR, 1), Undo(), Tick(), Go(), GoBack(), Note("x"), Close()]
)
def test_nothing_follows_the_end(intent):
    bench = at(FIRST, Close("torn"))
    assert say(bench, intent) == "This session is closed. Begin a new one."


@pytest.mark.parametrize("intent", [Ask("next"), Listen(on=True)])
def test_but_questions_may_still_be_asked(intent):
    assert say(at(FIRST, Close("torn")), intent) == []


# Over any intents at all.

ANY = settings(max_examples=2000, phases=[Phase.generate])
"""The first that is found will do."""


@pytest.mark.parametrize("kind", [k for k in get_args(Intent) if k is not Close])
def test_any_intent_may_be_of_every_kind(kind):
    assert find(intents, lambda intent: isinstance(intent, kind), settings=ANY)


@given(st.sampled_from(Stage), st.lists(intents, max_size=20))
def test_whatever_is_asked_is_written_down_or_refused(stage, asked):
    bench = at(stage)
    kept: InMemory = bench._recorder
    for intent in asked:
        before, events = bench.state, list(kept.events)
        said = say(bench, intent)
        if isinstance(said, str):
            assert said.strip()
            assert "\n" not in said
            assert bench.state is before
            assert kept.events == events
        else:
            assert [e.what for e in kept.events[len(events) :]] == said
    assert fold_all(kept.events) == bench.state
