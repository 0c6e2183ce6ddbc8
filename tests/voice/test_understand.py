"""From words with scores to what was meant."""

from __future__ import annotations

from decimal import Decimal
from math import exp, log

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchterm.core.stations import Station
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.meanings import Slots
from benchterm.voice.engine import Hypothesis, Recognition
from benchterm.voice.understand import (
    MOST,
    PRIOR_FLOOR,
    PRIOR_WEIGHT,
    Kind,
    Likely,
    Pending,
    Understanding,
    margin,
)


@pytest.fixture(scope="module")
def understanding(english: Grammar) -> Understanding:
    return Understanding(english)


def recognition(**scores: float) -> Recognition:
    """Words with underscores between them, and their scores."""
    ranked = sorted(scores.items(), key=lambda item: -item[1])
    return Recognition(tuple(Hypothesis(tuple(w.split("_")), s) for w, s in ranked))


def expecting(value: float, sd: float = 1.5) -> Pending:
    return Pending(likely=lambda _: Likely(value, sd))


def test_words_that_mean_the_same_are_added_up(understanding):
    heard = recognition(
        far_two_two_five=log(0.3), far_twenty_two_point_five=log(0.3), far_twenty_five=log(0.35)
    )
    ranked = understanding.rank(heard, Pending())
    assert ranked[0].slots == Slots(do="read", station=Station.FAR, value=Decimal("22.5"))
    assert exp(ranked[0].score) == pytest.approx(0.6)
    assert len(ranked) == 2


def test_what_is_expected_decides_between_near_equals(understanding):
    heard = recognition(left_fifteen=-0.7, left_fifty=-0.8)
    assert understanding.rank(heard, Pending())[0].text == "left fifteen"
    assert understanding.rank(heard, expecting(49.0))[0].text == "left fifty"


def test_what_is_expected_never_beats_clear_words(understanding):
    heard = recognition(left_fifteen=-0.1, left_fifty=-0.1 + PRIOR_WEIGHT * PRIOR_FLOOR - 0.01)
    assert understanding.rank(heard, expecting(50.0))[0].text == "left fifteen"


@given(st.floats(0, 100), st.floats(0, 100), st.floats(0.1, 10))
def test_the_prior_is_a_gaussian_with_a_floor(value, expected, sd):
    z = (value - expected) / sd
    assert Likely(expected, sd).log_prior(value) == pytest.approx(max(log(0.01), -z * z / 2))


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        ("far twenty", Kind.PLACED),
        ("far two clicks", Kind.PLACED),
        ("twenty", Kind.BARE),
        ("two clicks", Kind.BARE),
        ("corner relieved", Kind.BARE),
        ("yes", Kind.ANSWER),
        ("no", Kind.ANSWER),
        ("choice two", Kind.ANSWER),
        ("undo that", Kind.CONTROL),
        ("next step", Kind.CONTROL),
        ("how far apart", Kind.CONTROL),
    ],
)
def test_kinds(understanding, words, kind):
    heard = Recognition((Hypothesis(tuple(words.split()), 0.0),))
    assert understanding.rank(heard, Pending())[0].kind is kind


@pytest.mark.parametrize(
    ("words", "more"),
    [
        ("far twenty", True),
        ("far twenty two", True),
        ("far two clicks", True),
        ("far twenty two point five", False),
        ("two two five", False),
        ("undo that", False),
        ("next step", False),
    ],
)
def test_whether_a_number_may_follow(understanding, words, more):
    assert understanding.may_go_on(tuple(words.split())) is more


def test_what_is_no_phrase_means_nothing(understanding):
    assert understanding.rank(recognition(far_far_far=0.0), Pending()) == ()
    assert not understanding.may_go_on(("far", "far", "far"))


def test_the_margin(understanding):
    alone = understanding.rank(recognition(far_twenty=-1.0), Pending())
    assert margin(alone) == MOST
    two = understanding.rank(recognition(far_twenty=-1.0, far_thirty=-2.5), Pending())
    assert margin(two) == pytest.approx(1.5)


@pytest.mark.parametrize(
    ("words", "begun"),
    [("far left", True), ("right", True), ("stop the", True), ("far two", False), ("frog", False)],
)
def test_a_place_alone_is_only_the_beginning_of_a_phrase(understanding, words, begun):
    assert understanding.only_begun(tuple(words.split())) is begun
