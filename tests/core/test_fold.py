"""``fold`` over anything that may happen, and undo that leaves no trace."""

from __future__ import annotations

from dataclasses import replace
from itertools import count
from typing import get_args

import pytest
from hypothesis import Phase, find, given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule
from strategies import events, happenings, moves
from worked import at, figures, numbered, say

from benchterm.core.events import (
    CheckTicked,
    CornerRelieved,
    Event,
    Happening,
    Heard,
    HeldReadingDropped,
    HeldReadingKept,
    MarkMade,
    ReadingHeld,
    ReadingTaken,
    ReasonAsked,
    ReasonWithheld,
    RollerTurned,
    SessionClosed,
    SessionOpened,
    SessionResumed,
    Source,
    StageEntered,
    TargetChanged,
    TimerStarted,
    TimerStopped,
    Undone,
)
from benchterm.core.facts import Facts
from benchterm.core.fold import fold, fold_all
from benchterm.core.intents import Go, Redo, Undo
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage
from benchterm.core.state import TRAIL_LENGTH, UNDO_DEPTH, Held, Reading, State, Timer
from benchterm.core.stations import ROLLERS, Axis, Station

ALONG, ACROSS = Axis.ALONG, Axis.ACROSS
FAR, NEAR, LEFT, CENTRE = Station.FAR, Station.NEAR, Station.LEFT, Station.CENTRE

ANY = settings(max_examples=2000, phases=[Phase.generate])
"""The first that is found will do."""
any_float = st.floats()
entries_of_one = st.lists(st.tuples(happenings()), max_size=25)
entries_of_some = st.lists(st.lists(happenings(), min_size=1, max_size=3), min_size=1, max_size=20)


def long_log(n: int) -> list[Event]:
    """A job of ``n`` events, turns and readings in turn."""
    steps = (
        RollerTurned(ROLLERS[i % 4], 1) if i % 2 else ReadingTaken(ROLLERS[i % 4], ALONG, i % 30)
        for i in count()
    )
    return numbered((next(steps),) for _ in range(n))


def undo(log: list[Event], entry: int) -> list[Event]:
    """The log with one undo more."""
    return log + numbered([[Undone(entry)]], start=log[-1].seq + 1)


def without(log: list[Event], entry: int) -> list[Event]:
    return [event for event in log if event.entry != entry]


@given(st.lists(events(any_float), max_size=30))
def test_any_events_in_any_order_can_be_folded(log):
    state = State()
    for event in log:
        before, state = state, fold(state, event)
        assert state.last_seq == event.seq
        if isinstance(event.what, Heard):
            assert replace(state, last_seq=before.last_seq) == before
        else:
            assert state.at_s == event.at_s


@pytest.mark.parametrize("kind", [k for k in get_args(Happening) if k is not Undone])
def test_any_event_may_be_of_every_kind(kind):
    assert find(happenings(), lambda what: isinstance(what, kind), settings=ANY)


@given(st.lists(events(), max_size=20), st.lists(events(), max_size=20))
def test_folding_can_stop_anywhere_and_be_taken_up_again(before, after):
    assert fold_all(before + after) == fold_all(after, fold_all(before))


@settings(max_examples=50)
@given(entries_of_some)
def test_an_undone_entry_leaves_no_trace(entries):
    log = numbered(entries)
    for entry in {event.entry for event in log}:
        assert figures(fold_all(undo(log, entry))) == figures(fold_all(without(log, entry)))


@settings(max_examples=50)
@given(entries_of_some)
def test_undo_and_redo_change_nothing(entries):
    log = numbered(entries)
    for entry in {event.entry for event in log}:
        undone = undo(log, entry)
        redone = undo(undone, undone[-1].entry)
        assert figures(fold_all(redone)) == figures(fold_all(log))
        again = undo(redone, redone[-1].entry)
        assert figures(fold_all(again)) == figures(fold_all(undone))


@given(entries_of_some, st.data())
def test_entries_can_be_undone_one_after_another(entries, data):
    log = undone = kept = numbered(entries)
    for entry in data.draw(st.lists(st.sampled_from([e.entry for e in log]), max_size=6)):
        undone, kept = undo(undone, entry), without(kept, entry)
        assert figures(fold_all(undone)) == figures(fold_all(kept))


@settings(max_examples=15)
@given(entries_of_one, st.integers(0, 2 * UNDO_DEPTH))
def test_undo_reaches_back_over_64_events_and_no_further(last, before):
    log = long_log(before)
    log += numbered(last, start=before + 1)
    whole = figures(fold_all(log))
    reach = [event.entry for event in log if not isinstance(event.what, Heard)][-UNDO_DEPTH:]
    for entry in range(1, len(log) + 1):
        within = entry >= min(reach, default=0)
        expected = figures(fold_all(without(log, entry))) if within else whole
        assert figures(fold_all(undo(log, entry)[len(log) :], fold_all(log))) == expected


def test_what_was_heard_counts_for_nothing():
    log = numbered([[RollerTurned(FAR, 1)], *([[Heard("left", "reject", 0.1, "")]] * 70)])
    state = fold_all(log)
    assert state.last_seq == 71
    assert state == replace(fold_all(log[:1]), last_seq=71)
    assert figures(fold_all(undo(log, 1))) == figures(State())


def test_what_has_left_the_window_undone_stays_undone():
    log = undo(long_log(3), 2)
    later = numbered(([RollerTurned(FAR, 1)] for _ in range(UNDO_DEPTH + 9)), start=5)
    state = fold_all(log + later)
    assert all(step.seq != 2 for step in state.trail)
    assert len(state.window.recent) == UNDO_DEPTH
    assert state.window.undone == frozenset()
    assert figures(fold_all(undo(log + later, 4))) == figures(state)


def test_clicks_and_the_reading_they_gave_go_together():
    log = numbered([[RollerTurned(FAR, 3), ReadingTaken(FAR, ALONG, 22.5)]])
    assert log[0].entry == log[1].entry == 1
    state = fold_all(log)
    assert (state.clicks[FAR], state.reading(FAR).value_n_cm) == (3, 22.5)
    assert figures(fold_all(undo(log, 1))) == figures(State())


def test_the_trail_is_bounded():
    log = long_log(TRAIL_LENGTH + 5)
    trail = fold_all(log).trail
    assert [step.seq for step in trail] == list(range(6, TRAIL_LENGTH + 6))


# One line a kind of event: what the state says after it.


def after(*entries):
    return fold_all(numbered([what] for what in entries))


def test_opening_brings_facts_and_practice():
    facts, practice = Facts(screen_id="A7"), Practice(settle_min=20)
    state = after(SessionOpened("s1", "bench 2", "1.0", facts, practice))
    assert (state.session, state.bench) == ("s1", "bench 2")
    assert (state.facts, state.practice) == (facts, practice)


def test_a_reading_remembers_stage_and_clicks_of_its_axis():
    state = after(
        StageEntered(Stage.FINAL_TENSION),
        RollerTurned(FAR, 3),
        RollerTurned(NEAR, 2),
        RollerTurned(LEFT, 7),
        ReadingTaken(CENTRE, ALONG, 21.5),
    )
    read = Reading(5, 5.0, CENTRE, ALONG, 21.5, 5, Stage.FINAL_TENSION)
    assert state.along[CENTRE] == state.reading(CENTRE) == read
    assert state.across[CENTRE] is None
    assert state.trail[-1] == read


def test_turns_add_up_and_a_run_ends_with_another_roller():
    state = after(RollerTurned(FAR, 2), RollerTurned(FAR, 3), RollerTurned(FAR, -1))
    assert (state.clicks[FAR], state.run) == (4, (FAR, 4))
    state = after(RollerTurned(FAR, 2), RollerTurned(NEAR, 1), RollerTurned(FAR, 3))
    assert (state.clicks[FAR], state.run) == (5, (FAR, 3))


def test_a_reading_does_not_end_a_run_and_a_new_stage_does():
    turned = RollerTurned(FAR, 2)
    assert after(turned, ReadingTaken(FAR, ALONG, 9), turned).run == (FAR, 4)
    assert after(turned, StageEntered(Stage.FINAL_TENSION)).run is None


def test_net_clicks_count_from_when_tension_began():
    slack = (StageEntered(Stage.SLACK), RollerTurned(FAR, 4))
    assert after(*slack).net_clicks(FAR) == 4
    begun = after(*slack, StageEntered(Stage.FIRST_TENSION), RollerTurned(FAR, 3))
    assert (begun.net_clicks(FAR), begun.clicks[FAR]) == (3, 7)
    back_and_on = after(
        *slack,
        StageEntered(Stage.FIRST_TENSION),
        StageEntered(Stage.SLACK),
        RollerTurned(FAR, 1),
        StageEntered(Stage.FIRST_TENSION),
    )
    assert back_and_on.net_clicks(FAR) == 1


def test_a_kept_reading_belongs_to_when_it_was_held():
    held = ReadingHeld(FAR, ALONG, 50, 22, 1)
    state = after(held, RollerTurned(FAR, 2))
    assert state.held == Held(1, 1.0, FAR, ALONG, 50, 22, 0)
    assert state.reading(FAR) is None
    kept = after(held, RollerTurned(FAR, 2), HeldReadingKept(1))
    assert kept.held is None
    assert kept.reading(FAR) == Reading(1, 1.0, FAR, ALONG, 50, 0, Stage.PREPARE)
    assert kept.clicks_since(kept.reading(FAR)) == 2


@pytest.mark.parametrize("answer", [HeldReadingKept, HeldReadingDropped])
def test_an_answer_settles_only_the_question_it_names(answer):
    held = ReadingHeld(FAR, ALONG, 50, 22, 1)
    assert after(held, answer(9)).held is not None
    assert after(held, answer(1)).held is None
    assert figures(after(answer(1))) == figures(State())


def test_a_dropped_reading_counts_for_nothing():
    state = after(ReadingHeld(FAR, ALONG, 50, 22, 1), HeldReadingDropped(1))
    assert (state.held, state.trail) == (None, ())


def test_relief_adds_up():
    corner = Station.FAR_LEFT
    state = after(CornerRelieved(corner, 4, True), CornerRelieved(corner, 2.5, True))
    assert state.relief_mm[corner] == 6.5
    assert state.relieved
    assert not after(RollerTurned(FAR, 1)).relieved


def test_a_reason_is_asked_for_until_given_or_withheld():
    asked = ReasonAsked(Stage.ROLLERS, ("snug",))
    assert after(asked).way_on.to is Stage.ROLLERS
    assert after(asked, ReasonWithheld(7)).way_on is not None
    assert after(asked, ReasonWithheld(1)).way_on is None
    assert after(asked, StageEntered(Stage.ROLLERS)).way_on is None


def test_entering_a_stage_is_timed():
    state = after(RollerTurned(FAR, 1), StageEntered(Stage.SETTLE))
    assert (state.stage, state.stage_seq, state.stage_since_s) == (Stage.SETTLE, 2, 2.0)


def test_a_timer_runs_from_its_start_and_never_below_nought():
    timer = after(TimerStarted(Stage.SETTLE, 15)).timer
    assert timer == Timer(1, Stage.SETTLE, 1.0, 15)
    assert [timer.left_s(now) for now in (1, 61, 901, 5000)] == [900, 840, 0, 0]
    assert after(TimerStarted(Stage.SETTLE, 15), TimerStopped(Stage.SETTLE)).timer is None


def test_cautions_are_asked_anew_on_entering_and_on_resuming():
    ticked = (
        StageEntered(Stage.CUT_OUT),
        CheckTicked(Stage.CUT_OUT, "cut-out.caution.blade", ""),
        CheckTicked(Stage.CUT_OUT, "cut-out.cut", ""),
    )
    assert after(*ticked).ticked == {"cut-out.caution.blade", "cut-out.cut"}
    assert after(*ticked, SessionResumed("0", 60)).ticked == {"cut-out.cut"}
    assert after(*ticked, StageEntered(Stage.RELEASE)).ticked >= {"cut-out.caution.blade"}
    left = (StageEntered(Stage.RELEASE), StageEntered(Stage.CUT_OUT))
    assert after(*ticked, *left).ticked == {"cut-out.cut"}


def test_cautions_about_turning_are_asked_anew_on_resuming_alone():
    ticked = (StageEntered(Stage.SLACK), CheckTicked(Stage.SLACK, "slack.caution.pawl", ""))
    left = (StageEntered(Stage.FIRST_TENSION), StageEntered(Stage.SLACK))
    assert after(*ticked, *left).ticked == {"slack.caution.pawl"}
    assert after(*ticked, SessionResumed("0", 60)).ticked == frozenset()


def test_marks_count_up_from_the_highest():
    assert after(MarkMade(5), MarkMade(2)).marks == 5


def test_a_target_changes_on_one_axis():
    target = after(TargetChanged(ACROSS, 18)).facts.target
    assert (target.along_n_cm, target.across_n_cm) == (22, 18)
    assert after(TargetChanged(ALONG, 18)).facts.target.along_n_cm == 18


def test_closing():
    given_up = after(SessionClosed(finished=False))
    assert (given_up.closed, given_up.finished) == (True, False)
    assert after(SessionClosed(finished=True)).finished


PAST_THE_GATE = (
    "That would leave cautions behind unasked: go back to their stage instead.",
    "That would lead past the cautions of the adhesive: say next instead.",
)


class PlainBench(RuleBasedStateMachine):
    """A bench against a plain list of entries, folded from scratch each time.

    The list knows nothing of windows: it is every entry there ever was, and which of them count.
    """

    def __init__(self):
        super().__init__()
        self.bench = at(Stage.FIRST_TENSION)
        self.kept = self.bench._recorder
        self.entries = [(event,) for event in self.kept.events]
        self.gone = []
        """Entries undone, in the order of undoing."""

    def take(self, intent):
        before = self.bench.state
        said = say(self.bench, intent)
        assert not isinstance(said, str) or self.bench.state is before
        return said

    def reachable(self, station=None):
        """Entries an undo should find, the latest first."""
        oldest = self.bench.state.last_seq - UNDO_DEPTH
        return [
            entry
            for entry in reversed(self.entries)
            if entry[0].seq > oldest
            and entry[0].source is not Source.BENCH
            and entry not in self.gone
            and (station is None or any(getattr(e.what, "station", 0) == station for e in entry))
        ]

    @rule(intents=st.lists(moves, min_size=1, max_size=6))
    def work(self, intents):
        for intent in intents:
            if intent == Go() and self.bench.state.stage is Stage.DONE:
                continue  # It closes the session, and nothing can follow.
            before = len(self.kept.events)
            self.take(intent)
            if new := self.kept.events[before:]:
                self.entries.append(tuple(new))

    @rule(back=st.integers(0, 6), station=st.none() | st.sampled_from(Station))
    def undo(self, back, station):
        found = self.reachable(station)
        said = self.take(Undo(back, station))
        if said in PAST_THE_GATE:
            return
        if 1 <= back <= len(found):
            assert said == [Undone(found[back - 1][0].entry)]
            self.gone.append(found[back - 1])
        else:
            assert said.startswith("Nothing to undo that far back")

    @precondition(lambda self: self.gone)
    @rule()
    def redo(self):
        within = self.gone[-1][0].seq > self.bench.state.last_seq - UNDO_DEPTH
        said = self.take(Redo())
        if said in PAST_THE_GATE:
            return
        if within:
            self.gone.pop()
            assert [type(what) for what in said] == [Undone]
        else:
            assert said == "No undo to take back."

    @precondition(lambda self: not self.gone)
    @rule()
    def redo_with_nothing_undone(self):
        assert self.take(Redo()) == "No undo to take back."

    @invariant()
    def counts_what_the_list_counts(self):
        counted = [e for entry in self.entries if entry not in self.gone for e in entry]
        assert figures(self.bench.state) == figures(fold_all(counted))

    @invariant()
    def is_what_its_events_amount_to(self):
        assert self.bench.state == fold_all(self.kept.events)


TestPlainBench = PlainBench.TestCase
TestPlainBench.settings = settings(max_examples=40, stateful_step_count=40, deadline=None)
