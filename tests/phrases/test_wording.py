"""Intents back to words."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

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
from benchterm.core.stages import Stage
from benchterm.core.stations import Axis, Station
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.meanings import Bare
from benchterm.phrases.phrase import parse
from benchterm.phrases.wording import figure, write


@pytest.mark.parametrize(
    ("value", "text"),
    [(22.5, "22.5"), (22.0, "22"), (100.0, "100"), (0.1, "0.1"), (1e-7, "0.0000001"), (0.0, "0")],
)
def test_a_figure_is_short_and_has_no_exponent(value: float, text: str) -> None:
    assert figure(value) == text


numbers = st.floats(0, 9999) | st.floats(0, 99).map(lambda x: round(x, 1))
counts = st.integers(1, 999)
stations = st.sampled_from(Station)
corners = st.sampled_from([s for s in Station if s.is_corner])
axes = st.none() | st.sampled_from(Axis)
words = st.text(st.characters(exclude_categories=["C", "Z"]), min_size=1, max_size=20).filter(
    lambda word: word.strip(",;:!?.\u2019") != ""
)
intents: st.SearchStrategy[Intent | Bare] = st.one_of(
    st.builds(Read, stations, numbers, axes),
    st.builds(Bare, numbers, axes),
    st.builds(Turn, stations, counts | counts.map(lambda n: -n)),
    st.builds(Turn, stations, counts | counts.map(lambda n: -n), numbers, axes),
    st.builds(Relieve, corners, st.none() | numbers.filter(bool)),
    st.builds(Undo, counts, st.none() | stations),
    st.builds(Tick, st.none() | counts),
    st.builds(Choose, counts),
    st.builds(Go, st.none() | st.sampled_from(Stage), st.just("") | words),
    st.builds(Note, words),
    st.builds(Mark, st.none() | counts),
    st.builds(StartTimer, st.none() | numbers.filter(bool)),
    st.builds(Aim, numbers, axes),
    st.builds(Close, st.just("") | words),
    st.builds(Ask, st.sampled_from(["next", "apart", "time", "again"])),
    st.builds(Answer, st.booleans()),
    st.builds(Listen, st.booleans()),
    st.sampled_from([Redo(), GoBack(), StopTimer()]),
)


@given(intents)
def test_the_phrase_of_an_intent_means_it(english: Grammar, intent: Intent | Bare) -> None:
    assert parse(write(intent), english) == intent
