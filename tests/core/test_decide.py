"""What an intent amounts to in a stage, or the exact words with which it is refused."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import at, figures, intents, say

from benchterm.core.bench import InMemory
from benchterm.core.decide import undoable
from benchterm.core.events import (
    CheckTicked,
    CornerRelieved,
    HeldReadingDropped,
    HeldReadingKept,
    MarkMade,
    NoteMade,
    ReadingHeld,
    ReadingTaken,
    ReasonAsked,
    ReasonWithheld,
    RollerTurned,
    SessionClosed,
    StageEntered,
    TargetChanged,
    TimerStarted,
    TimerStopped,
    Undone,
)
from benchterm.core.facts import Facts, Mesh
from benchterm.core.fold import fold_all
from benchterm.core.gates import REASONS, open_checks, stage_checks
from benchterm.core.intents import (
    Aim,
    Answer,
    Ask,
    Choose,
    Close,
    Go,
    GoBack,
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
from benchterm.core.state import UNDO_DEPTH
from benchterm.core.stations import CORNERS, ROLLERS, Axis, Pair, Station

ALONG, ACROSS = Axis.ALONG, Axis.ACROSS
FAR, NEAR, LEFT, RIGHT, CENTRE = (
    Station.FAR,
    Station.NEAR,
    Station.LEFT,
    Station.RIGHT,
    Station.CENTRE,
)
FAR_LEFT = Station.FAR_LEFT
PREPARE, SLACK, FIRST, RELIEF, FINAL, SETTLE = (
    Stage.PREPARE,
    Stage.SLACK,
    Stage.FIRST_TENSION,
    Stage.CORNER_RELIEF,
    Stage.FINAL_TENSION,
    Stage.SETTLE,
)
READ_22 = (Read(FAR, 15), Turn(FAR, 1), Turn(NEAR, 1), Read(FAR, 22))
ASKED_50 = (*READ_22, Read(FAR, 50))
"""50 where about 22 is likely: held until yes or no."""
WAY_ON = (Go(),)
"""From a stage with open checks: held until a reason is given."""


def undo_all(bench):
    """Take back every entry, the latest first, and say how many that were."""
    back = 0
    while isinstance(say(bench, Undo()), list):
        back += 1
    return back


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
    (FIRST, Tick(3), "This stage has 2 checks; there is no number 3."),
    (FIRST, Tick(0), "This stage has 2 checks; there is no number 0."),
    (Stage.DONE, Tick(), "Every check of this stage is ticked. Say next to go on."),
    (Stage.DONE, Answer(yes=True), "Every check of this stage is ticked. Say next to go on."),
    (FIRST, Answer(yes=False), "No question is open."),
    (FIRST, Choose(3), "This stage has 2 checks; there is no number 3."),
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


# Readings out of line are held and asked back.


def test_a_reading_out_of_line_is_held():
    bench = at(FINAL, *READ_22)
    (held,) = say(bench, Read(FAR, 50))
    assert isinstance(held, ReadingHeld)
    assert (held.station, held.axis, held.value_n_cm, held.expected_n_cm) == (FAR, ALONG, 50, 22)
    assert bench.state.reading(FAR).value_n_cm == 22
    assert bench.state.held.value_n_cm == 50


def test_yes_keeps_it_and_no_drops_it():
    bench = at(FINAL, *ASKED_50)
    held = bench.state.held.seq
    assert say(bench, Answer(yes=True)) == [HeldReadingKept(held)]
    assert bench.state.reading(FAR).value_n_cm == 50
    bench = at(FINAL, *ASKED_50)
    assert say(bench, Answer(yes=False)) == [HeldReadingDropped(held)]
    assert (bench.state.held, bench.state.reading(FAR).value_n_cm) == (None, 22)


def test_reading_again_settles_the_question():
    bench = at(FINAL, *ASKED_50)
    held = bench.state.held.seq
    assert say(bench, Read(FAR, 22.5)) == [HeldReadingDropped(held), ReadingTaken(FAR, ALONG, 22.5)]
    assert bench.state.held is None


def test_a_second_surprise_takes_the_place_of_the_first():
    bench = at(FINAL, *ASKED_50)
    dropped, held = say(bench, Read(FAR, 5))
    assert isinstance(dropped, HeldReadingDropped)
    assert bench.state.held.value_n_cm == held.value_n_cm == 5


def test_bad_input_leaves_the_question_open():
    bench = at(FINAL, *ASKED_50)
    assert say(bench, Read(FAR, 225)).startswith("225 N/cm")
    assert bench.state.held.value_n_cm == 50


def test_clicks_with_an_expected_reading_count_at_once():
    bench = at(FINAL, *READ_22)
    before = bench.state.last_seq
    turned, read = say(bench, Turn(FAR, 1, 23))
    assert (turned, read) == (RollerTurned(FAR, 1), ReadingTaken(FAR, ALONG, 23))
    assert {e.entry for e in bench.state.window.recent if e.seq > before} == {before + 1}


def test_clicks_count_even_while_the_reading_they_gave_is_held():
    bench = at(FINAL, *READ_22)
    turned, held = say(bench, Turn(FAR, 1, 50))
    assert (turned, type(held)) == (RollerTurned(FAR, 1), ReadingHeld)
    assert bench.state.net_clicks(FAR) == 2
    say(bench, Answer(yes=True))
    assert bench.state.reading(FAR).pair_clicks == bench.state.pair_clicks(Pair.FAR_NEAR) == 3


def test_what_the_clicks_give_is_part_of_what_is_expected():
    bench = at(FINAL, *READ_22)
    _, held = say(bench, Turn(FAR, 2, 50))
    assert held.expected_n_cm > 23


def test_a_refused_reading_takes_its_clicks_with_it():
    bench = at(FINAL, *READ_22)
    before = bench.state
    assert say(bench, Turn(FAR, 3, 225)).startswith("225 N/cm")
    assert bench.state is before


def test_clicks_and_their_held_reading_are_undone_together():
    bench = at(FINAL, *READ_22)
    before = figures(bench.state)
    say(bench, Turn(FAR, 1, 50))
    say(bench, Undo())
    assert figures(bench.state) == before


def test_clicks_with_a_reading_settle_an_open_question():
    bench = at(FINAL, *ASKED_50)
    held = bench.state.held.seq
    assert say(bench, Turn(FAR, 1, 23)) == [
        RollerTurned(FAR, 1),
        HeldReadingDropped(held),
        ReadingTaken(FAR, ALONG, 23),
    ]


def test_clicks_alone_leave_the_question_open():
    bench = at(FINAL, *ASKED_50)
    assert say(bench, Turn(NEAR, 1)) == [RollerTurned(NEAR, 1)]
    assert bench.state.held is not None


def test_a_reading_over_the_ceiling_is_asked_back_however_near():
    facts = Facts(mesh=Mesh(ceiling_n_cm=23))
    bench = at(FINAL, *READ_22, facts=facts)
    assert say(bench, Read(FAR, 23)) == [ReadingTaken(FAR, ALONG, 23)]
    (held,) = say(bench, Read(FAR, 23.5))
    assert isinstance(held, ReadingHeld)
    say(bench, Answer(yes=True))
    assert say(bench, Read(FAR, 23.5)) == [ReadingTaken(FAR, ALONG, 23.5)]


def test_the_stage_is_not_left_with_a_question_open():
    for way in (Go(), Go(SETTLE, "told to"), GoBack(), Go(PREPARE)):
        bench = at(FINAL, *ASKED_50)
        assert say(bench, way) == "A reading waits for yes or no first."


def test_nor_is_the_record_closed_as_done():
    bench = at(Stage.DONE, Read(CENTRE, 20), Read(CENTRE, 5))
    assert say(bench, Go()) == "A reading waits for yes or no first."
    assert say(bench, Answer(yes=True))
    assert say(bench, Go()) == [SessionClosed(finished=True)]


# Gates and reasons.


def test_the_way_on_is_free_when_all_is_done():
    bench = at(PREPARE, Tick(), Tick(), Tick())
    assert say(bench, Go()) == [StageEntered(Stage.ROLLERS)]


def test_a_reason_that_is_not_needed_is_not_kept():
    bench = at(PREPARE, Tick(), Tick(), Tick())
    assert say(bench, Go(reason="told to")) == [StageEntered(Stage.ROLLERS)]


def test_with_a_check_open_a_reason_is_asked():
    bench = at(PREPARE, Tick(), Tick())
    (left_over,) = open_checks(bench.state)
    asked = ReasonAsked(Stage.ROLLERS, (left_over.text,))
    assert say(bench, Go()) == [asked]
    assert bench.state.stage is PREPARE
    assert bench.state.way_on.open_items == (left_over.text,)


def test_a_numbered_reason_opens_the_way():
    bench = at(PREPARE, Tick(), Tick(), *WAY_ON)
    passed_over = bench.state.way_on.open_items
    entered = StageEntered(Stage.ROLLERS, passed_over, "this stretcher is not made for it")
    assert say(bench, Choose(3)) == [entered]
    assert bench.state.way_on is None


def test_a_note_is_a_reason_too_and_kept_as_a_note():
    bench = at(PREPARE, Tick(), Tick(), *WAY_ON)
    note, entered = say(bench, Note("burrs filed on Friday"))
    assert note == NoteMade("burrs filed on Friday")
    assert (entered.stage, entered.reason) == (Stage.ROLLERS, "burrs filed on Friday")


def test_a_reason_given_with_the_step_saves_the_question():
    bench = at(PREPARE)
    items = tuple(c.text for c in stage_checks(bench.state))
    assert say(bench, Go(reason=" told to ")) == [StageEntered(Stage.ROLLERS, items, "told to")]


def test_whole_stages_are_passed_over_by_name():
    bench = at(PREPARE, Tick(), Tick(), Tick())
    asked = ReasonAsked(
        Stage.LOCK_IN, ("whole stage: rollers to the start", "whole stage: cut and square the mesh")
    )
    assert say(bench, Go(Stage.LOCK_IN)) == [asked]


def test_no_withdraws_the_step():
    bench = at(PREPARE, *WAY_ON)
    question = bench.state.way_on.seq
    assert say(bench, Answer(yes=True)) == (
        "A reason is needed: choose its number, or note it in words."
    )
    assert say(bench, Answer(yes=False)) == [ReasonWithheld(question)]
    assert (bench.state.stage, bench.state.way_on) == (PREPARE, None)


@pytest.mark.parametrize("number", [0, len(REASONS) + 1, -1])
def test_a_reason_that_is_not_on_the_list(number):
    bench = at(PREPARE, *WAY_ON)
    assert say(bench, Choose(number)) == "Choose a reason from 1 to 5."


def test_what_is_done_meanwhile_need_not_be_excused():
    bench = at(PREPARE, *WAY_ON, Tick(), Tick(), Tick())
    assert say(bench, Choose(1)) == [StageEntered(Stage.ROLLERS)]


def test_a_reason_waits_for_the_reading():
    bench = at(FINAL, *READ_22, *WAY_ON, Read(FAR, 50))
    assert say(bench, Choose(1)) == "A reading waits for yes or no first."
    assert say(bench, Note("in a hurry")) == "A reading waits for yes or no first."
    assert isinstance(say(bench, Answer(yes=False))[0], HeldReadingDropped)
    assert bench.state.way_on is not None
    assert isinstance(say(bench, Choose(1))[0], StageEntered)


def test_going_back_is_free():
    assert say(at(FINAL), GoBack()) == [StageEntered(RELIEF)]
    assert say(at(FINAL), Go(PREPARE)) == [StageEntered(PREPARE)]


def test_after_the_last_stage_the_record_is_closed():
    assert say(at(Stage.DONE), Go()) == [SessionClosed(finished=True)]


def test_the_whole_job_with_a_reason_at_every_gate():
    bench = at(PREPARE)
    seen = [bench.state.stage]
    while bench.state.stage is not Stage.DONE:
        say(bench, Go(reason="told to"))
        seen.append(bench.state.stage)
    assert seen == list(Stage)
    assert say(bench, Go()) == [SessionClosed(finished=True)]
    assert (bench.state.closed, bench.state.finished) == (True, True)


# Ticks.


def test_yes_ticks_the_next_check():
    bench = at(FIRST)
    first, second = stage_checks(bench.state)
    assert say(bench, Answer(yes=True)) == [CheckTicked(FIRST, first.id, first.text)]
    assert say(bench, Tick()) == [CheckTicked(FIRST, second.id, second.text)]
    assert say(bench, Tick()) == "Every check of this stage is ticked. Say next to go on."


@pytest.mark.parametrize("intent", [Tick(2), Choose(2)])
def test_a_check_is_ticked_by_its_number(intent):
    bench = at(FIRST)
    first, second = stage_checks(bench.state)
    assert say(bench, intent) == [CheckTicked(FIRST, second.id, second.text)]
    assert say(bench, intent) == f"Already ticked: {second.text}"
    assert open_checks(bench.state) == (first,)


def test_cautions_come_first_and_in_order():
    bench = at(SLACK)
    plane, pawl, wrench, *_ = stage_checks(bench.state)
    first = f"Cautions come first, in order: {plane.text}"
    assert say(bench, Tick(2)) == say(bench, Tick(3)) == first
    say(bench, Tick(1))
    assert say(bench, Tick(3)) == f"Cautions come first, in order: {pawl.text}"
    assert say(bench, Tick(1)) == f"Already ticked: {plane.text}"
    say(bench, Tick(2))
    assert say(bench, Tick(3)) == [CheckTicked(SLACK, wrench.id, wrench.text)]


# Undo and redo.


def test_undo_takes_back_the_last_entry_that_counts():
    bench = at(FIRST, Turn(FAR, 1), Turn(NEAR, 2), Turn(LEFT, 3))
    assert say(bench, Undo()) == [Undone(5)]
    assert say(bench, Undo()) == [Undone(4)]
    assert [bench.state.clicks[s] for s in ROLLERS] == [1, 0, 0, 0]


def test_undo_reaches_further_back_and_by_station():
    bench = at(FIRST, Turn(FAR, 1), Turn(NEAR, 2), Turn(FAR, 3))
    assert say(bench, Undo(back=2)) == [Undone(4)]
    assert say(bench, Undo(back=2, station=FAR)) == [Undone(3)]
    assert say(bench, Undo(station=NEAR)) == (
        "Nothing to undo that far back at near: no entry can be undone."
    )
    assert say(bench, Undo(back=2)) == "Nothing to undo that far back: only 1 can be undone."


def test_undo_does_not_reach_what_the_bench_wrote_itself():
    bench = at(FIRST, Turn(FAR, 1))
    assert undo_all(bench) == 1
    assert (bench.state.session, bench.state.stage) == ("s1", FIRST)


def test_undo_reaches_64_events_back():
    bench = at(FIRST, *[Mark()] * (UNDO_DEPTH + 6))
    assert len(undoable(bench.state)) == UNDO_DEPTH
    assert say(bench, Undo(back=UNDO_DEPTH)) == [Undone(bench.state.last_seq - UNDO_DEPTH)]
    assert say(bench, Undo(back=UNDO_DEPTH)) == (
        "Nothing to undo that far back: only 63 can be undone."
    )


def test_an_entry_half_out_of_reach_is_out_of_reach():
    bench = at(FIRST, Aim(20), *[Mark()] * (UNDO_DEPTH - 1))
    assert bench.state.window.recent[0].what == TargetChanged(ACROSS, 20)
    assert undoable(bench.state)[-1][0].what == MarkMade(1)


def test_redo_brings_back_one_undo_after_another():
    bench = at(FIRST, Turn(FAR, 1), Turn(NEAR, 2), Undo(), Undo())
    assert say(bench, Redo()) == [Undone(6)]
    assert (bench.state.clicks[FAR], bench.state.clicks[NEAR]) == (1, 0)
    assert say(bench, Redo()) == [Undone(5)]
    assert (bench.state.clicks[FAR], bench.state.clicks[NEAR]) == (1, 2)
    assert say(bench, Redo()) == "No undo to take back."


def test_what_was_redone_can_be_undone_again():
    bench = at(FIRST, Turn(FAR, 1), Undo(), Redo())
    assert say(bench, Undo()) == [Undone(3)]
    assert bench.state.clicks[FAR] == 0
    assert say(bench, Redo()) == [Undone(6)]
    assert bench.state.clicks[FAR] == 1


def test_redo_reaches_no_further_than_undo():
    bench = at(FIRST, Turn(FAR, 1), Undo(), *[Mark()] * UNDO_DEPTH)
    assert say(bench, Redo()) == "No undo to take back."


def test_undoing_a_step_goes_back_to_the_stage():
    bench = at(FIRST, Go(reason="told to"), Undo())
    assert bench.state.stage is FIRST


def test_undoing_an_answer_opens_the_question_again():
    bench = at(FINAL, *ASKED_50, Answer(yes=True), Undo())
    assert bench.state.held.value_n_cm == 50
    assert bench.state.reading(FAR).value_n_cm == 22


def test_undoing_at_a_station_takes_a_kept_reading_with_it():
    bench = at(FINAL, *ASKED_50, Answer(yes=True), Undo(station=FAR))
    assert (bench.state.held, bench.state.reading(FAR).value_n_cm) == (None, 22)


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
