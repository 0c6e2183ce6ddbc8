"""What is still open before a stage is left."""

from __future__ import annotations

import pytest
from worked import at, say

from benchterm.core.gates import (
    minutes_and_seconds,
    open_checks,
    open_items,
    open_items_to,
    stage_checks,
)
from benchterm.core.intents import Answer, Go, GoBack, Read, StartTimer, StopTimer, Tick, Turn, Undo
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage
from benchterm.core.stations import Axis, Station

FAR, NEAR, LEFT, RIGHT, CENTRE = (
    Station.FAR,
    Station.NEAR,
    Station.LEFT,
    Station.RIGHT,
    Station.CENTRE,
)


def still_open(bench, after_s=0):
    return open_items(bench.state, bench.state.at_s + after_s)


def ticked(stage, *done, **kwargs):
    """A bench in a stage with every check done."""
    bench = at(stage, *done, **kwargs)
    while open_checks(bench.state):
        say(bench, Tick())
    return bench


@pytest.mark.parametrize("stage", Stage)
def test_every_open_check_is_an_open_item(stage):
    bench = at(stage)
    texts = tuple(c.text for c in stage_checks(bench.state))
    assert still_open(bench)[: len(texts)] == texts
    assert not set(still_open(ticked(stage))) & set(texts)


@pytest.mark.parametrize("stage", [Stage.FIRST_TENSION, Stage.FINAL_TENSION])
def test_all_four_sides_are_read_before_tensioning_is_left(stage):
    bench = ticked(stage)
    assert still_open(bench) == ("not read in this stage: far, near, left, right",)
    for side, rest in ((FAR, "near, left, right"), (LEFT, "near, right"), (NEAR, "right")):
        say(bench, Read(side, 15))
        assert still_open(bench) == (f"not read in this stage: {rest}",)
    say(bench, Read(RIGHT, 15))
    assert still_open(bench) == ()


def test_a_reading_of_an_earlier_visit_does_not_count():
    bench = ticked(Stage.FIRST_TENSION, Read(FAR, 15), GoBack(), Go(reason="told to"))
    assert still_open(bench) == ("not read in this stage: far, near, left, right",)


def test_a_reading_that_is_held_does_not_count_until_kept():
    bench = ticked(Stage.READ_AGAIN, Read(CENTRE, 60))
    assert bench.state.held is not None
    assert still_open(bench) == ("not read in this stage: centre",)
    say(bench, Answer(yes=True))
    assert still_open(bench) == ()


@pytest.mark.parametrize("axis", Axis)
def test_off_the_stretcher_the_centre_is_read(axis):
    bench = ticked(Stage.READ_AGAIN)
    assert still_open(bench) == ("not read in this stage: centre",)
    say(bench, Read(FAR, 18))
    assert still_open(bench) == ("not read in this stage: centre",)
    say(bench, Read(CENTRE, 18, axis))
    assert still_open(bench) == ()


@pytest.mark.parametrize("stage", [Stage.SETTLE, Stage.CURE])
def test_a_wait_is_timed_and_over(stage):
    bench = ticked(stage, practice=Practice(settle_min=15, cure_min=15))
    assert still_open(bench) == ("the wait has not been timed",)
    say(bench, StartTimer())
    assert still_open(bench) == ("the wait is not over: 15:00 left",)
    assert still_open(bench, after_s=899.5) == ("the wait is not over: 0:01 left",)
    assert still_open(bench, after_s=900) == ()
    say(bench, StopTimer())
    assert still_open(bench, after_s=900) == ("the wait has not been timed",)


def test_settling_does_not_count_as_curing():
    bench = ticked(Stage.SETTLE, StartTimer(), Go(Stage.CURE, "told to"), Tick())
    assert still_open(bench, after_s=9999) == ("the wait has not been timed",)


def test_an_undone_tick_is_open_again():
    bench = ticked(Stage.PREPARE, Tick())
    say(bench, Undo())
    (open_check,) = open_checks(bench.state)
    assert still_open(bench) == (open_check.text,)


def test_going_back_leaves_nothing_open():
    state = at(Stage.FINAL_TENSION).state
    for to in (Stage.PREPARE, Stage.CORNER_RELIEF, Stage.FINAL_TENSION):
        assert open_items_to(state, to, 0) == ()


def test_going_on_leaves_this_stage_and_every_stage_between():
    state = ticked(Stage.CORNER_RELIEF, Turn(FAR, 1)).state
    assert open_items_to(state, Stage.FINAL_TENSION, 0) == ()
    assert open_items_to(state, Stage.ADHESIVE, 0) == (
        "whole stage: final tensioning",
        "whole stage: settle",
    )


@pytest.mark.parametrize(
    ("seconds", "shown"),
    [(0, "0:00"), (0.01, "0:01"), (1, "0:01"), (59.2, "1:00"), (60, "1:00"), (900, "15:00"),
     (5999.1, "100:00")],
)  # fmt: skip
def test_a_wait_is_rounded_up(seconds, shown):
    assert minutes_and_seconds(seconds) == shown


def test_the_checks_of_another_stage_can_be_looked_at():
    state = at(Stage.PREPARE).state
    assert {c.id.split(".")[0] for c in stage_checks(state, Stage.CUT_OUT)} == {"cut-out"}
    assert open_checks(state, Stage.CUT_OUT) == stage_checks(state, Stage.CUT_OUT)
