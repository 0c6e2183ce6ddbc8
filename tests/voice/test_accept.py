"""Sure, ask, reject: with an acceptance one can work out by hand."""

from __future__ import annotations

import json
from dataclasses import replace
from math import exp

import numpy as np
import pytest
from voice.standins import clear

from benchterm.core.intents import Answer, Read, Turn, Undo
from benchterm.core.stations import Axis, Station
from benchterm.errors import BenchError
from benchterm.phrases.meanings import NO_GAUGE, Named
from benchterm.voice.accept import (
    NAMES,
    OWN_FILE,
    Acceptance,
    Decision,
    Figures,
    Thresholds,
    Verdict,
    figures,
)
from benchterm.voice.engine import Hypothesis, Recognition
from benchterm.voice.fit import Sample, confidences_left_out, fit, save
from benchterm.voice.understand import Kind, Likely, Pending, Understanding

PLAIN = Figures(**dict.fromkeys(NAMES, 0.0))
HALF = Acceptance(
    0.0,
    tuple(1.0 if name == "score_a_word" else 0.0 for name in NAMES),
    dict.fromkeys(Kind, Thresholds(lead=3.0, sure=0.4, ask=0.2)),
)
"""Confidence is the logistic function of the score a word alone."""
WAITING = Pending(Station.LEFT, question=True)


@pytest.fixture(scope="module")
def understanding(english) -> Understanding:
    return Understanding(english)


def decide(understanding, heard: Recognition, pending: Pending = WAITING) -> Verdict:
    ranked = understanding.rank(heard, pending)
    return HALF.decide(ranked[0], figures(heard, ranked, 1.0, 20.0), pending)


def test_the_confidence_is_logistic():
    assert HALF.confidence(replace(PLAIN, score_a_word=-1.0)) == pytest.approx(1 / (1 + exp(1)))
    assert HALF.confidence(replace(PLAIN, score_a_word=-1e9)) == pytest.approx(0.0)


def test_what_is_clear_is_sure(understanding):
    verdict = decide(understanding, clear("far twenty"), Pending())
    assert verdict == Verdict(Decision.SURE, Read(Station.FAR, 20.0), "")


@pytest.mark.parametrize(
    ("score", "decision"), [(-0.2, Decision.SURE), (-1.0, Decision.ASK), (-3.0, Decision.REJECT)]
)
def test_less_and_less_clear(understanding, score, decision):
    heard = Recognition((Hypothesis(("undo",), score),), ("undo",), score)
    assert decide(understanding, heard).decision is decision


def test_a_close_rival_is_asked_about(understanding):
    verdict = decide(understanding, clear("far fifteen", "far fifty", margin=2.9))
    assert verdict.decision is Decision.ASK
    assert verdict.intent == Read(Station.FAR, 15.0)
    clearer = decide(understanding, clear("far fifteen", "far fifty", margin=3.1))
    assert clearer.decision is Decision.SURE


def test_a_surprising_value_is_asked_about(understanding):
    pending = Pending(likely=lambda _: Likely(20.0, 1.0))
    assert decide(understanding, clear("far twenty two"), pending).decision is Decision.SURE
    verdict = decide(understanding, clear("far twenty three"), pending)
    assert verdict.decision is Decision.ASK
    assert "surprising" in verdict.why


@pytest.mark.parametrize("words", ["twenty", "two two five", "three clicks", "corner relieved"])
def test_without_a_place_it_counts_only_while_one_is_pending(understanding, words):
    verdict = decide(understanding, clear(words), Pending(question=True))
    assert verdict.decision is Decision.REJECT
    assert "nothing waits" in verdict.why


@pytest.mark.parametrize("words", ["yes", "no", "cancel", "choice two"])
def test_answers_count_only_while_a_question_is_open(understanding, words):
    verdict = decide(understanding, clear(words), Pending(Station.LEFT))
    assert verdict.decision is Decision.REJECT
    assert "question" in verdict.why


@pytest.mark.parametrize(
    ("words", "intent"),
    [
        ("twenty", Read(Station.LEFT, 20.0)),
        ("one click back", Turn(Station.LEFT, -1)),
        ("yes", Answer(yes=True)),
        ("undo", Undo()),
    ],
)
def test_what_is_pending_is_filled_in(understanding, words, intent):
    assert decide(understanding, clear(words)) == Verdict(Decision.SURE, intent, "")


def test_what_makes_no_sense_is_rejected_with_the_reason(understanding):
    verdict = decide(understanding, clear("corner relieved"))
    assert verdict.decision is Decision.REJECT
    assert "corner?" in verdict.why


def test_talk_forced_into_the_grammar_shows_in_the_figures(understanding):
    heard = Recognition(
        (Hypothesis(("thirty", "eight", "and", "a", "half"), -11.5, weakest=-7.4),),
        ("the", "dog", "ate", "half", "of", "my", "sandwich", "and", "ran", "away"),
        -2.0,
    )
    ranked = understanding.rank(heard, Pending())
    given = figures(heard, ranked, 2.7, 10.0)
    assert given.strange == pytest.approx(0.9)
    assert given.gap == pytest.approx((-11.5 + 2.0) / 5)
    assert given.weakest == -6.0


def test_the_acceptance_that_comes_with_the_program_can_be_read():
    own = Acceptance.load()
    assert own.thresholds.keys() == set(Kind)
    for limits in own.thresholds.values():
        assert 0 < limits.ask < limits.sure < 1
    good = replace(PLAIN, margin=8.0, words=4.0, seconds_a_word=0.4, snr=2.0, placed=1.0)
    assert own.confidence(good) > own.thresholds[Kind.PLACED].sure
    assert own.confidence(replace(good, score_a_word=-4.0, gap=-3.0, margin=1.0)) < 0.3


@pytest.mark.parametrize(
    "content", ["", "[]", "{}", '{"bias": 1}', json.dumps({"bias": 0, "weights": None}), "\xff"]
)
def test_a_broken_acceptance_is_told(tmp_path, content):
    path = tmp_path / "acceptance.json"
    path.write_text(content, "latin-1")
    with pytest.raises(BenchError, match="cannot be read"):
        Acceptance.load(path)


def made_samples(count: int = 400) -> list[Sample]:
    """Right with the probability that the logistic function gives: 1 + 2 x score, 4 voices."""
    rng = np.random.default_rng(7)
    scores = rng.normal(0, 1.5, count)
    right = rng.random(count) < 1 / (1 + np.exp(-(1 + 2 * scores)))
    return [
        Sample(
            replace(PLAIN, score_a_word=float(s), margin=8.0),
            Kind.PLACED,
            bool(r),
            f"voice {i % 4}",
        )
        for i, (s, r) in enumerate(zip(scores, right, strict=True))
    ]


def test_a_fit_finds_what_the_samples_were_made_with():
    acceptance = fit(made_samples(4000))
    weight = dict(zip(NAMES, acceptance.weights, strict=True))["score_a_word"]
    assert weight == pytest.approx(2.0, abs=0.2)
    assert acceptance.bias == pytest.approx(1.0, abs=0.2)


def test_a_worse_figure_never_raises_the_confidence():
    turned = [replace(s, right=not s.right) for s in made_samples()]
    weights = dict(zip(NAMES, fit(turned).weights, strict=True))
    assert weights["score_a_word"] == 0


def test_a_close_rival_that_was_wrong_raises_the_lead():
    rival = Sample(
        replace(PLAIN, score_a_word=6.0, margin=3.7), Kind.CONTROL, right=False, voice="v"
    )
    limits = fit([*made_samples(), rival]).thresholds
    assert limits[Kind.CONTROL].lead == 4.0
    assert limits[Kind.ANSWER].lead == 3.0


def test_a_fit_is_kept_and_read_back(tmp_path):
    acceptance = fit(made_samples())
    save(acceptance, tmp_path / "a.json")
    again = Acceptance.load(tmp_path / "a.json")
    assert again.thresholds == acceptance.thresholds
    assert again.weights == pytest.approx(acceptance.weights, abs=1e-4)


def test_confidences_left_out_know_nothing_of_the_voice():
    samples = made_samples()
    turned = [replace(s, right=not s.right) if s.voice == "voice 0" else s for s in samples]
    first = [i for i, s in enumerate(samples) if s.voice == "voice 0"]
    assert confidences_left_out(samples)[first] == pytest.approx(
        confidences_left_out(turned)[first]
    )


def test_nothing_to_learn_from_is_told():
    with pytest.raises(ValueError, match="needed"):
        fit([s for s in made_samples() if s.right])


def test_the_file_is_beside_the_code():
    assert OWN_FILE.is_file()


def test_a_place_alone_counts_only_with_a_gauge(understanding):
    verdict = decide(understanding, clear("far left"))
    assert (verdict.decision, verdict.why) == (Decision.REJECT, NO_GAUGE)
    waiting = Pending(gauge=True)
    verdict = decide(understanding, clear("far left along"), waiting)
    assert verdict == Verdict(Decision.SURE, Named(Station.FAR_LEFT, Axis.ALONG), "")
    unclear = clear("far left", "far right", margin=2.0)
    assert decide(understanding, unclear, waiting).decision is Decision.REJECT


def test_a_rival_may_hide_below_what_was_looked_for(understanding):
    heard = replace(clear("far left two"), floor=-2.01)
    ranked = understanding.rank(heard, Pending())
    assert figures(heard, ranked, 1.0, 20.0).margin == pytest.approx(2.0)
    assert decide(understanding, heard).decision is Decision.ASK
