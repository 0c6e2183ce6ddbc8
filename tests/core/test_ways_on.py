"""From stage to stage: what is open, what reason is given, how to go back."""

from __future__ import annotations

import pytest
from worked import at, say

from benchterm.core.events import (
    HeldReadingDropped,
    NoteMade,
    ReasonAsked,
    ReasonWithheld,
    SessionClosed,
    StageEntered,
)
from benchterm.core.gates import REASONS, open_checks, stage_checks
from benchterm.core.intents import (
    Answer,
    Choose,
    Go,
    GoBack,
    Note,
    Read,
    Tick,
)
from benchterm.core.stages import Stage
from benchterm.core.stations import Station

FAR = Station.FAR
PREPARE, RELIEF, FINAL = Stage.PREPARE, Stage.CORNER_RELIEF, Stage.FINAL_TENSION
WAY_ON = (Go(),)
"""From a stage with open checks: held until a reason is given."""


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
    bench = at(FINAL, Read(FAR, 22), *WAY_ON, Read(FAR, 50))
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
