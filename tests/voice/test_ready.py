"""Hearing made ready as asked for: weights, their hash, the acceptance that goes with them."""

from __future__ import annotations

from math import log
from pathlib import Path
from typing import Any

import pytest
from voice.test_accept import PLAIN, WAITING

from benchterm.core.intents import Read
from benchterm.core.stations import Station
from benchterm.errors import BenchError
from benchterm.voice import vosk_engine
from benchterm.voice.accept import Decision, figures
from benchterm.voice.ear import OWN_FOLDER, OWN_HASH
from benchterm.voice.engine import Hypothesis, Recognition
from benchterm.voice.hear import Hearing
from benchterm.voice.ready import ready
from benchterm.voice.wire import Listening


@pytest.fixture
def other(tmp_path: Path) -> Path:
    """Other weights than our own, though they are the same."""
    folder = tmp_path / "weights"
    folder.symlink_to(OWN_FOLDER)
    return folder


def test_other_weights_must_have_the_hash_of_the_settings(other):
    with pytest.raises(BenchError, match=r"model\.bin has SHA-256 69a0792e.* expected 0000"):
        ready(Listening("en", model=str(other), sha256="0" * 64))
    hearing = ready(Listening("en", model=str(other), sha256=OWN_HASH.upper()))
    assert hearing.engine.name == "ear"


def test_it_is_tuned_to_the_operator():
    plain, tuned = (ready(Listening("en", shift=shift)).acceptance for shift in (0.0, 0.5))
    assert tuned.bias == pytest.approx(plain.bias + 0.5)
    assert tuned.weights == plain.weights


@pytest.fixture
def vosk(monkeypatch: pytest.MonkeyPatch) -> Hearing:
    monkeypatch.setattr(vosk_engine, "VoskEngine", lambda *_: None)
    return ready(Listening("en", engine="vosk", model="anywhere"))


@pytest.mark.parametrize(
    ("least", "decision"),
    [(1.0, Decision.SURE), (0.96, Decision.SURE), (0.9, Decision.ASK), (0.4, Decision.REJECT)],
)
def test_vosk_is_believed_as_far_as_the_word_it_doubts_most(vosk: Hearing, least, decision):
    heard = Recognition((Hypothesis(("far", "twenty"), 100.0, weakest=log(least)),), ("far",), 90.0)
    ranked = vosk.understanding.rank(heard, WAITING)
    verdict = vosk.acceptance.decide(ranked[0], figures(heard, ranked, 1.0, 20.0), WAITING)
    assert (verdict.decision, verdict.intent) == (decision, Read(Station.FAR, 20.0))


def test_a_number_alone_is_always_asked_back_with_vosk(vosk: Hearing):
    heard = Recognition((Hypothesis(("twenty",), 100.0, weakest=0.0),), ("twenty",), 100.0)
    ranked = vosk.understanding.rank(heard, WAITING)
    verdict = vosk.acceptance.decide(ranked[0], figures(heard, ranked, 1.0, 20.0), WAITING)
    assert verdict.decision is Decision.ASK


def test_nothing_else_makes_vosk_sure(vosk: Hearing):
    def best(name: str) -> Any:
        values = {**dict.fromkeys(PLAIN.__slots__, 0.0), "weakest": log(0.5), name: 100.0}
        return type(PLAIN)(**values)

    for name in set(PLAIN.__slots__) - {"weakest"}:
        assert vosk.acceptance.confidence(best(name)) < 0.5
