"""Hypothesis strategies: what can be known, asked and happen at a bench."""

from __future__ import annotations

from hypothesis import strategies as st

from benchterm.core import events as ev
from benchterm.core import intents as it
from benchterm.core.cautions import Briefing, Caution
from benchterm.core.events import Event, Happening, Source
from benchterm.core.facts import (
    Calibration,
    Facts,
    Frame,
    Locking,
    Mesh,
    Stretcher,
    StretcherKind,
    Target,
)
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage
from benchterm.core.stations import CORNERS, ROLLERS, Axis, Pair, Station

stations = st.sampled_from(Station)
rollers = st.sampled_from(ROLLERS)
corners = st.sampled_from(CORNERS)
axes = st.sampled_from(Axis)
stages = st.sampled_from(Stage)
entries = st.integers(1, 80)
words = st.text(max_size=8)
tensions = st.floats(0, 80)
clicks = st.integers(-20, 20)

facts = st.builds(
    Facts,
    frame=st.builds(Frame, width_mm=st.floats(200, 3000), depth_mm=st.floats(200, 3000)),
    mesh=st.builds(
        Mesh,
        threads_cm=st.floats(10, 180),
        thread_um=st.floats(27, 50),
        ceiling_n_cm=st.none() | st.floats(5, 60),
        material=st.sampled_from(["polyester", "steel"]),
    ),
    stretcher=st.builds(
        Stretcher,
        roller_mm=st.floats(20, 60),
        teeth=st.integers(8, 60),
        kind=st.sampled_from(StretcherKind),
        locking=st.sampled_from(Locking),
        rod_gap_mm=st.none() | st.floats(0, 60),
    ),
    target=st.builds(Target, st.floats(5, 50), st.floats(5, 50), tolerance_n_cm=st.floats(0.1, 3)),
    along_pair=st.sampled_from(Pair),
)


calibrations = st.builds(
    Calibration,
    utc=words,
    operator=words,
    references_n_cm=st.lists(tensions, max_size=3).map(tuple),
    readings_n_cm=st.lists(tensions, max_size=3).map(tuple),
    step_n_cm=st.floats(0.01, 1),
    reference_u_n_cm=st.floats(0, 1),
    slope=st.floats(0.5, 2),
    intercept=st.floats(-2, 2),
)

briefings = st.builds(
    Briefing,
    products=st.lists(words, max_size=2).map(tuple),
    cautions=st.lists(st.builds(Caution, words, words), max_size=2).map(tuple),
    closed=st.lists(words, max_size=1).map(tuple),
    cure_min=st.none() | st.floats(0.5, 60),
)


def happenings(numbers: st.SearchStrategy[float] = tensions) -> st.SearchStrategy[Happening]:
    """Anything that can happen, on any stage or station, referring to anything."""
    sentences = st.lists(words, max_size=2).map(tuple)
    return st.one_of(
        st.builds(ev.SessionOpened, words, words, words, facts, st.just(Practice())),
        st.builds(ev.ProductsChosen, sentences, briefings),
        st.builds(ev.GaugeChosen, words, st.booleans(), st.none() | calibrations),
        st.builds(ev.SessionResumed, words, numbers),
        st.builds(ev.JournalRepaired, entries, words),
        st.builds(ev.ReadingTaken, stations, axes, numbers),
        st.builds(ev.ReadingHeld, stations, axes, numbers, numbers, numbers),
        st.builds(ev.HeldReadingKept, entries),
        st.builds(ev.HeldReadingDropped, entries),
        st.builds(ev.RollerTurned, stations, clicks),
        st.builds(ev.CornerRelieved, stations, numbers, st.booleans()),
        st.builds(
            ev.CheckTicked,
            stages,
            st.sampled_from(["slack.caution.pawl", "adhesive.caution.air", "cure.hard"]),
            words,
        ),
        st.builds(ev.StageEntered, stages, sentences, words),
        st.builds(ev.ReasonAsked, stages, sentences),
        st.builds(ev.ReasonWithheld, entries),
        st.builds(ev.TimerStarted, stages, numbers),
        st.builds(ev.TimerStopped, stages),
        st.builds(ev.NoteMade, words),
        st.builds(ev.MarkMade, entries),
        st.builds(ev.TargetChanged, axes, numbers),
        st.builds(ev.Heard, words, words, st.floats(0, 1), words),
        st.builds(ev.SessionClosed, st.booleans(), words),
    )


def events(numbers: st.SearchStrategy[float] = tensions) -> st.SearchStrategy[Event]:
    """Any event at all: out of order, undoing what never was."""
    return st.builds(
        Event,
        entries,
        entries,
        st.floats(0, 1e6),
        st.just(""),
        st.sampled_from(Source),
        happenings(numbers) | st.builds(ev.Undone, entries),
        words,
    )


wild = st.sampled_from([225.0, -1.0, float("nan"), float("inf"), float("-inf"), 1e-3, 80.1])

pulled = st.sampled_from([s for s in Stage if s.takes_tightening])

moves: st.SearchStrategy[it.Intent] = st.one_of(
    st.builds(it.Read, stations, st.floats(5, 35), st.none() | axes),
    st.builds(it.Turn, rollers, st.integers(1, 4)),
    st.builds(it.Turn, rollers, st.integers(-2, 3), st.floats(5, 35)),
    st.just(it.Answer(yes=True)),
    st.builds(it.Go, pulled, st.just("told to")),
    st.builds(it.Read, stations, tensions | wild, st.none() | axes),
    st.builds(it.Turn, stations, clicks, st.none() | tensions | wild, st.none() | axes),
    st.builds(it.Relieve, corners, st.none() | st.floats(0, 70)),
    st.builds(it.Relieve, stations, st.none() | wild),
    st.builds(it.Tick, st.none() | st.integers(-1, 14)),
    st.builds(it.Answer, st.booleans()),
    st.builds(it.Choose, st.integers(0, 7)),
    st.builds(it.Go, st.none() | stages, st.sampled_from(["", "told to"])),
    st.just(it.GoBack()),
    st.builds(it.Note, words),
    st.builds(it.Mark, st.none() | st.integers(0, 1001)),
    st.builds(it.StartTimer, st.none() | st.floats(0, 3000) | wild),
    st.just(it.StopTimer()),
    st.builds(it.Aim, tensions | wild, st.none() | axes),
    st.builds(it.Ask, st.sampled_from(["next", "apart", "time", "again"])),
    st.builds(it.Listen, st.booleans()),
)
"""Every intent but undo, redo and closing: sensible ones first, then anything."""

undos = st.builds(it.Undo, st.integers(0, 9), st.none() | stations) | st.just(it.Redo())

intents = moves | undos
"""Every intent but closing, after which nothing more happens."""
