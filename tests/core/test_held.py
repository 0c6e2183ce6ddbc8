"""Readings out of line are held and asked back before they count."""

from __future__ import annotations

import pytest
from worked import at, figures, say

from benchterm.core.events import (
    HeldReadingDropped,
    HeldReadingKept,
    ReadingHeld,
    ReadingTaken,
    RollerTurned,
    SessionClosed,
)
from benchterm.core.facts import Facts, Mesh
from benchterm.core.intents import (
    Answer,
    Go,
    GoBack,
    Read,
    Turn,
    Undo,
)
from benchterm.core.stages import Stage
from benchterm.core.stations import ROLLERS, Axis, Pair, Station

ALONG = Axis.ALONG
FAR, NEAR, LEFT, _ = ROLLERS
FINAL, SETTLE = Stage.FINAL_TENSION, Stage.SETTLE
READ_22 = (Read(FAR, 15), Turn(FAR, 1), Turn(NEAR, 1), Read(FAR, 22))
ASKED_50 = (*READ_22, Read(FAR, 50))
"""50 where about 22 is likely: held until yes or no."""


def test_a_reading_out_of_line_is_held():
    bench = at(FINAL, *READ_22)
    (held,) = say(bench, Read(FAR, 50))
    assert isinstance(held, ReadingHeld)
    assert (held.station, held.axis, held.value_n_cm) == (FAR, ALONG, 50)
    assert held.expected_n_cm == pytest.approx(22, abs=1)
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
    for way in (Go(), Go(SETTLE, "told to"), GoBack(), Go(Stage.PREPARE)):
        bench = at(FINAL, *ASKED_50)
        assert say(bench, way) == "A reading waits for yes or no first."


def test_nor_is_the_record_closed_as_done():
    bench = at(Stage.DONE, Read(Station.CENTRE, 20), Read(Station.CENTRE, 5))
    assert say(bench, Go()) == "A reading waits for yes or no first."
    assert say(bench, Answer(yes=True))
    assert say(bench, Go()) == [SessionClosed(finished=True)]
