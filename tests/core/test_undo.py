"""Undo and redo, as the operator asks for them."""

from __future__ import annotations

from worked import at, say

from benchterm.core.decide import undoable
from benchterm.core.events import MarkMade, TargetChanged, Undone
from benchterm.core.intents import Aim, Answer, Go, Mark, Read, Redo, Turn, Undo
from benchterm.core.stages import Stage
from benchterm.core.state import UNDO_DEPTH
from benchterm.core.stations import ROLLERS, Axis

FAR, NEAR, LEFT, _ = ROLLERS
FIRST, FINAL = Stage.FIRST_TENSION, Stage.FINAL_TENSION
KEPT_50 = (Read(FAR, 22), Read(FAR, 50), Answer(yes=True))
"""50 where about 22 is likely: held, and kept."""


def undo_all(bench):
    """Take back every entry, the latest first, and say how many that were."""
    back = 0
    while isinstance(say(bench, Undo()), list):
        back += 1
    return back


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
    assert bench.state.window.recent[0].what == TargetChanged(Axis.ACROSS, 20)
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
    within = at(FIRST, Turn(FAR, 1), Undo(), *[Mark()] * (UNDO_DEPTH - 2))
    assert say(within, Redo()) == [Undone(4)]
    beyond = at(FIRST, Turn(FAR, 1), Undo(), *[Mark()] * (UNDO_DEPTH - 1))
    assert beyond.state.window.recent[0].what == Undone(3)
    assert say(beyond, Redo()) == "No undo to take back."


def test_undoing_a_step_goes_back_to_the_stage():
    bench = at(FIRST, Go(reason="told to"), Undo())
    assert bench.state.stage is FIRST


def test_undoing_an_answer_opens_the_question_again():
    bench = at(FINAL, *KEPT_50, Undo())
    assert bench.state.held.value_n_cm == 50
    assert bench.state.reading(FAR).value_n_cm == 22


def test_undoing_at_a_station_takes_a_kept_reading_with_it():
    bench = at(FINAL, *KEPT_50, Undo(station=FAR))
    assert (bench.state.held, bench.state.reading(FAR).value_n_cm) == (None, 22)
