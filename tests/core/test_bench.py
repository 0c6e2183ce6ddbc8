"""The one door: what cannot be written down did not happen."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from worked import at, moment, say

from benchterm.core.bench import Bench, InMemory, Moment, NotSaved
from benchterm.core.decide import Refusal
from benchterm.core.events import MarkMade, NoteMade, Source
from benchterm.core.fold import fold_all
from benchterm.core.intents import Ask, Mark, Note, Read, Turn, Undo
from benchterm.core.stages import Stage
from benchterm.core.state import State
from benchterm.core.stations import Station

FAR = Station.FAR


class Full:
    """A recorder with room for so many events and no more."""

    def __init__(self, room):
        self.room = room
        self.events = []

    def record(self, events):
        if len(self.events) + len(events) > self.room:
            raise NotSaved("the disk is full")
        self.events.extend(events)


class Peeping:
    """A recorder that looks at the bench while it writes."""

    def __init__(self):
        self.seen = []

    def record(self, _):
        self.seen.append(self.bench.state)


def test_an_entry_is_numbered_timed_and_kept_word_for_word():
    bench = at(Stage.FINAL_TENSION)
    taken = bench.take(Turn(FAR, 1, 15), moment(61.5), Source.VOICE, "far one click fifteen")
    assert [(e.seq, e.entry) for e in taken] == [(3, 3), (4, 3)]
    for event in taken:
        assert (event.at_s, event.utc) == (61.5, "2026-03-02T08:31:01.500Z")
        assert (event.source, event.heard) == (Source.VOICE, "far one click fifteen")
    assert bench._recorder.events[2:] == list(taken)
    (after,) = bench.take(Mark(), moment(62), Source.KEYPAD)
    assert (after.seq, after.entry) == (5, 5)


def test_a_refusal_writes_nothing():
    bench = at(Stage.FINAL_TENSION)
    before = bench.state
    assert isinstance(bench.take(Read(FAR, 225), moment(5), Source.KEYPAD), Refusal)
    assert bench.state is before
    assert len(bench._recorder.events) == 2


def test_a_question_writes_nothing():
    bench = at(Stage.FINAL_TENSION)
    before = bench.state
    assert bench.take(Ask("next"), moment(5), Source.VOICE) == ()
    assert bench.state is before


def test_what_cannot_be_saved_changes_nothing():
    bench = Bench(Full(room=3), at(Stage.FINAL_TENSION).state)
    say(bench, Turn(FAR, 1))
    before = bench.state
    for intent in (Turn(FAR, 1, 15), Turn(FAR, 1, 60)):
        bench._recorder.room = 2
        with pytest.raises(NotSaved, match="the disk is full"):
            bench.take(intent, moment(9), Source.KEYPAD)
        assert bench.state is before
        assert len(bench._recorder.events) == 1


def test_once_there_is_room_it_goes_on_where_it_was():
    bench = Bench(Full(room=0))
    with pytest.raises(NotSaved):
        bench.take(Mark(), moment(1), Source.KEYPAD)
    assert bench.state == State()
    bench._recorder.room = 9
    (mark,) = bench.take(Mark(), moment(2), Source.KEYPAD)
    assert (mark.seq, mark.what) == (1, MarkMade(1))


def test_all_of_an_entry_is_written_before_any_of_it_counts():
    recorder = Peeping()
    bench = recorder.bench = Bench(recorder, at(Stage.FINAL_TENSION).state)
    before = bench.state
    bench.take(Turn(FAR, 1, 15), moment(1), Source.KEYPAD)
    assert recorder.seen == [before]
    assert bench.state.last_seq == before.last_seq + 2


def test_time_never_falls():
    bench = Bench(InMemory())
    asked_at = (5, 9, 7, 3, 9.5)
    said = [bench.take(Mark(), moment(at_s), Source.KEYPAD) for at_s in asked_at]
    assert [events[0].at_s for events in said] == [5, 9, 9, 9, 9.5]


@pytest.mark.parametrize(
    ("clock", "utc"),
    [
        # ISO 8601 with Z, milliseconds.
        (datetime(2026, 3, 2, 8, 30, tzinfo=UTC), "2026-03-02T08:30:00.000Z"),
        (datetime(2026, 3, 2, 8, 30, 1, 999_999, tzinfo=UTC), "2026-03-02T08:30:01.999Z"),
        (
            datetime(2026, 3, 2, 0, 15, tzinfo=timezone(timedelta(hours=5, minutes=30))),
            "2026-03-01T18:45:00.000Z",
        ),
        (
            datetime(2026, 12, 31, 20, 0, tzinfo=timezone(timedelta(hours=-8))),
            "2027-01-01T04:00:00.000Z",
        ),
    ],
)
def test_the_wall_clock_is_written_in_utc(clock, utc):
    (event,) = Bench(InMemory()).take(Mark(), Moment(0, clock), Source.KEYPAD)
    assert event.utc == utc
    assert datetime.fromisoformat(event.utc) == clock.replace(
        microsecond=clock.microsecond // 1000 * 1000
    )


def test_an_undo_is_written_like_anything_else():
    bench = at(Stage.FINAL_TENSION, Turn(FAR, 1))
    say(bench, Undo())
    assert len(bench._recorder.events) == 4
    assert bench.state.clicks[FAR] == 0


def test_a_bench_taken_up_again_goes_on_counting():
    events = at(Stage.FINAL_TENSION, Turn(FAR, 1))._recorder.events
    bench = Bench(InMemory(), fold_all(events))
    (note,) = bench.take(Note("power was off"), moment(0), Source.KEYPAD)
    assert (note.seq, note.at_s, note.what) == (4, 1, NoteMade("power was off"))


def test_noting_nothing_writes_nothing():
    bench = Bench(InMemory())
    assert bench.note((), moment(5), Source.BENCH) == ()
    assert bench.state == State()
