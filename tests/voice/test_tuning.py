"""The ear fitted to one operator: what is learned, what is not, and where it is kept."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result
from hypothesis import given
from hypothesis import strategies as st
from voice.test_accept import PLAIN
from voice.test_trial import Ear, heard, two

from benchterm.cli import cli
from benchterm.config import Settings, Voice
from benchterm.phrases.grammar import Grammar
from benchterm.voice import inspection, listening, voices
from benchterm.voice.accept import Acceptance, Tuning
from benchterm.voice.inspection import inspect
from benchterm.voice.trial import phrases_to_fit
from benchterm.voice.tuning import CLEAR, LEAST, Told, TooFew, compared, fit
from benchterm.voice.voices import Fitted, tuning_for

FITTED = Fitted(
    operator="Ines",
    utc="2026-03-01T08:00:00+00:00",
    language="en",
    engine="ear",
    model="",
    input="desk",
    device="desk microphone",
    phrases=24,
    right=23,
    speech_db=-20.0,
    noise_db=-48.0,
    shift=0.4,
    scale=0.9,
)


@pytest.fixture(autouse=True)
def home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path))


def test_whoever_is_heard_as_others_are_is_hardly_tuned():
    told = [Told(0.97, right=True)] * 23 + [Told(0.4, right=False)]
    tuning = fit(told)
    assert tuning.shift == pytest.approx(0.0, abs=0.5)
    assert tuning.scale == pytest.approx(1.0, abs=0.2)


def test_whoever_is_unclear_but_right_is_believed_more():
    tuning = fit([Told(0.7, right=True)] * LEAST)
    assert tuning.shift > 0.3
    assert tuning.of(0.7) > CLEAR


def test_whoever_is_clear_but_wrong_is_believed_less():
    told = [Told(0.95, right=True)] * 18 + [Told(0.95, right=False)] * 6
    assert fit(told).of(0.85) < 0.8


def test_enough_phrases_give_what_they_were_drawn_with():
    rng = np.random.default_rng(3)
    truth = Tuning(0.4, 1.2)
    shipped = rng.uniform(0.3, 0.99, 4000)
    tuning = fit([Told(c, bool(rng.random() < truth.of(c))) for c in shipped])
    assert tuning.shift == pytest.approx(truth.shift, abs=0.15)
    assert tuning.scale == pytest.approx(truth.scale, abs=0.15)


@pytest.mark.parametrize(
    ("right", "wrong", "why"),
    [(LEAST - 1, 0, "19 phrases were heard"), (14, 8, "8 of 22 were misheard")],
)
def test_too_little_is_not_fitted(right, wrong, why):
    told = [Told(0.9, right=True)] * right + [Told(0.2, right=False)] * wrong
    with pytest.raises(TooFew, match=why):
        fit(told)


told_ones = st.lists(
    st.builds(Told, st.floats(0, 1), right=st.sampled_from([True, True, True, True, False])),
    min_size=LEAST,
    max_size=40,
)


@given(told_ones, st.floats(0, 0.599))
def test_nothing_makes_the_doubtful_sure(told, doubtful):
    try:
        tuning = fit(told)
    except TooFew:
        return
    assert tuning.of(doubtful) < CLEAR


def test_a_tuned_acceptance_is_the_shipped_one_tuned():
    own = Acceptance.load()
    tuning = Tuning(-0.7, 1.2)
    for score in (-2.0, -1.0, 0.0):
        given = replace(PLAIN, score_a_word=score, margin=2.0)
        assert own.tuned(tuning).confidence(given) == pytest.approx(
            tuning.of(own.confidence(given)), abs=1e-6
        )
    assert own.tuned(Tuning()) == own


def test_what_would_change_is_told_with_each_phrase_left_out():
    told = [Told(0.7, right=True)] * 23 + [Told(0.3, right=False)]
    said = compared(told)
    assert "23 of 23 rightly heard phrases clear enough to be taken at once, 0 without it" in said
    assert "0 of 1 wrongly heard" in said


# Where it is kept.


def test_it_is_used_for_that_operator_with_that_microphone(tmp_path):
    path = voices.save(FITTED)
    assert path.parent == tmp_path / "voices"
    here = Voice(input="desk")
    assert tuning_for("Ines", here, "en") == Tuning(0.4, 0.9)
    assert tuning_for(" ines ", here, "en") == Tuning(0.4, 0.9)
    for operator, voice, language in [
        ("Jan", here, "en"),
        ("", here, "en"),
        ("Ines", Voice(input="lapel"), "en"),
        ("Ines", here, "ko"),
    ]:
        assert tuning_for(operator, voice, language) == Tuning()


def test_a_damaged_file_is_passed_over_and_told(monkeypatch):
    path = voices.save(FITTED)
    path.write_text("{", "utf-8")
    assert tuning_for("Ines", Voice(input="desk"), "en") == Tuning()
    monkeypatch.setattr(inspection, "devices", two)
    lines = [one.text for one in inspect(Settings()) if one.what == "fitted to"]
    assert lines == [f"○ fitted to: {path} cannot be read. Try again, or delete it."]


def test_voice_shows_what_was_fitted_and_whether_it_is_used(monkeypatch):
    voices.save(FITTED)
    monkeypatch.setattr(inspection, "devices", two)

    def line(voice: Voice) -> str:
        (found,) = [one.text for one in inspect(Settings(voice=voice)) if one.what == "fitted to"]
        return found

    assert line(Voice(input="desk")) == (
        "● fitted to: Ines, 24 phrases, 2026-03-01, desk microphone, voice -20 dB, noise -48 dB"
    )
    assert line(Voice()).endswith("; not used: language, engine or microphone is set otherwise")


def test_what_was_fitted_can_be_forgotten():
    path = voices.save(FITTED)
    assert CliRunner().invoke(cli, ["voice", "forget", "Ines"]).exit_code == 0
    assert not path.exists()
    again = CliRunner().invoke(cli, ["voice", "forget", "Ines"])
    assert (again.exit_code, "Nothing was fitted to Ines." in again.output) == (1, True)


# The command.


def test_phrases_to_fit_are_readings_and_some_others(english: Grammar):
    asked = phrases_to_fit(english, 40)
    assert len(asked) == 40
    meant = [english.parse(words.split()).meanings for words in asked]
    assert all(len(tags) == 1 for tags in meant)
    assert 26 <= sum("do=read" in tags[0] for tags in meant) <= 36


def tries(
    monkeypatch: pytest.MonkeyPatch, english: Grammar, *options: str, **answers: Any
) -> Result:
    asked = phrases_to_fit(english, 24)
    ear = Ear(
        listening.Listened("ear", "desk microphone"),
        *(heard(english, words, confidence=0.7, decision="ask") for words in asked),
    )
    monkeypatch.setattr(listening, "listening", lambda _: ear)
    return CliRunner().invoke(cli, ["voice", "try", *options], **answers)


def test_try_offers_to_fit_and_keeps_it_if_wished(monkeypatch, english):
    done = tries(monkeypatch, english, "--for", "Ines", input="y\n")
    assert done.exit_code == 0, done.output
    assert "24 of 24 rightly heard phrases clear enough" in done.output
    assert tuning_for("Ines", Voice(), "en") != Tuning()


def test_try_keeps_nothing_unless_told_to(monkeypatch, english):
    done = tries(monkeypatch, english, "--for", "Ines", input="n\n")
    assert "Nothing was kept." in done.output
    assert tuning_for("Ines", Voice(), "en") == Tuning()


def test_too_few_phrases_are_not_fitted(monkeypatch, english):
    done = tries(monkeypatch, english, "--for", "Ines", "--phrases", "12")
    assert done.exit_code == 1
    assert "Nothing was fitted: 12 phrases were heard; a fit wants 20." in done.output
