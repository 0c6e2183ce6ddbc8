from __future__ import annotations

from functools import cache
from itertools import pairwise

import pytest
from demo.generate import generate
from demo.sessions import SESSIONS

from benchterm.core.advice import SHOWN, Advice, Severity
from benchterm.core.checklists import checks
from benchterm.core.cloth import breaking_n_cm, ceiling_n_cm
from benchterm.core.events import (
    CornerRelieved,
    Event,
    HeldReadingDropped,
    JournalRepaired,
    ReadingHeld,
    ReadingTaken,
    RollerTurned,
    SessionResumed,
    StageEntered,
    TimerStarted,
    Undone,
)
from benchterm.core.fold import fold, fold_all
from benchterm.core.gates import open_checks
from benchterm.core.stages import Stage
from benchterm.core.state import State
from benchterm.core.stations import CORNERS, ROLLERS, Axis, Station
from benchterm.desk import view
from benchterm.locations import demo_sessions_folder
from benchterm.records.journal import read_all

RENEW = "if that was meant: PYTHONPATH=.:tests python -m demo.generate"
every_session = pytest.mark.parametrize("name", SESSIONS)


@cache
def events(name: str) -> tuple[Event, ...]:
    return read_all(demo_sessions_folder() / f"{name}.jsonl").events


@cache
def moments(name: str) -> tuple[tuple[Event, State, tuple[Advice, ...]], ...]:
    """Each event, the state after it, and the advice shown then."""
    state, found = State(), []
    for event in events(name):
        state = fold(state, event)
        found.append((event, state, view(state, event.at_s).advice[:SHOWN]))
    return tuple(found)


def shown(name: str, code: str) -> list[int]:
    """``seq`` of every event after which this advice is shown."""
    return [e.seq for e, _, advice in moments(name) if code in {a.code for a in advice}]


def tightened(name: str) -> list[int]:
    """``seq`` of every turn towards more tension."""
    return [e.seq for e in events(name) if isinstance(e.what, RollerTurned) and e.what.clicks > 0]


def of(name: str, kind: type) -> list[Event]:
    return [event for event in events(name) if isinstance(event.what, kind)]


def last_centre(name: str, axis: Axis, *, off_stretcher: bool) -> float:
    """The last reading at the centre, on the stretcher or off it, N/cm."""
    return [
        event.what.value_n_cm
        for event, state, _ in moments(name)
        if isinstance(event.what, ReadingTaken)
        and (event.what.station, event.what.axis) == (Station.CENTRE, axis)
        and (state.stage >= Stage.READ_AGAIN) is off_stretcher
    ][-1]


def test_the_generator_writes_them_byte_for_byte(tmp_path):
    generate(tmp_path)
    made = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    kept = {path.name: path.read_bytes() for path in demo_sessions_folder().glob("*.jsonl")}
    assert made.keys() == kept.keys()
    assert [name for name in made if made[name] != kept[name]] == [], RENEW


@every_session
def test_it_is_a_whole_job_of_a_usual_length(name):
    journal = read_all(demo_sessions_folder() / f"{name}.jsonl")
    end = fold_all(journal.events)
    assert journal.torn == b""
    assert 100 <= len(journal.events) <= 170
    assert 60 * 60 <= end.at_s <= 90 * 60
    assert end.stage is Stage.DONE
    assert end.finished


@every_session
def test_no_stage_and_no_check_is_passed_over(name):
    entered = [event.what for event in of(name, StageEntered)]
    assert [what.stage for what in entered] == list(Stage)[1:]
    assert all(what.passed_over == () for what in entered)
    end = fold_all(events(name))
    for stage in Stage:
        listed = checks(stage, end.facts, end.practice)
        assert {check.id for check in listed if not check.caution} <= end.ticked


@every_session
def test_nobody_turns_a_roller_before_the_cautions_are_acknowledged(name):
    for (_, before, _), (event, _, _) in pairwise(moments(name)):
        if isinstance(event.what, RollerTurned):
            assert not any(check.caution for check in open_checks(before))


@every_session
def test_both_waits_are_timed_and_sat_out(name):
    for event in of(name, TimerStarted):
        left = next(e for e in of(name, StageEntered) if e.seq > event.seq)
        assert left.at_s - event.at_s >= 60 * event.what.minutes
    assert [e.what.stage for e in of(name, TimerStarted)] == [Stage.SETTLE, Stage.CURE]


@every_session
def test_clicks_and_the_reading_they_gave_are_mostly_said_in_one_breath(name):
    alone = together = 0
    for (_, before, _), (event, _, _) in pairwise(moments(name)):
        if isinstance(event.what, RollerTurned) and before.stage >= Stage.FIRST_TENSION:
            size = sum(other.entry == event.entry for other in events(name))
            together += size > 1
            alone += size == 1
    assert together > 10
    assert alone == 0


@pytest.mark.parametrize("name", [name for name in SESSIONS if name != "drifting-apart"])
def test_most_turns_are_of_a_roller_that_the_advice_named(name):
    """How these people work: they follow the advice, but not every time."""
    followed = []
    for (_, before, advice), (event, _, _) in pairwise(moments(name)):
        if isinstance(event.what, RollerTurned) and before.stage in (
            Stage.FIRST_TENSION,
            Stage.FINAL_TENSION,
        ):
            side = event.what.station.label
            followed.append(any(side in one.do for one in advice))
    assert sum(followed) > len(followed) / 2


@every_session
def test_it_is_near_its_target_before_the_glue_and_never_near_the_ceiling(name):
    before_glue = next(s for e, s, _ in moments(name) if s.stage is Stage.ADHESIVE)
    for side in ROLLERS:
        reading = before_glue.reading(side)
        assert reading is not None
        assert reading.value_n_cm == pytest.approx(
            before_glue.facts.target.of(reading.axis), abs=1.5
        )
    assert not shown(name, "ceiling")


@every_session
def test_the_frame_takes_a_plausible_part_of_the_tension(name):
    """Long bars bow in under the pull across them; the short ones of an oblong frame bow out.

    Computed here by slope-deflection of the closed frame, checked against frame elements: 580 x 840
    mm of 40 x 40 x 2 mm aluminium tube at 25 N/cm keeps 23.5 across and 25.2 along, and mid-line
    22.6 across. Real joints give more, and the mesh goes on relaxing: hence the wide limits.
    """
    for axis, least, most in ((Axis.ACROSS, 0.85, 0.98), (Axis.ALONG, 0.90, 1.02)):
        on = last_centre(name, axis, off_stretcher=False)
        off = last_centre(name, axis, off_stretcher=True)
        assert least <= off / on <= most


def test_good_eases_all_corners_and_gives_no_cause_to_stop():
    assert {event.what.station for event in of("good", CornerRelieved)} == set(CORNERS)
    assert not [
        one for _, _, advice in moments("good") for one in advice if one.severity is Severity.STOP
    ]
    assert not of("good", ReadingHeld)


def test_drifting_apart_is_told_by_clicks_and_by_tension_and_mended():
    clicks = shown("drifting-apart", "clicks-uneven")
    tension = shown("drifting-apart", "sides-uneven")
    assert clicks
    assert tension
    for _, state, advice in moments("drifting-apart"):
        if state.last_seq in (clicks[0], tension[0]):
            assert any(one.do.startswith("near roller") for one in advice)
    settling = next(s.last_seq for _, s, _ in moments("drifting-apart") if s.stage is Stage.SETTLE)
    assert max(clicks + tension) < settling


def test_drifting_apart_is_mended_late():
    """The first warning goes unheeded for a while: that is what the session is there to show."""
    first = shown("drifting-apart", "clicks-uneven")[0]
    more = [
        event
        for event in of("drifting-apart", RollerTurned)
        if event.seq > first and event.what.station is Station.FAR
    ]
    mended = next(
        event
        for event in of("drifting-apart", RollerTurned)
        if event.seq > first and event.what.station is Station.NEAR
    )
    assert sum(event.seq < mended.seq for event in more) >= 2


def test_in_corner_ahead_no_click_follows_the_warning_until_the_corners_are_eased():
    warned = shown("corner-ahead", "corner-ahead")
    eased = [event.seq for event in of("corner-ahead", CornerRelieved)]
    assert warned[0] < eased[0]
    assert not [seq for seq in tightened("corner-ahead") if seq - 1 in warned]
    after = moments("corner-ahead")[eased[3] - 1 :]
    assert not [one for _, _, advice in after for one in advice if one.code == "corner-ahead"]


def test_in_corner_ahead_the_warning_comes_well_below_the_ceiling_and_the_break():
    warned = shown("corner-ahead", "corner-ahead")[0]
    state = moments("corner-ahead")[warned - 1][1]
    highest = max(reading.value_n_cm for side in ROLLERS if (reading := state.reading(side)))
    most = ceiling_n_cm(state)
    assert most is not None
    assert highest < 0.9 * most
    assert highest < 0.5 * breaking_n_cm(state)


def test_in_corner_ahead_one_corner_stands_out():
    before = moments("corner-ahead")[of("corner-ahead", CornerRelieved)[0].seq - 2][1]
    read = {c: before.along[c].value_n_cm for c in CORNERS if before.along[c]}
    assert max(read, key=read.__getitem__) is Station.FAR_RIGHT


def test_resumed_lost_only_what_was_never_taken():
    repaired, resumed = of("resumed", JournalRepaired)[0], of("resumed", SessionResumed)[0]
    assert resumed.seq == repaired.seq + 1
    assert repaired.what.moved_bytes == 40
    assert resumed.what.away_s == pytest.approx(412, abs=15)
    cut = moments("resumed")[repaired.seq - 2][1]
    assert moments("resumed")[resumed.seq - 1][1].trail == cut.trail


def test_resumed_holds_an_undo_and_a_reading_that_was_a_slip_of_the_hand():
    undone = of("resumed", Undone)[0]
    assert undone.heard == "undo"
    held = of("resumed", ReadingHeld)[0]
    assert (held.what.station, held.what.value_n_cm) == (Station.FAR, 52.0)
    dropped = of("resumed", HeldReadingDropped)[0]
    assert dropped.seq == held.seq + 1
    assert dropped.heard == "no"
    assert all(
        reading.value_n_cm != 52.0
        for reading in fold_all(events("resumed")).trail
        if hasattr(reading, "value_n_cm")
    )
